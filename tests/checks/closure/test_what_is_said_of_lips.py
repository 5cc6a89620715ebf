"""What is said about lips that do not meet, and about what keeps them from it: each decision from both sides."""

from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.checks.closure import findings
from dryfit.checks.closure.result import ClosureResult
from dryfit.checks.closure.verdict import ClosingVerdict
from dryfit.model.brief import Brief
from dryfit.model.finding import Severity
from dryfit.model.limits import Limits
from dryfit.performer.contact.pairs import Give
from dryfit.performer.contact.shortening import Excess
from dryfit.performer.fitting import Fitting
from dryfit.performer.head_frame import UPRIGHTS
from dryfit.performer.mouth.lips import GapProfile
from head_marks import marks, snapshot
from shapes import sheet

LIMITS = Limits()
EASY_MM, FAR_MM = LIMITS.lip_gap_review_mm, LIMITS.lip_gap_mm
LITTLE = 1e-3
ACROSS_MM = np.array([-20.0, -10.0, 0.0, 10.0, 20.0])
LAST_PAIR = UPRIGHTS[-1]


def apart(gap_mm=0.0, way_mm=None, at=2):
    """Lips that are apart at one of five stations, by a height and by a way."""
    gaps, ways = np.zeros(5), np.zeros(5)
    gaps[at], ways[at] = gap_mm, gap_mm if way_mm is None else way_mm
    return GapProfile(0.0, ACROSS_MM, gaps, ways, np.zeros(5), np.column_stack([ACROSS_MM, np.zeros((5, 2))]))


def worn(landmarks=None):
    mesh = sheet(20.0, 4)
    shot = snapshot(
        mesh, ("Upper", "appliance", mesh, ""), ("Lower", "appliance", mesh, ""), landmarks=landmarks or marks()
    )
    return Fitting(shot, Brief())


class Shutting:
    """A mouth of which only what is asked for is known."""

    brief = Brief()
    verdict = ClosingVerdict.PASSES
    bare_rest = bare_stop = apart()
    trials = ()
    lower_lip_away_mm = (0.0, 0.0)

    def __init__(self, stop=None, sealed=False, contact=None, **known):
        stop = stop or apart()
        self.fitting = worn()
        self.closing = SimpleNamespace(stop=stop, sealed=sealed, contact=contact, at_rest=lambda: stop)
        self.closed = SimpleNamespace(still_open=lambda t, at_mm: "2 mm open")
        self.mouth = SimpleNamespace(lips=lips(self.fitting))
        self.__dict__.update(known)

    def place(self, part, at_mm, t):
        return self.fitting.place(part, at_mm, motion="jaw", t=t)

    def tempered(self, severity):
        return severity


def lips(fitting, lower=("Lower",)):
    """A lower lip whose piece has three vertices: 0, 2 and 5 mm from the midline."""
    vertices = np.array([[0.0, 0, 0], [0, 0, 2], [0, 0, 5]])
    pieces = [SimpleNamespace(vertices=lambda t: vertices, vertex_ids=[np.array([7, 8, 9])]) for _ in lower]
    frame = SimpleNamespace(up=np.array([0.0, 0, 1]), read_from=None, off_deg=0.0)
    return SimpleNamespace(lower=SimpleNamespace(parts=list(lower), pieces=pieces), frame=frame)


@pytest.mark.parametrize(
    ("gap_mm", "way_mm", "words"),
    [(EASY_MM - LITTLE, EASY_MM - LITTLE, False), (EASY_MM - 1.0, EASY_MM + LITTLE, True),
     (EASY_MM + LITTLE, FAR_MM - LITTLE, False), (EASY_MM + LITTLE, FAR_MM + LITTLE, True)],
)  # fmt: skip
def test_the_way_is_named_beside_the_gap_where_it_asks_more_of_the_lips(gap_mm, way_mm, words):
    profile = apart(gap_mm, way_mm)
    assert ("on the shortest way" in findings._apart(profile, LIMITS)) == words
    assert findings._judged_mm(profile, LIMITS) == (way_mm if words else gap_mm)


@pytest.mark.parametrize(
    ("at", "words"),
    [(2, "midline"), (1, "right side, 10 mm from the midline"), (4, "left side, 20 mm from the midline")],
)
def test_a_gap_has_a_side(at, words):
    assert findings._side(apart(1.0, at=at)) == words


