"""What stops a jaw that a key moves straight down, in closed form: flush slabs, grazes, own teeth, sheets between poses."""

from dataclasses import replace

import numpy as np
import pytest
from test_closure_closed_forms import closed

from dryfit.checks.interference.interference import CHECK as INTERFERENCE
from dryfit.checks.teeth.coverage import CHECK as COVERAGE
from dryfit.model.brief import Brief, Views
from dryfit.model.limits import Limits
from dryfit.model.progress import drain
from dryfit.model.snapshot import Motion, Part, Snapshot
from dryfit.performer.closing import closed_mouth
from dryfit.performer.fitting import Fitting
from mouth_shapes import box, joined, known_mouth, landmarks, lips

DROP_MM = 30.0
UPPER = (-15, 8, 74), (15, 16, 78)
FLUSH = (-15, 2, 74), (15, 14, 78)


def dropping(lower, upper=UPPER, gap_mm=0.05, **more):
    """Cylinder lips, an upper slab of teeth, and a lower one that the jaw's key moves straight down with the lip."""
    head = Part("Head", "base", *lips(gap_mm))
    row = Part("Lower", "lower_teeth", *(lower if np.ndim(lower[0]) == 2 else box(*lower)), **more)
    sinks = np.where(head.vertices_mm[:, 1:2] < 0.0, [0.0, DROP_MM, 0.0], 0.0)
    frames = {
        "Head": np.stack([head.vertices_mm, head.vertices_mm - sinks]),
        "Lower": np.stack([row.vertices_mm, row.vertices_mm - [0.0, DROP_MM, 0.0]]),
    }
    parts = (head, Part("Upper", "upper_teeth", *box(*upper), **more), row)
    return Snapshot("drop", parts=parts, landmarks=landmarks(), motions={"jaw": Motion("jaw", [0.0, 1.0], frames)})


def asked(check, snapshot, **limits):
    brief = Brief(views=Views(angles_deg=(0.0,)), limits=Limits(**limits))
    return drain(check.measure(known_mouth(snapshot, brief), brief))


@pytest.mark.parametrize(
    ("lower", "lost_mm"),
    [(FLUSH, 6.0),  # every wall flush with the upper slab's
     (((-14.75, 2, 74), (14.75, 14, 78)), 6.0),  # 0.25 mm within it at either end
     (((-15, 2, 76), (15, 14, 80)), 6.0),  # 2 mm further ahead
     (((-15, 2, 77.2), (15, 14, 81)), 6.0),  # only 0.8 mm of it behind the other
     (((-15, 13, 74), (15, 14, 78)), 1.0),  # a plate that ends up wholly inside: all of it must go
     (((-15, 13.7, 74), (15, 14, 78)), 0.3)],
)  # fmt: skip
def test_slabs_meet_where_the_lower_top_is_as_high_as_the_upper_bottom(lower, lost_mm):
    outcome = closed(dropping(lower), Brief(limits=Limits(lip_reach_mm=5.0)))
    figures, first = outcome.measures, outcome.findings[0]
    assert figures["closes"] == 0.0
    assert figures["contact_t"] == pytest.approx(6.0 / DROP_MM, abs=1e-4)
    assert figures["residual_gap_mm"] == pytest.approx(6.05, abs=0.01)
    assert figures["must_lose_mm"] == pytest.approx(lost_mm, abs=0.01)
    assert figures["contact_open_mm"] == pytest.approx(6.0, abs=0.01)
    assert first.severity == "fail"
    assert "while the jaw is still 6.0 mm open" in first.message
    assert first.fix == f"shorten the lower teeth 'Lower' by {lost_mm:.1f} mm"


