"""Which pose teeth are looked at in where nobody knows how far the mouth shuts, and what is drawn beside them."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.checks.teeth import coverage
from dryfit.checks.teeth.showing import Showing
from dryfit.checks.teeth.shown_poses import CLOSED, _near_teeth
from dryfit.model.brief import Brief
from dryfit.model.limits import Limits
from dryfit.model.progress import Progress, drain
from dryfit.model.snapshot import Motion
from dryfit.performer.fitting import Fitting
from head_marks import marks, snapshot
from mouth_shapes import box
from shapes import icosphere

MOST_MM = Limits().tooth_display_mm
HEAD, ROW = icosphere(2, 60.0), box((-15, -70, -20), (15, -66, -14))


class Asked(Exception):
    """Ends the check with the pose that it asked for first."""


def shot_of(motion, **more):
    moved = {"Scan": np.stack([HEAD[0], HEAD[0]]), "Row": np.stack([ROW[0], ROW[0] - [0.0, 0.0, 9.0]])}
    moves = {motion: Motion(motion, [0.0, 1.0], moved)}
    return snapshot(HEAD, ("Row", "upper_teeth", ROW, ""), landmarks=marks(), motions=moves, **more)


def asked_first(motion, monkeypatch):
    """Return the pose that the check asks to look at first."""

    def shown_poses(fitting, first):
        raise Asked(first)

    monkeypatch.setattr(coverage, "shown_poses", shown_poses)
    with pytest.raises(Asked) as asked:
        drain(coverage.measure_coverage(Fitting(shot_of(motion), Brief()), Brief()))
    return asked.value.args[0]


@pytest.mark.parametrize(("motion", "pose"), [("jaw", CLOSED), ("smile", None)])
def test_where_it_is_not_known_how_far_the_mouth_shuts_the_jaw_itself_is_closed(motion, pose, monkeypatch):
    assert asked_first(motion, monkeypatch) == pose


def test_where_it_is_known_the_jaw_is_as_closed_as_it_gets(monkeypatch):
    def known(fitting):
        yield Progress(0, 1, "")
        return "how it shut", ""

    monkeypatch.setattr(coverage, "_closing_or_why", known)
    monkeypatch.setattr(coverage, "reached", lambda closed: f"the pose of {closed}")
    assert asked_first("jaw", monkeypatch) == "the pose of how it shut"


@pytest.mark.parametrize("shuts", [True, False])
def test_held_against_it_are_the_closed_teeth_where_they_were_looked_at_and_else_those_judged(shuts, monkeypatch):
    stopped, smiling = replace(CLOSED, name="stopped", t=0.3), replace(CLOSED, name="smile", t=1.0)

    def showing(fitting, brief, judged, shut, closed):
        raise Asked(judged.pose, shut.pose)

    monkeypatch.setattr(coverage, "shown_poses", lambda fitting, first: [stopped, *[CLOSED] * shuts, smiling])
    monkeypatch.setattr(coverage, "_look", lambda fitting, frame, shown: SimpleNamespace(pose=shown.pose))
    monkeypatch.setattr(coverage, "Showing", showing)
    with pytest.raises(Asked) as asked:
        drain(coverage.measure_coverage(Fitting(shot_of("jaw"), Brief()), Brief()))
    assert asked.value.args == (stopped, CLOSED if shuts else stopped)


@pytest.mark.parametrize(
    ("names", "middle_mm"),
    [(("stomion_superius", "stomion_inferius"), [0.0, 0.0, 3.0]), (("stomion_superius",), [5.0, 0.0, 0.0]),
     (("stomion_inferius",), [5.0, 0.0, 0.0]), ((), [5.0, 0.0, 0.0])],
)  # fmt: skip
def test_views_turn_about_the_mouth_and_without_its_landmarks_about_the_teeth(names, middle_mm):
    lips = {"stomion_superius": np.array([0.0, 0.0, 4.0]), "stomion_inferius": np.array([0.0, 0.0, 2.0])}
    fitting = SimpleNamespace(snapshot=SimpleNamespace(landmarks={name: lips[name] for name in names}))
    rows = [
        SimpleNamespace(points_mm=np.array([[4.0, 0.0, 0.0]])),
        SimpleNamespace(points_mm=np.array([[6.0, 0.0, 0.0]])),
    ]
    np.testing.assert_allclose(coverage.mouth_mm(fitting, rows), middle_mm)


@pytest.mark.parametrize(
    ("front", "roles", "names"),
    [(None, ("upper_teeth",), []), (0, ("upper_teeth",), ["display_by_age_upper"]),
     (0, ("lower_teeth", "lower_teeth"), ["display_by_age_lower"]),
     (0, ("lower_teeth", "upper_teeth"), ["display_by_age_upper", "display_by_age_lower"])],
)  # fmt: skip
def test_published_means_are_drawn_for_the_rows_that_are_seen_from_the_front(front, roles, names):
    rows = [SimpleNamespace(teeth=SimpleNamespace(part=SimpleNamespace(role=role))) for role in roles]
    assert [*coverage.curves(SimpleNamespace(front=front, design=SimpleNamespace(rows=rows)))] == names


def test_with_age_less_shows_of_upper_teeth_and_more_of_lower_ones():
    (upper, lower) = (coverage._means(jaw) for jaw in ("upper", "lower"))
    assert upper.y[0] > upper.y[-1] and lower.y[0] < lower.y[-1]
    assert upper.y[0] > lower.y[0], "of the young"


@pytest.mark.parametrize(
    ("own_mm", "value_mm", "limit"),
    [(0.0, MOST_MM, "tooth_display_mm"), (MOST_MM, MOST_MM, "tooth_display_mm"), (MOST_MM + 1.0, MOST_MM + 1.0, "")],
)
def test_the_tallest_tooth_is_held_against_the_limit_or_what_it_shows_by_itself(own_mm, value_mm, limit):
    class Seen(Showing):
        def every_tooth(self):
            yield SimpleNamespace(tallest_mm=1.0, meant=True, own_mm=99.0)
            yield SimpleNamespace(tallest_mm=9.0, meant=False, own_mm=own_mm)

    bound = Seen(None, Brief(), None, None, None).bound
    assert (bound.value, bound.limit, bound.at_least) == (value_mm, limit, False)


@pytest.mark.parametrize(("away_mm", "near"), [(11.9, True), (12.1, False), (-11.9, True), (-12.1, False)])
@pytest.mark.parametrize("axis", range(3))
def test_skin_counts_for_a_pose_up_to_12_mm_beside_the_teeth(away_mm, near, axis):
    """Lips are about as thick as that; cheeks and brows move in many a pose that leaves the mouth as it was."""
    row = box((-10, -10, -10), (10, 10, 10))
    skin = icosphere(2, 60.0)[0].copy()
    skin[0] = 0.0
    skin[0, axis] = away_mm + np.copysign(10.0, away_mm)
    shot = snapshot((skin, icosphere(2, 60.0)[1]), ("Row", "upper_teeth", row, ""), landmarks=marks())
    (base, ids), (teeth, every) = _near_teeth(Fitting(shot, Brief()))
    assert (base.name, teeth.name, len(every)) == ("Scan", "Row", 8)
    assert ids.tolist() == ([0] if near else [])