@pytest.mark.parametrize("verdict", ClosingVerdict)
@pytest.mark.parametrize("step", [LITTLE, -LITTLE])
def test_lips_apart_are_told_where_closing_is_judged_or_the_design_has_them_further_apart(verdict, step):
    result = Shutting(apart(1.0 + LIMITS.lip_gap_over_bare_mm + step), verdict=verdict, bare_rest=apart(1.0))
    assert findings._by_design(result) == (step > 0.0 or verdict != ClosingVerdict.UNJUDGED)


@pytest.mark.parametrize(("step", "limit_mm"), [(0.0, EASY_MM), (LITTLE, FAR_MM)])
def test_short_lips_are_held_against_what_they_miss(step, limit_mm):
    finding = findings.short_lips(Shutting(apart(FAR_MM + step)))
    assert (finding.object, finding.value, finding.limit) == ("Lower", FAR_MM + step, limit_mm)


def test_short_lips_are_shown_by_the_margin_that_is_near_the_gap():
    result = Shutting(apart(1.0))
    assert findings._margin_vertices(result, "Lower").tolist() == [7, 8], "up to 2 mm further than the gap"
    result.mouth.lips = lips(result.fitting, ("Scan", "Lower"))
    result.mouth.lips.lower.pieces[1].vertex_ids = [np.array([4, 5, 6])]
    assert findings._margin_vertices(result, "Lower").tolist() == [4, 5]
    assert findings._margin_vertices(result, "Upper").tolist() == [7, 8], (
        "the first piece, where it is no part of the lip"
    )


@pytest.mark.parametrize(("lower", "part"), [(("Lower",), "Lower"), (("Scan", "Lower"), "Lower"), (("Scan",), "Scan")])
def test_the_lower_lip_is_the_worn_parts_where_one_makes_it(lower, part):
    result = Shutting()
    result.mouth.lips = lips(result.fitting, lower)
    assert findings._lower_part(result) == part


def excess(piece, part="Lower", lose_mm=1.0, give=Give.HARD, at_mm=(0.0, 0.0, 5.0)):
    pair = SimpleNamespace(
        first=SimpleNamespace(part=SimpleNamespace(name=part)), give=give, cause=lambda one: f"of {one}"
    )
    return Excess(pair, piece, "wall", lose_mm, np.array([3]), np.array([lose_mm]), at_mm)


def blocked(*excesses):
    contact = SimpleNamespace(
        first_name="Lower", piece="tooth A", other_name="tooth B", t=0.5, at_mm=(1.0, 0.0, 0.0), cause="met",
        vertices=np.array([1]),
    )  # fmt: skip
    return [*findings.blocking(Shutting(apart(FAR_MM + 1.0), contact=contact, excesses=excesses))]


def test_what_stops_the_mouth_first_is_told_first_and_the_rest_by_what_they_must_lose():
    first, second = blocked(excess("tooth C", lose_mm=2.5), excess("tooth A", lose_mm=1.5))
    assert first.message.startswith("The tooth A meets the tooth B while the jaw is still 2 mm open")
    assert (first.value, first.limit, first.at_mm, first.place.t) == (FAR_MM + 1.0, FAR_MM, (1.0, 0.0, 0.0), 0.5)
    assert (first.remedy_mm, first.fix, first.cause) == (1.5, "shorten the tooth A by 1.5 mm", "of tooth A")
    assert second.message == "The tooth C would stop the mouth too, on the wall: it must lose 2.5 mm."
    assert (second.value, second.limit) == (2.5, LIMITS.overlap_hard_review_mm)
    assert (second.at_mm, second.place.t) == ((0.0, 0.0, 5.0), 0.0), "what it would meet with the jaw closed"
    assert (second.remedy_mm, second.object, second.elements.tolist()) == (2.5, "Lower", [3])