@pytest.mark.parametrize(("lower_top_mm", "severity"), [(-2.0, "review"), (5.0, "review"), (9.0, "fail")])
def test_opening_is_judged_between_the_incisal_edges_as_it_is_measured_on_people(lower_top_mm, severity):
    """A bar on the lower lip leaves 24 mm between the lips; the edges stand 40, 33 or 29 mm apart.

    Below 30 mm counts as impaired between the incisal edges (Tuerp 2020, Swiss Dent J 130:668), not between lips.
    """
    design = dropping(((-15, lower_top_mm - 8, 74), (15, lower_top_mm, 78)))
    groups = [("dryfit_lip_upper", 0.0), ("dryfit_lip_lower", 1.0)]
    bar = Part("Lip", "appliance", *box([-40, -3, 97], [40, 6, 103]), areas={g: np.full(8, w) for g, w in groups})
    frames = {**design.motions["jaw"].frames_mm, "Lip": np.stack([bar.vertices_mm, bar.vertices_mm - [0, DROP_MM, 0]])}
    motions = {"jaw": Motion("jaw", [0, 1], frames)}
    outcome = closed(replace(design, parts=(*design.parts, bar), motions=motions), Brief())
    assert outcome.measures["incisal_opening_mm"] == pytest.approx(8.0 + DROP_MM - lower_top_mm, abs=1e-6)
    assert outcome.measures["max_opening_mm"] < 30.0 < outcome.measures["bare_max_opening_mm"]
    (told,) = [finding for finding in outcome.findings if "less than the bare base" in finding.message]
    assert str(told.severity) == severity
    assert f"Between the incisal edges it is {outcome.measures['incisal_opening_mm']:.1f} mm" in told.message


@pytest.mark.parametrize("ahead_mm", [3.9, 4.0, 5.0])
def test_what_only_grazes_or_touches_stops_nothing(ahead_mm):
    """The walls share 0.1 mm, touch, or are apart: interference forgives the first by the same limit."""
    low, high = np.array(FLUSH, float) + [0, 0, ahead_mm]
    shut = closed(dropping((low, high)), Brief())
    for outcome in (shut, asked(INTERFERENCE, dropping((low, high)))):
        assert not [finding for finding in outcome.findings if finding.severity != "info"]
    assert shut.measures["closes"] == 1.0


@pytest.mark.parametrize("rub_mm", [0.0, 0.15])
def test_the_jaw_stops_where_it_meets_not_where_it_rubbed_before(rub_mm):
    """A long wall rubs by less than is forgiven all the way; a block beside it meets the slab 3 mm before closed."""
    wall = box([-15, -20, 78 - rub_mm], [15, 14, 79])
    block = box([20, 0, 74], [24, 11, 78])
    upper = box([-15, 8, 74], [15, 16, 78]), box([18, 8, 74], [26, 16, 78])
    snapshot = dropping(joined(wall, block))
    parts = tuple(
        replace(part, vertices_mm=joined(*upper)[0], faces=joined(*upper)[1]) if part.name == "Upper" else part
        for part in snapshot.parts
    )
    figures = closed(replace(snapshot, parts=parts), Brief()).measures
    assert figures["contact_t"] == pytest.approx(3.0 / DROP_MM, abs=1e-4)
    assert figures["must_lose_mm"] == pytest.approx(3.0, abs=0.05)


def test_a_plate_that_slips_through_between_two_poses_stops_the_jaw():
    """Half a millimetre of plate passes half a millimetre of plate: a step is 0.94 mm."""
    low, high = (-15, 12.0, 74), (15, 12.5, 78)
    outcome = closed(dropping((low, high), upper=((-15, 8, 74), (15, 8.5, 78))), Brief())
    assert outcome.measures["contact_t"] == pytest.approx((12.5 - 8.0) / DROP_MM, abs=1e-3)
    assert outcome.measures["closes"] == 0.0


def test_closure_and_interference_stop_at_one_pose_on_one_pair_for_one_cause():
    shut, run = (asked(check, dropping(FLUSH)) for check in (closed_check(), INTERFERENCE))
    assert run.measures["start_t"] == pytest.approx(shut.measures["contact_t"], abs=1e-12)
    assert run.measures["start_pair"] == run.measures["worst_pair"] == shut.measures["contact_pair"]
    first, other = shut.findings[0], run.findings[0]
    assert first.cause == other.cause == "the lower teeth 'Lower' against the upper teeth 'Upper' as the jaw closes"
    assert first.fix == other.fix
    assert other.value == pytest.approx(4.0, abs=1e-6)
    assert "the shortest way out" in other.message and "must lose 6.0 mm" in other.message


def closed_check():
    from dryfit.checks.closure.closure import CHECK

    return CHECK