@pytest.mark.parametrize("others", [(), (excess("tooth C"),), (excess("tooth A", "Upper"),)])
def test_what_stops_the_mouth_is_told_where_nothing_is_known_of_what_it_must_lose(others):
    first, *more = blocked(*others)
    assert first.message.startswith("The tooth A meets the tooth B") and first.fix == "move or shorten the tooth A"
    assert np.isnan(first.remedy_mm) and (first.object, first.cause, first.elements.tolist()) == ("Lower", "met", [1])
    assert [each.value for each in more] == [1.0] * len(others)


def leaning(pair, off_deg, landmarks):
    result = Shutting(wide=SimpleNamespace(midline_mm=40.0))
    result.fitting = worn(landmarks)
    frame = SimpleNamespace(read_from=pair, off_deg=off_deg)
    result.mouth = SimpleNamespace(lips=SimpleNamespace(frame=frame), lower_lip_away_mm=lambda t: (-40.0, 3.0))
    return [*findings.up_unsure(result)]


def test_an_up_that_may_be_off_is_told_with_the_landmark_that_it_lacks():
    top, low = UPRIGHTS[0].names
    assert leaning(None, 0.0, marks()) == []
    assert leaning(UPRIGHTS[0], 0.0, marks()) == []
    (note,) = leaning(LAST_PAIR, LAST_PAIR.off_deg, {top: np.zeros(3)})
    assert note.message.startswith(f"There is no {low}, so") and note.fix == f"place {low}"


def trial(of_axis, verdict, way_mm=3.0):
    change = SimpleNamespace(offset_mm=5.0 * of_axis, words="moved")
    return SimpleNamespace(
        of_axis=of_axis, verdict=verdict, way_mm=way_mm, change=change, bite_ahead_mm=0.1, judged=True
    )  # fmt: skip


@pytest.mark.parametrize(
    ("elsewhere", "said"),
    [((), "fail"), ((ClosingVerdict.FAILS,), "fail"), ((ClosingVerdict.UNJUDGED,), "fail"),
     ((ClosingVerdict.FAILS, ClosingVerdict.LOOK), "review"), ((ClosingVerdict.PASSES,), "review")],
)  # fmt: skip
def test_a_failure_that_another_hinge_makes_none_is_to_be_looked_at(elsewhere, said):
    closing = SimpleNamespace(stop=apart(FAR_MM + 1.0), sealed=False, blocked=True)
    poses = SimpleNamespace(source=SimpleNamespace(rest_t=0.0))
    closed = SimpleNamespace(closing=closing, poses=poses, bare=SimpleNamespace(profile=lambda t: apart()))
    result = ClosureResult(worn(), Brief(), closed, tuple(trial(True, verdict) for verdict in elsewhere))
    assert result.tempered(Severity.FAIL) == said
    assert [str(result.tempered(each)) for each in (Severity.REVIEW, Severity.INFO)] == ["review", "info"]
    closed.bare.profile = lambda t: apart(LIMITS.lip_rest_mm + FAR_MM)
    unjudged = ClosureResult(worn(), Brief(), closed, result.trials)
    assert unjudged.tempered(Severity.FAIL) == "info"


@pytest.mark.parametrize("of_axis", [True, False])
def test_what_hangs_on_the_axis_is_told_of_the_axis_and_what_hangs_on_the_slide_of_that(of_axis):
    flip = trial(of_axis, ClosingVerdict.FAILS)
    poses = SimpleNamespace(source=SimpleNamespace(rest_t=0.0))
    (found,) = findings.jaw_findings(Shutting(poses=poses, flips=(flip,), trials=(flip,)))
    assert f"hangs on the jaw's {'axis' if of_axis else 'slide'}:" in found.message


@pytest.mark.parametrize(
    ("verdict", "severity"),
    [(ClosingVerdict.PASSES, "review"), (ClosingVerdict.UNJUDGED, "review"), (ClosingVerdict.LOOK, "info"),
     (ClosingVerdict.FAILS, "info")],
)  # fmt: skip
def test_what_would_pass_on_this_hinge_alone_is_to_be_looked_at(verdict, severity):
    other = ClosingVerdict.LOOK if verdict == ClosingVerdict.FAILS else ClosingVerdict.FAILS
    result = Shutting(verdict=verdict, trials=(trial(True, verdict), trial(True, other, 9.0)))
    found = findings.hangs_on_hinge(result, of_axis=True)
    assert (str(found.severity), found.value) == (severity, 9.0)