def test_the_mouth_is_closed_once_for_all_who_ask(monkeypatch):
    from dryfit.performer import closing

    count = []
    close = closing.close_mouth
    monkeypatch.setattr(closing, "close_mouth", lambda *args, **more: count.append(1) or close(*args, **more))
    fitting = Fitting(dropping(FLUSH), Brief())
    for check in (closed_check(), COVERAGE, INTERFERENCE):
        drain(check.measure(fitting, Brief()))
    assert count == [1]
    assert drain(closed_mouth(fitting)) is drain(closed_mouth(fitting))


def test_own_teeth_that_bite_at_rest_are_the_heads():
    """The scan has the own rows 0.7 mm in each other: that is told once, and stops nothing."""
    lower = (-15, 2, 74), (15, 8.7, 78)
    own = dropping(lower, own=True)
    outcome = closed(own, Brief())
    assert outcome.measures["closes"] == 1.0
    assert np.isnan(outcome.measures["contact_t"])
    assert outcome.measures["bare_contact_t"] == pytest.approx(0.7 / DROP_MM, abs=1e-4)
    assert outcome.findings == ()
    (note,) = asked(INTERFERENCE, own).findings
    assert note.severity == "info"
    assert note.value == pytest.approx(0.7, abs=1e-6)
    assert "They do so without the design" in note.message
    assert asked(INTERFERENCE, own).measures["hard_penetration_mm"] == 0.0
    made = closed(dropping(lower), Brief())
    assert made.measures["contact_t"] == pytest.approx(0.7 / DROP_MM, abs=1e-4), "unmarked teeth are the design's"


def test_what_is_made_against_own_teeth_is_judged_and_is_what_must_lose():
    own = dropping(FLUSH, upper=((-15, 14.4, 74), (15, 16, 78)), own=True)
    cap = Part("Cap", "hardware", *box([-15, 8, 74], [15, 14.39, 78]))
    frames = {**own.motions["jaw"].frames_mm, "Cap": np.stack([cap.vertices_mm] * 2)}
    outcome = closed(replace(own, parts=(*own.parts, cap), motions={"jaw": Motion("jaw", [0, 1], frames)}), Brief())
    assert outcome.measures["contact_pair"] == "'Cap' / lower teeth 'Lower'"
    assert outcome.measures["contact_t"] == pytest.approx(6.0 / DROP_MM, abs=1e-4)
    assert outcome.findings[0].fix == "shorten 'Cap' by 6.0 mm", (
        "it comes down on the lower teeth, and loses height below"
    )


def test_coverage_is_judged_where_the_jaw_gets_to_and_says_so():
    """The lips stand 4.05 mm apart there with the lower slab across the whole gap; closed, they would hide it."""
    tall = dropping(((-15, -10, 74), (15, 12, 78)), upper=((-15, 8, 74), (15, 11.5, 78)))
    blocked = asked(COVERAGE, tall, tooth_display_review_mm=3.5)
    assert blocked.measures["judged_pose"] == "stopped"
    assert blocked.measures["display_height_mm"] == pytest.approx(4.05, abs=0.15)
    assert blocked.measures["display_height_mm_pose_closed"] == pytest.approx(0.0, abs=0.1)
    (finding,) = blocked.findings
    assert finding.severity == "review"
    assert finding.t == pytest.approx(4.0 / DROP_MM, abs=1e-4)
    assert "The closed mouth is not reached: with the jaw stopped 4.0 mm open" in finding.message
    assert finding.cause == asked(INTERFERENCE, tall).findings[0].cause
    free = asked(COVERAGE, dropping(((-15, -10, 74), (15, 7, 78)), upper=((-15, 8, 74), (15, 11.5, 78))))
    assert free.measures["judged_pose"] == "closed"
    assert free.findings == ()


def test_own_teeth_that_show_on_the_bare_face_are_noted_once():
    """Lips that stay 8 mm apart: the performer's own teeth show that much with or without a design."""
    rows = {"upper": ((-15, -3, 74), (-1, 16, 78)), "gap_mm": 8.0}
    own, made = (dropping(((1, -16, 74), (15, 3, 78)), own=own, **rows) for own in (True, False))
    assert {finding.severity for finding in asked(COVERAGE, made).findings} == {"fail"}
    outcome = asked(COVERAGE, own)
    (note,) = outcome.findings
    assert note.severity == "info"
    assert "2 of the own teeth show more than is usual" in note.message
    assert outcome.judged["display_height_mm"].holds(outcome.measures["display_height_mm"])
