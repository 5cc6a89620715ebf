"""Each figure just short of its limit and just beyond it: which word the finding stands under, and with which limit.

The figures are handed to what says the words, so that nothing but the comparison decides.
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.checks import runner
from dryfit.checks.breath import airway
from dryfit.checks.breath.ears import Ear, ear_findings
from dryfit.checks.breath.mouth_opening import MouthOpening
from dryfit.checks.casting import glue, hard_walls, load, mould_core, release, thickness
from dryfit.checks.casting.load import Lever
from dryfit.checks.casting.worn_mass import Shared, WornMass
from dryfit.checks.closure import closure
from dryfit.checks.closure import findings as closing_findings
from dryfit.checks.closure.lip_reach import easy_mm, farthest_mm
from dryfit.checks.deciding import deciding_figure, of_finding
from dryfit.checks.eyes import blink, sightline
from dryfit.checks.eyes.clearance import EyeClearance
from dryfit.checks.eyes.lid_contact import LidMeeting
from dryfit.checks.fit import edge, overlaps, strain, tearing
from dryfit.checks.interference import findings as meeting_findings
from dryfit.checks.teeth import findings as teeth_findings
from dryfit.geometry.level_patches import LevelPatch
from dryfit.geometry.solids import Bulk
from dryfit.geometry.undercuts import Undercut
from dryfit.model.brief import Brief
from dryfit.model.finding import Severity
from dryfit.model.limits import Limits
from dryfit.performer.closing import ClosedMouth
from dryfit.performer.contact.pairs import Give
from dryfit.performer.fitting import Fitting
from dryfit.performer.nostrils import Nostril
from dryfit.performer.ways_out import WaysOut
from shapes import sheet, worn

LIMITS = Limits()
FITTING = Fitting(worn(sheet(steps=4), sheet(20.0, 4, lambda x, y: 1.0)), Brief())
PIECE = FITTING.snapshot.part("Piece")
UP = np.array([0.0, 0.0, 1.0])
LITTLE = 1e-3


def said(findings):
    """What a few findings come to: severity and limit of each."""
    return [(str(each.severity), each.limit) for each in findings]


def least(low, review):
    """Figures about two limits that should not be undercut, with what is said of each."""
    return [
        (review + LITTLE, None), (review - LITTLE, ("review", review)), (low + LITTLE, ("review", review)),
        (low - LITTLE, ("fail", low)), (0.0, ("fail", low)),
    ]  # fmt: skip


def most(review, high):
    """Figures about two limits that should not be exceeded, with what is said of each."""
    return [
        (0.0, None), (review - LITTLE, None), (review + LITTLE, ("review", review)), (high - LITTLE, ("review", review)),
        (high + LITTLE, ("fail", high)),
    ]  # fmt: skip


@pytest.mark.parametrize(("left", "word"), least(LIMITS.mouth_open_area, LIMITS.mouth_open_area_review))
def test_what_the_open_mouth_leaves(left, word):
    opening = MouthOpening(800.0 * left, 800.0, np.zeros(3))
    assert said(airway._mouth_finding(opening, (PIECE,), FITTING, LIMITS)) == ([word] if word else [])


@pytest.mark.parametrize("bare_mm2", [0.0, float("nan")])
def test_of_a_bare_mouth_that_does_not_open_nothing_is_said(bare_mm2):
    assert said(airway._mouth_finding(MouthOpening(0.0, bare_mm2, np.zeros(3)), (PIECE,), FITTING, LIMITS)) == []


def breathing(left, way_out=1.0):
    nostril = Nostril("left", np.array([0, 1]), UP, 60.0, False)
    return nostril, WaysOut(left, np.array([1.0 - left]), way_out, np.array([1.0 - way_out]))


@pytest.mark.parametrize(("left", "word"), least(LIMITS.nostril_open, LIMITS.nostril_open_review)[1:])
def test_what_is_left_of_a_nostril(left, word):
    (finding,) = airway._nostril_finding(*breathing(left), (PIECE,), FITTING, LIMITS)
    assert (finding.severity, finding.limit) == word and finding.fix.startswith("cut Piece back")


def test_a_nostril_that_is_hardly_covered_is_noted_and_nothing_is_to_be_done():
    (finding,) = airway._nostril_finding(*breathing(LIMITS.nostril_open_review + LITTLE), (PIECE,), FITTING, LIMITS)
    assert finding.severity == "info" and not finding.fix


@pytest.mark.parametrize(
    ("left", "word"), [(LIMITS.way_out_review, []), (LIMITS.way_out_review - LITTLE, ["review"]), (LITTLE, ["review"]),
                       (0.0, ["fail"]), (float("nan"), [])]
)  # fmt: skip
def test_what_encloses_nose_and_mouth(left, word):
    measured = airway.Airway({"left": breathing(1.0, left)}, None, (), ())
    found = airway._way_out_finding(measured, (PIECE,), FITTING, LIMITS)
    assert [str(each.severity) for each in found] == word


def weighed(mass_g=100.0, part=PIECE):
    return WornMass(part, Bulk(1000.0 * mass_g, np.zeros(3)), 1.0, 1000.0 * mass_g, True)


@pytest.mark.parametrize(("moment", "word"), most(LIMITS.head_moment_review_n_cm, LIMITS.head_moment_n_cm))
@pytest.mark.parametrize(("left_mm", "side"), [(5.0, "left"), (-5.0, "right")])
def test_what_pulls_on_the_neck(moment, word, left_mm, side):
    found = [*load._moment(Lever(10.0, left_mm, 0.0, moment, 0.0), weighed(), FITTING, LIMITS)]
    assert said(found) == ([word] if word else [])
    assert all(f"5 mm to the {side}" in each.message for each in found)


@pytest.mark.parametrize(("mass_g", "word"), most(LIMITS.head_mass_review_g, LIMITS.head_mass_g))
def test_what_the_design_weighs(mass_g, word):
    found = load._findings([weighed(mass_g)], None, FITTING, LIMITS, None)
    assert said(found) == ([word] if word else [])


def test_soft_mass_is_that_of_appliances_alone():
    horn = replace(PIECE, name="Horn", role="hardware")
    assert load._measures([weighed(100.0), weighed(30.0, horn)], None)["soft_mass_g"] == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("roles", "share", "severity", "words"),
    [
        (("appliance", "appliance"), load.DOUBLED + LITTLE, "review", "there twice"),
        (("appliance", "appliance"), load.DOUBLED - LITTLE, "info", ""),
        (("appliance", "hardware"), 1.0, "info", ""),
        (("upper_teeth", "lower_teeth"), 0.1, "info", "stands under interference"),
        (("upper_teeth", "hardware"), 0.1, "info", ""),
    ],
)
def test_what_is_counted_once(roles, share, severity, words):
    one, other = (replace(PIECE, name=f"Part {role}", role=role) for role in roles)
    finding = load._counted_once(Shared(one, other, Bulk(500.0, np.zeros(3)), share), FITTING)
    assert finding.severity == severity and words in finding.message
    assert finding.message.endswith(f"as {other.name}.") != bool(words)
    assert bool(finding.fix) == (severity == "review")


def closing(over_mm=0.0, bare_mm=0.0):
    meeting = LidMeeting(0.5, PIECE, "Scan", np.zeros(3), np.array([0]), True)
    return blink.Blink("left", 1.0, bare_mm, bare_mm + over_mm, meeting, np.zeros((2, 2)), np.zeros(3), None)


LIDS = most(LIMITS.lid_gap_review_mm, LIMITS.lid_gap_mm)


@pytest.mark.parametrize(("over_mm", "word"), [(0.0, None), (LIMITS.lid_gap_review_mm - LITTLE, "info"), *LIDS[2:]])
@pytest.mark.parametrize("bare_mm", [0.0, 1.0])
def test_what_keeps_lids_apart(over_mm, word, bare_mm):
    word = ("info", LIMITS.lid_gap_review_mm) if word == "info" else word
    assert said(blink._gap(closing(over_mm, bare_mm), FITTING, LIMITS)) == ([word] if word else [])


def test_lids_that_stay_apart_by_themselves_are_held_against_that():
    shut, apart = blink._bound(closing(bare_mm=blink.SEALED_MM), LIMITS), blink._bound(closing(bare_mm=1.0), LIMITS)
    assert (shut.value, shut.limit) == (LIMITS.lid_gap_mm, "lid_gap_mm")
    assert (apart.value, apart.limit) == (1.0 + LIMITS.lid_gap_mm, "")


class Closing:
    """Lids whose gap is known at every t."""

    def __init__(self, gap_mm):
        self.gap_mm = gap_mm


@pytest.mark.parametrize("meet_t", [0.113, 0.5, 0.87])
def test_lids_meet_where_their_gap_ends_and_not_at_the_step_after(meet_t):
    gap = lambda t: max(meet_t - t, 0.0) * 10.0 + (blink.SEALED_MM if t < meet_t else 0.0)  # noqa: E731
    coarse = np.array([[t, gap(t)] for t in np.linspace(0.0, 1.0, 6)])
    assert blink.meet_t(Closing(gap), coarse) == pytest.approx(meet_t, abs=2.0 * blink.PRECISION_T)


@pytest.mark.parametrize(
    ("distance_mm", "word"),
    [(LIMITS.eye_clearance_review_mm, None),
     (LIMITS.eye_clearance_review_mm - LITTLE, ("review", LIMITS.eye_clearance_review_mm)),
     (LIMITS.eye_clearance_mm, ("review", LIMITS.eye_clearance_review_mm)),
     (LIMITS.eye_clearance_mm - LITTLE, ("fail", LIMITS.eye_clearance_mm))],
)  # fmt: skip
def test_how_near_a_piece_comes_to_the_eye(distance_mm, word):
    near = EyeClearance(distance_mm, 0.5, PIECE, np.zeros(3), np.array([0]))
    assert said(blink._near(replace(closing(), clearance=near), FITTING, LIMITS)) == ([word] if word else [])


@pytest.mark.parametrize(("left", "count"), [(LIMITS.ear_open_review, 0), (LIMITS.ear_open_review - LITTLE, 1)])
def test_how_far_an_ear_is_covered(left, count):
    ear = Ear("left", np.zeros(3), left, np.array([1.0 - left]))
    assert said(ear_findings([ear], (PIECE,), FITTING, LIMITS)) == [("review", LIMITS.ear_open_review)] * count


ANGLES_DEG = sightline.off_axis_deg()


def view(side="left", bare_deg=None, worn_deg=None, fraction=1.0, ellipse=1.0):
    """What an eye sees to each way until something is in the way, and of how many of a thousand rays."""
    blocked = lambda ends: np.stack([ends.get(way, 100.0) <= ANGLES_DEG for way in sightline.WAYS])  # noqa: E731
    bare_deg, worn_deg = bare_deg or {}, {**(bare_deg or {}), **(worn_deg or {})}
    rays = lambda left: SimpleNamespace(  # noqa: E731
        bare=np.ones(1000, bool), worn=np.arange(1000) < round(1000 * left), blocker=np.full(1000, -1)
    )
    ends = np.full(len(sightline.MERIDIANS_DEG), 100.0)
    eye = SimpleNamespace(side=side)
    return sightline.View(eye, rays(fraction), ends, ends, blocked(bare_deg), blocked(worn_deg), rays(ellipse))


NOTHING_WORN = SimpleNamespace(worn=[])
SIDE, DOWN = LIMITS.sight_side_deg, (LIMITS.sight_down_deg, LIMITS.sight_down_review_deg)


def both(**stated):
    return [view("left", **stated), view("right", **stated)]


@pytest.mark.parametrize(
    ("degrees", "word"),
    [(LIMITS.sight_width_review_deg + 1, []), (LIMITS.sight_width_review_deg - 1, ["review"]),
     (LIMITS.sight_width_deg + 1, ["review"]), (LIMITS.sight_width_deg - 1, ["fail"])],
)  # fmt: skip
def test_how_wide_both_eyes_see(degrees, word):
    views = both(worn_deg={"left": degrees / 2, "right": degrees / 2})
    found = [each for each in sightline._width(views, NOTHING_WORN, FITTING, LIMITS) if "side to side" in each.message]
    assert [str(each.severity) for each in found] == word
    assert [*sightline._width(views[:1], NOTHING_WORN, FITTING, LIMITS)] == []


@pytest.mark.parametrize("way", ["left", "right"])
@pytest.mark.parametrize(("degrees", "word"), [(SIDE + 1, []), (SIDE - 1, ["fail"])])
def test_how_far_to_a_side(way, degrees, word):
    views = both(worn_deg={way: degrees})
    found = [each for each in sightline._width(views, NOTHING_WORN, FITTING, LIMITS) if f"To the {way}" in each.message]
    assert [str(each.severity) for each in found] == word


def test_what_the_bare_face_does_not_see_either_is_not_held_against_the_design():
    narrow = {"left": 20.0, "right": 20.0, "down": 10.0}
    own = both(bare_deg=narrow)
    assert [*sightline._width(own, NOTHING_WORN, FITTING, LIMITS)] == []
    assert [*sightline._downward(own, NOTHING_WORN, FITTING, LIMITS)] == []
    less = both(bare_deg=narrow, worn_deg={"down": 10.0 - sightline.LOSS_DEG - 1.0})
    assert [str(each.severity) for each in sightline._downward(less, NOTHING_WORN, FITTING, LIMITS)] == ["fail"]


@pytest.mark.parametrize(
    ("degrees", "word"),
    [(DOWN[1] + 1, []), (DOWN[1] - 1, [("review", DOWN[1])]), (DOWN[0] + 1, [("review", DOWN[1])]),
     (DOWN[0] - 1, [("fail", DOWN[0])])],
)  # fmt: skip
def test_how_far_down(degrees, word):
    assert said(sightline._downward(both(worn_deg={"down": degrees}), NOTHING_WORN, FITTING, LIMITS)) == word


@pytest.mark.parametrize(("step", "count"), [(0.002, 0), (-0.002, 1)])
def test_what_is_left_of_the_field(step, count):
    one, two = LIMITS.sight_eye_fraction, LIMITS.sight_fraction
    assert (
        said(sightline._fraction(view(fraction=one + step), NOTHING_WORN, FITTING, LIMITS)) == [("review", one)] * count
    )
    views = both(fraction=two + step)
    assert said(sightline._both(views, NOTHING_WORN, FITTING, LIMITS)) == [("review", two)] * count
    assert [*sightline._both(views[:1], NOTHING_WORN, FITTING, LIMITS)] == []


CUT = LIMITS.sight_ellipse_cut


@pytest.mark.parametrize(
    ("cut", "word"),
    [(0.0, []), (0.012, ["review"]), (CUT - 0.002, ["review"]), (CUT + 0.002, ["fail"]), (1.0, ["fail"])],
)
def test_how_much_of_the_ellipse_is_hidden(cut, word):
    found = sightline._ellipse(view(ellipse=1.0 - cut), NOTHING_WORN, FITTING, LIMITS)
    assert [str(each.severity) for each in found] == word


def glued(g_cm2, role="appliance", area_mm2=1000.0):
    part = replace(PIECE, role=role)
    return glue.Glued(weighed(g_cm2 * area_mm2 / 100.0, part), area_mm2)


@pytest.mark.parametrize(("load_g_cm2", "word"), most(LIMITS.glue_load_review_g_cm2, LIMITS.glue_load_g_cm2))
@pytest.mark.parametrize("role", ["appliance", "hardware"])
def test_what_hangs_on_glue(load_g_cm2, word, role):
    found = said(glue.glue_findings([glued(load_g_cm2, role, 5000.0)], FITTING, LIMITS))
    if word and role == "hardware":  # it may be pinned: never failed
        word = ("review", LIMITS.glue_load_review_g_cm2)
    assert found == ([word] if word else [])


def test_what_lies_on_nothing_is_held_by_nothing():
    part = replace(PIECE, role="hardware")
    (found,) = glue.glue_findings([glue.Glued(weighed(50.0, part), 0.0)], FITTING, LIMITS)
    assert found.severity == "review" and f"within {glue.BED_MM:g} mm" in found.message
    (soft,) = glue.glue_findings([glue.Glued(weighed(50.0), 0.0)], FITTING, LIMITS)
    assert f"within {glue.GLUE_MM:g} mm" in soft.message


def patch(lowest, area_mm2=50.0):
    return LevelPatch(np.array([0]), area_mm2, lowest, np.zeros(3))


@pytest.mark.parametrize(
    ("wall_mm", "area_mm2", "word"),
    [(1.9, 5.0, [("review", 2.0)]), (1.001, 5.0, [("review", 2.0)]), (0.999, 5.0, [("fail", 1.0)]), (0.5, 0.9, [])],
)
def test_how_thin_a_hard_wall_is(wall_mm, area_mm2, word):
    material = SimpleNamespace(min_wall_mm=1.0, safe_wall_mm=2.0, process="")
    walls = SimpleNamespace(part=PIECE, material=material, under=lambda level_mm: [patch(wall_mm, area_mm2)])
    assert said(hard_walls.wall_findings(walls, FITTING, 1.0)) == word


LARGE = LIMITS.thin_patch_area_mm2


@pytest.mark.parametrize(
    ("thick_mm", "area_mm2", "word"),
    [(2.9, LARGE, ("review", 2.0)), (3.1, LARGE, ("fail", 3.0)), (3.1, LARGE - LITTLE, ("info", 3.0))],
)
def test_how_thick_a_piece_is_where_the_face_moves(thick_mm, area_mm2, word):
    piece = SimpleNamespace(
        part=PIECE, bending=SimpleNamespace(own_mm=lambda mm: mm), skin=SimpleNamespace(outer_faces=PIECE.faces),
        face_ids=np.arange(len(PIECE.faces)), faces=PIECE.faces,
    )  # fmt: skip
    found = thickness._too_thick(piece, patch(-thick_mm, area_mm2), "lip", (2.0, 3.0), FITTING, LIMITS)
    assert (found.severity, found.limit) == word


def undercut(overhang_mm):
    return Undercut(np.array([0]), 30.0, 2.0, overhang_mm, np.zeros(3))


@pytest.mark.parametrize(
    ("overhang_mm", "rigid", "word"),
    [(LIMITS.undercut_mm, True, []), (LIMITS.undercut_mm + LITTLE, True, ["info"]), (2.0, False, ["info"]),
     (2.0 + LITTLE, False, ["review"]), (2.0 + LITTLE, True, ["fail"])],
)  # fmt: skip
def test_how_far_the_face_hangs_over_under_a_piece(overhang_mm, rigid, word):
    core = mould_core.Core(under=(undercut(overhang_mm),), faces=FITTING.base.faces)
    found = [*mould_core.core_findings(PIECE, core, 2.0, rigid, FITTING, LIMITS)]
    assert [str(each.severity) for each in found] == word
    assert all(bool(each.fix) == (each.severity != Severity.INFO) for each in found)


@pytest.mark.parametrize(("overhang_mm", "count"), [(LIMITS.undercut_mm, 0), (LIMITS.undercut_mm + LITTLE, 1)])
def test_what_hangs_over_beside_a_piece_is_only_noted(overhang_mm, count):
    core = mould_core.Core(beside=(undercut(overhang_mm),), faces=FITTING.base.faces)
    found = mould_core.core_findings(PIECE, core, 2.0, True, FITTING, LIMITS)
    assert [str(each.severity) for each in found] == ["info"] * count


@pytest.mark.parametrize(
    ("width_mm", "word"),
    [(LIMITS.overlap_width_mm, []), (LIMITS.overlap_width_mm - LITTLE, [("review", LIMITS.overlap_width_mm)]),
     (LIMITS.overlap_most_mm, []), (LIMITS.overlap_most_mm + LITTLE, [("info", LIMITS.overlap_most_mm)])],
)  # fmt: skip
def test_how_wide_a_joint_is(width_mm, word):
    lapped = overlaps.LappedEdge(PIECE, replace(PIECE, name="Other"), 40.0, width_mm, np.zeros(3))
    assert said(overlaps.overlap_findings([lapped], FITTING, LIMITS)) == word


def test_pieces_of_which_none_can_go_on_first_are_named():
    other = replace(PIECE, name="Other")
    width_mm = LIMITS.overlap_width_mm
    ring = [overlaps.LappedEdge(*pair, 40.0, width_mm, np.zeros(3)) for pair in ((PIECE, other), (other, PIECE))]
    (found,) = overlaps.overlap_findings(ring, FITTING, LIMITS)
    assert found.severity == "review" and "none can be glued first" in found.message
    assert overlaps.order_of(ring[:1]) == (("Other", "Piece"), ())


@pytest.mark.parametrize(
    ("strain", "area_mm2", "word"),
    [(0.3, 99.0, ("review", 0.2)), (0.4 + LITTLE, 99.0, ("fail", 0.4)), (0.5, 0.0, ("info", 0.4))],
)
@pytest.mark.parametrize("what", ["edge", "bulk"])
def test_how_far_a_piece_stretches(strain, area_mm2, word, what):
    piece = SimpleNamespace(
        part=PIECE, areas_mm2=np.array([area_mm2]), faces=PIECE.faces, face_ids=np.array([0]), worst_pose=lambda _: "a smile"
    )  # fmt: skip
    torn = SimpleNamespace(piece=piece, material=SimpleNamespace(breaks_at=1.0), strain=np.array([strain]))
    found = tearing._stretches(torn, np.array([0]), what, (0.2, 0.4), FITTING, LIMITS)
    assert (found.severity, found.limit) == word
    assert found.message.startswith("The edge of") == (what == "edge") == (" at an edge" in found.message)


class Closed:
    """A closing of which only what is asked for is known."""

    poses = SimpleNamespace(source=SimpleNamespace(rest_t=0.0))
    brief = Brief()
    fitting = FITTING

    def __init__(self, **known):
        self.__dict__.update(known)

    def place(self, part, at_mm, t):
        return FITTING.place(PIECE.name, at_mm)

    def tempered(self, severity):
        return severity


@pytest.mark.parametrize(
    ("rise_mm", "contact", "word"),
    [(0.0, None, []), (LITTLE, None, ["info"]), (LIMITS.over_closure_mm, None, ["info"]),
     (LIMITS.over_closure_mm + LITTLE, None, ["review"]), (9.0, "a tooth", [])],
)  # fmt: skip
def test_how_far_the_jaw_goes_past_closed(rise_mm, contact, word, monkeypatch):
    monkeypatch.setattr(closing_findings, "_lower_part", lambda result: PIECE.name)
    stop = SimpleNamespace(at_mm=np.zeros((1, 3)), midline=0, t=0.0)
    shut = SimpleNamespace(contact=contact, stop=stop, sealed=True)
    result = Closed(over_closure_mm=rise_mm, closing=shut, closed=SimpleNamespace(still_open=lambda t, at: "1 mm open"))
    assert [str(each.severity) for each in closing_findings.over_closed(result)] == word


LOSS_MM, SHORT_MM, TIGHT_MM = LIMITS.lip_gap_over_bare_mm, LIMITS.opening_mm, LIMITS.opening_review_mm


@pytest.mark.parametrize(
    ("taken_share", "edges_mm", "word"),
    [
        (0.5 * LOSS_MM / 40.0, 1.0, []),
        (1.01 * LOSS_MM / 40.0, TIGHT_MM + 1.0, ["info"]),
        (1.01 * LOSS_MM / 40.0, TIGHT_MM - 1.0, ["review"]),
        (1.01 * LOSS_MM / 40.0, SHORT_MM - 1.0, ["review"]),
        (1.0 - closing_findings.OVER_BARE_SHARE + 0.01, TIGHT_MM + 1.0, ["review"]),
        (1.0 - closing_findings.OVER_BARE_SHARE + 0.01, SHORT_MM + 0.5, ["review"]),
        (1.0 - closing_findings.OVER_BARE_SHARE + 0.01, SHORT_MM - 1.0, ["fail"]),
        (0.9, float("nan"), ["review"]),
    ],
)
def test_how_much_opening_a_design_takes(taken_share, edges_mm, word, monkeypatch):
    monkeypatch.setattr(closing_findings, "_lower_part", lambda result: PIECE.name)
    monkeypatch.setattr(closing_findings, "incisal_opening_mm", lambda result, t: edges_mm)
    wide = SimpleNamespace(midline_mm=40.0 * (1.0 - taken_share), at_mm=np.zeros((1, 3)), midline=0, t=1.0)
    result = Closed(wide=wide, bare_wide=SimpleNamespace(midline_mm=40.0))
    assert [str(each.severity) for each in closing_findings.less_opening(result)] == word


@pytest.mark.parametrize(
    ("sealed", "met_mm", "left_mm", "value_mm", "name"),
    [
        (True, LIMITS.lip_seal_mm, 9.0, LIMITS.lip_seal_mm, "lip_seal_mm"),
        (True, 0.7, 9.0, 0.7, ""),
        (False, easy_mm(LIMITS), 9.0, easy_mm(LIMITS), ""),
        (False, 0.5, farthest_mm(LIMITS) + LITTLE, farthest_mm(LIMITS), "lip_gap_mm"),
        (False, 0.5, farthest_mm(LIMITS), easy_mm(LIMITS), "lip_gap_review_mm"),
    ],
)
def test_what_the_gap_between_lips_is_held_against(sealed, met_mm, left_mm, value_mm, name):
    mouth = SimpleNamespace(allowed_mm=np.array([met_mm, 99.0]))
    result = Closed(mouth=mouth, closing=SimpleNamespace(sealed=sealed))
    bound = closure._bound(result, np.array([left_mm, np.nan]))
    assert (bound.value, bound.limit, bound.at_least) == (value_mm, name, False)


@pytest.mark.parametrize(("way_mm", "judged"), [(LIMITS.lip_rest_mm, True), (LIMITS.lip_rest_mm + LITTLE, False)])
def test_a_face_whose_own_lips_stand_apart_is_not_judged(way_mm, judged):
    bare = SimpleNamespace(profile=lambda t: SimpleNamespace(longest_mm=way_mm))
    closed = ClosedMouth(FITTING, None, bare, None, None)
    assert (closure._unjudged(Closed(closed=closed)) == "") == judged


@pytest.mark.parametrize(("value", "limit", "at_least"), [(0.5, 1.0, True), (2.0, 1.0, False)])
def test_the_side_of_a_findings_own_limit_is_the_one_that_it_is_beyond(value, limit, at_least):
    entry = {"value": value, "limit": limit, "region": "brow", "unit": "mm", "id": "x-1"}
    assert of_finding(entry, {"measures": {}}).at_least is at_least


@pytest.mark.parametrize(
    ("overhang_mm", "word"),
    [
        (LIMITS.undercut_mm, []),
        (LIMITS.undercut_mm + LITTLE, ["forgiven"]),
        (1.0, ["forgiven"]),
        (1.0 + LITTLE, ["holds"]),
    ],
)
def test_what_holds_a_piece_in_its_mould(overhang_mm, word, monkeypatch):
    monkeypatch.setattr(release, "_holds", lambda piece, undercut, fitting: "holds")
    monkeypatch.setattr(release, "_forgiven", lambda piece, undercuts, fitting: "forgiven")
    piece = SimpleNamespace(undercuts=(undercut(overhang_mm),), gives_mm=1.0)
    assert [*release._undercut_findings(piece, FITTING, LIMITS)] == word


def test_the_worst_finding_that_counts_decides_whatever_stands_first():
    entry = {"value": 2.0, "limit": 1.0, "region": "brow", "unit": "mm", "exception": None}
    entries = [
        entry | {"id": "note", "severity": "info"}, entry | {"id": "agreed", "severity": "fail", "exception": "so agreed"},
        entry | {"id": "unknown", "severity": "fail", "value": None}, entry | {"id": "look", "severity": "review"},
        entry | {"id": "bad", "severity": "fail", "value": 3.0},
    ]  # fmt: skip
    assert deciding_figure({"status": "fail", "findings": entries, "measures": {}}).finding == "bad"
    assert deciding_figure({"status": "review", "findings": entries[:-1], "measures": {}}).finding == "look"
    assert deciding_figure({"status": "not_checked", "findings": entries, "measures": {}}) is None


def hiding(share):
    """What an eye sees past one piece that hides a share of the bare field."""
    hidden = np.arange(1000) < round(1000 * share)
    sight = SimpleNamespace(
        bare=np.ones(1000, bool), worn=~hidden, blocker=np.where(hidden, 0, -1), at_mm=np.zeros((1000, 3)),
        face=np.where(hidden, 0, -1),
    )  # fmt: skip
    outlook = SimpleNamespace(worn=[SimpleNamespace(part=PIECE, face_ids=np.array([0]))])
    return replace(view(), sphere=sight), outlook


@pytest.mark.parametrize(("step", "count"), [(0.002, 1), (-0.002, 0)])
def test_what_hides_a_little_is_told_from_two_percent_on(step, count):
    found = [*sightline._hiders(*hiding(sightline.ENTRY_SHARE + step), FITTING)]
    assert [str(each.severity) for each in found] == ["info"] * count
    assert all(each.object == PIECE.name and not each.fix for each in found)


def test_what_hides_too_much_is_named_with_what_would_mend_it():
    one, outlook = hiding(1.0 - LIMITS.sight_eye_fraction + 0.01)
    (found,) = sightline._fraction(one, outlook, FITTING, LIMITS)
    assert found.severity == "review" and found.fix.startswith("cut back or lower Piece")


STEPS = 40


def rimmed(cast_mm=0.0, blend_mm=np.nan, span=STEPS):
    """A rim of one-millimetre steps round a loop; ``span`` of them are so thick, and their blend so wide."""
    around = np.arange(STEPS)
    on = around < span
    samples = SimpleNamespace(
        edge=np.stack([around, (around + 1) % STEPS], axis=1), lengths_mm=np.ones(STEPS), points_mm=np.zeros((STEPS, 3)),
        chain=np.zeros(STEPS, np.int64), closed=np.ones(1, bool),
    )  # fmt: skip
    whole = np.ones(STEPS)
    places = SimpleNamespace(
        fail_mm=0.3 * whole, review_mm=0.15 * whole, least_mm=0.05, why=np.zeros(STEPS, np.int64), kind=np.zeros(STEPS)
    )
    thick = np.where(on, cast_mm, 0.0)
    rims = SimpleNamespace(region=lambda samples, run, regions: "brow")
    return SimpleNamespace(
        part=PIECE, samples=samples, rims=rims, places=places, thickness_mm=thick, cast_mm=thick,
        blend_mm=np.where(on, blend_mm, np.nan),
    )  # fmt: skip


SPAN = int(LIMITS.rim_span_mm)


@pytest.mark.parametrize(
    ("cast_mm", "span", "word"),
    [(0.3, STEPS, []), (0.3 + LITTLE, STEPS, [("fail", 0.3)]), (0.3 + LITTLE, SPAN, [("fail", 0.3)]),
     (0.3 + LITTLE, SPAN - 1, [("info", 0.3)])],
)  # fmt: skip
def test_how_thick_a_rim_is_and_over_how_long(cast_mm, span, word):
    assert said(edge._thick_spans(rimmed(cast_mm, span=span), FITTING, LIMITS)) == word


@pytest.mark.parametrize(
    ("cast_mm", "span", "word"),
    [(0.15, STEPS, []), (0.15 + LITTLE, STEPS, [("review", 0.15)]), (0.3, SPAN, [("review", 0.15)]),
     (0.3 + LITTLE, STEPS, []), (0.2, SPAN - 1, [])],
)  # fmt: skip
def test_a_rim_that_may_read_is_to_be_looked_at(cast_mm, span, word):
    assert said(edge._doubtful_rim(rimmed(cast_mm, span=span), FITTING, LIMITS)) == word


STEP_MM, WIDE_MM = LIMITS.blend_step_mm, LIMITS.blend_width_mm
STEP_SPAN = int(edge.STEP_SPAN_MM)


@pytest.mark.parametrize(
    ("cast_mm", "blend_mm", "span", "word"),
    [(0.1, STEP_MM, STEPS, []), (0.1, STEP_MM - LITTLE, STEPS, [("fail", STEP_MM)]),
     (0.3 + LITTLE, STEP_MM - LITTLE, STEPS, []), (0.1, STEP_MM - LITTLE, STEP_SPAN - 3, [])],
)  # fmt: skip
def test_a_rim_that_rises_at_once_is_a_step_where_it_is_thin(cast_mm, blend_mm, span, word):
    """Where it is thick already, that is what stands against it."""
    assert said(edge._steps(rimmed(cast_mm, blend_mm, span), FITTING, LIMITS)) == word


@pytest.mark.parametrize(
    ("blend_mm", "word"),
    [(WIDE_MM, []), (WIDE_MM - LITTLE, [("review", WIDE_MM)]), (STEP_MM, [("review", WIDE_MM)]), (STEP_MM - LITTLE, []),
     (np.nan, [])],
)  # fmt: skip
def test_a_blend_that_is_hard_to_hide(blend_mm, word):
    assert said(edge._narrow_blend(rimmed(0.1, blend_mm), FITTING, LIMITS)) == word


def test_places_too_small_to_judge_are_told_of_together_by_the_first_of_them():
    thin = [patch(0.2, 50.0), patch(0.3, LARGE - LITTLE), patch(0.4, LARGE - LITTLE), patch(0.5, LARGE)]
    piece = SimpleNamespace(
        part=PIECE, skin=SimpleNamespace(outer_faces=PIECE.faces), face_ids=np.arange(len(PIECE.faces)), faces=PIECE.faces,
        least_mm=1.0, safe_mm=2.0,
    )  # fmt: skip
    found = [*thickness._thin(piece, thin, FITTING, LIMITS)]
    assert [(str(each.severity), each.value) for each in found] == [("fail", 0.2), ("fail", 0.5), ("info", 0.3)]
    assert "2 places as small as this" in found[-1].message
    (one,) = thickness._thin(piece, thin[1:2], FITTING, LIMITS)
    assert one.severity == "info" and "too small to judge" in one.message


FOLDS_MM2, EDGE_MM = strain.NOTED_SHARE * LIMITS.buckle_area_mm2, strain.NOTED_SHARE * LIMITS.rim_motion_span_mm
UNDER = LIMITS.rim_skin_shortening


@pytest.mark.parametrize(
    ("area_mm2", "edge_mm", "words"),
    [(FOLDS_MM2, 0.0, ["folds by itself"]), (FOLDS_MM2 - LITTLE, 0.0, []), (LITTLE, EDGE_MM, ["folds by itself"]),
     (LITTLE, EDGE_MM - LITTLE, []), (0.0, EDGE_MM, ["edge lie on skin"]), (0.0, EDGE_MM - LITTLE, [])],
)  # fmt: skip
def test_what_lies_on_skin_that_folds_by_itself_is_noted_from_a_size_on(area_mm2, edge_mm, words, monkeypatch):
    own = np.array([[area_mm2 > 0.0]])
    monkeypatch.setattr(strain, "_squeezed", lambda piece, creases, limits: (None, own))
    rim = SimpleNamespace(
        lengths_mm=np.array([edge_mm, 9.0]), points_mm=np.zeros((2, 3)), edge=np.zeros((2, 2), np.int64)
    )
    piece = SimpleNamespace(
        part=PIECE, areas_mm2=np.array([area_mm2]), rim=rim, rim_shorter=np.array([[UNDER + LITTLE, UNDER]]),
        smallest=np.array([[0.5]]), faces=PIECE.faces, poses=("a smile",), face_ids=np.array([0]),
    )  # fmt: skip
    found = [*strain._own_folds(piece, {}, FITTING, LIMITS)]
    assert [str(each.severity) for each in found] == ["info"] * len(words)
    assert all(word in each.message for word, each in zip(words, found, strict=True))
    assert all(
        (f"{edge_mm:.1f} mm of its edge" in each.message) == (edge_mm > 0.0 and area_mm2 > 0.0) for each in found
    )


def test_where_the_brief_notes_folds_of_any_size_none_is_still_none():
    nothing = replace(LIMITS, buckle_area_mm2=0.0, rim_motion_span_mm=0.0)
    rim = SimpleNamespace(lengths_mm=np.ones(1), points_mm=np.zeros((1, 3)), edge=np.zeros((1, 2), np.int64))
    still = np.ones((1, 1))
    piece = SimpleNamespace(
        part=PIECE, areas_mm2=np.ones(1), rim=rim, rim_shorter=np.zeros((1, 1)), smallest=still, largest=still,
        skin_smallest=still, thickness_mm=np.ones(1), faces=PIECE.faces[:1], poses=("a smile",), face_ids=np.array([0]),
        outer=np.ones(1, bool),
    )  # fmt: skip
    assert [*strain._own_folds(piece, {PIECE.name: 0.65}, FITTING, nothing)] == []
    assert [*strain._foam(piece, {PIECE.name: 0.0}, FITTING, nothing)] == []
    assert [*strain._folded(piece, {PIECE.name: 0.65}, FITTING, nothing)] == []


def sharing(deep_mm, give=Give.SOFT):
    """One pair of worn pieces that share space at every pose, one point of the first and one of the second."""
    first = SimpleNamespace(
        part=PIECE, anchor=np.arange(2), vertex_ids=np.arange(2), rest_point_mm=lambda place: np.zeros(3)
    )
    pair = SimpleNamespace(give=give, first=first, second=SimpleNamespace(part=replace(PIECE, name="Other")))
    return [SimpleNamespace(encounter=SimpleNamespace(pair=pair), usual_mm=np.array([deep_mm, LIMITS.contact_mm]))]


@pytest.mark.parametrize(
    ("deep_mm", "give", "noted"),
    [
        (LIMITS.overlap_soft_review_mm - LITTLE, Give.SOFT, False), (LIMITS.overlap_soft_review_mm, Give.SOFT, False),
        (LIMITS.overlap_soft_review_mm + LITTLE, Give.SOFT, True), (LIMITS.overlap_soft_review_mm + 1.0, Give.HARD, False),
        (LIMITS.overlap_soft_review_mm + 1.0, Give.FLESH, False),
    ],
)  # fmt: skip
def test_pieces_that_share_space_at_every_pose_are_a_seam_where_both_are_soft(deep_mm, give, noted):
    note = meeting_findings.seam_note(sharing(deep_mm, give), FITTING)
    assert (note is not None) == noted
    if note is not None:
        assert note.severity == "info" and note.value == deep_mm and "share space" in note.message
        assert list(note.elements) == [0], "what is no deeper than contact is not in it"


def own_meeting(name, depth_mm):
    pair = SimpleNamespace(first=SimpleNamespace(part=PIECE))
    return SimpleNamespace(
        name=name, other_name="upper lip", depth_mm=depth_mm, pair=pair, encounter=SimpleNamespace(motion="jaw"),
        overlap=SimpleNamespace(t=0.0), deepest_place=lambda: (np.zeros(3), np.zeros(3)), vertices=lambda: np.array([0]),
    )  # fmt: skip


@pytest.mark.parametrize(("count", "more"), [(1, ""), (2, ""), (3, ""), (4, "; and 1 more"), (6, "; and 3 more")])
def test_of_the_own_teeths_meetings_three_are_named_and_the_rest_counted(count, more):
    met = [own_meeting(f"tooth {number}", 0.1 * number) for number in range(1, count + 1)]
    (note,) = meeting_findings.own_note(met, FITTING)
    assert note.severity == "info" and note.value == pytest.approx(0.1 * count)
    named = note.message.partition("(")[2].partition(")")[0]
    assert named.count(" in ") == min(count, 3)
    assert named.endswith(f"lip{more}") and ("more" in named) == bool(more)
    assert meeting_findings.own_note([], FITTING) == []


def shown_tooth(closed_mm, name="left upper canine"):
    row = SimpleNamespace(teeth=SimpleNamespace(names=(name,)))
    return SimpleNamespace(
        height_mm=3.0, least_mm=1.0, closed_mm=closed_mm, row=row, number=0, view=0, fails=True,
        allowed=SimpleNamespace(height_mm=1.0, meaning="usual"),
    )  # fmt: skip


def seen_teeth(teeth, stopped=True):
    contact = SimpleNamespace(piece="Stud", cause="Stud against teeth")
    words = SimpleNamespace(words="with the jaw stopped")
    return SimpleNamespace(
        teeth=lambda: iter(teeth), stopped=stopped, look=SimpleNamespace(pose=words, views=[words]),
        closed=SimpleNamespace(closing=SimpleNamespace(contact=contact), stop_excess=None),
    )  # fmt: skip


@pytest.fixture
def told_teeth(monkeypatch):
    """What is said of teeth that show, without what tells where."""
    monkeypatch.setattr(
        teeth_findings, "_finding", lambda showing, tooth: SimpleNamespace(value=3.0, message="by itself")
    )
    monkeypatch.setattr(teeth_findings, "_place", lambda showing, tooth: FITTING.place(PIECE.name, np.zeros(3)))
    monkeypatch.setattr(teeth_findings, "_vertices", lambda tooth: np.array([0]))
    for each in ("_own", "_meant"):
        monkeypatch.setattr(teeth_findings, each, lambda showing: iter(()))
    return lambda *seen, **how: [each.message for each in teeth_findings.coverage_findings(seen_teeth(seen, **how))]


@pytest.mark.parametrize(
    ("closed_mm", "stopped", "by_itself"), [(1.0 - LITTLE, True, False), (1.0, True, False), (1.0 + LITTLE, True, True),
                                            (0.0, False, True), (2.0, False, True)],
)  # fmt: skip
def test_teeth_are_held_open_where_the_closed_mouth_would_cover_them(told_teeth, closed_mm, stopped, by_itself):
    (said_of_it,) = told_teeth(shown_tooth(closed_mm), stopped=stopped)
    assert (said_of_it == "by itself") == by_itself
    assert ("The closed mouth is not reached" in said_of_it) != by_itself


def test_one_tooth_that_is_held_open_is_named_and_of_several_the_worst(told_teeth):
    (one,) = told_teeth(shown_tooth(0.0))
    assert "the left upper canine shows too much, 3.0 mm of it, seen" in one
    (two,) = told_teeth(shown_tooth(0.0), shown_tooth(0.0, "left lower canine"))
    assert "2 teeth show more than they should, the left upper canine most: 3.0 mm, seen" in two


def test_the_rims_thickness_is_painted_half_as_far_inward_as_a_blend_must_reach():
    half_mm = LIMITS.blend_width_mm / 2.0
    feather = SimpleNamespace(
        field_mm=np.full(4, 0.2), skin=SimpleNamespace(outer_faces=np.array([[0, 1, 2]])), part=PIECE,
        inward_mm=np.array([0.0, half_mm, half_mm + LITTLE, 0.0]),
    )  # fmt: skip
    painted = edge._thickness_field(feather, LIMITS).values
    np.testing.assert_array_equal(painted, [0.2, 0.2, np.nan, np.nan], "nor further in, nor on the inner face")


@pytest.mark.parametrize(("blend_mm", "high_mm"), [(0.5, 1.0), (1.5, 1.5)])
def test_the_rims_paint_reaches_a_millimetre_or_as_thick_as_a_blend_ends(blend_mm, high_mm):
    feather = SimpleNamespace(
        field_mm=np.full(3, 0.2), skin=SimpleNamespace(outer_faces=np.array([[0, 1, 2]])), part=PIECE, inward_mm=np.zeros(3)
    )  # fmt: skip
    assert edge._thickness_field(feather, replace(LIMITS, blend_thickness_mm=blend_mm)).high == high_mm


def test_the_field_is_sampled_wherever_an_eye_could_see_and_nowhere_behind():
    directions = sightline.field_directions(SimpleNamespace(front=UP))
    widest = np.cos(np.radians(sightline.WIDEST_DEG))
    assert (directions @ UP >= widest).all() and directions[:, 2].max() > 0.999
    assert len(directions) == pytest.approx(0.5 * (1.0 - widest) * sightline.DIRECTIONS, rel=0.01)


@pytest.mark.parametrize(("severity", "noted"), [(Severity.INFO, 0), (Severity.REVIEW, 1), (Severity.FAIL, 1)])
def test_landmarks_that_look_wrong_are_noted_for_the_whole_report(severity, noted):
    doubt = SimpleNamespace(severity=severity, message="They are in metres.")
    notes = runner._doubt_notes(SimpleNamespace(landmark_doubts=[doubt]))
    assert len(notes) == noted and all("They are in metres." in note for note in notes)


def test_the_note_on_own_teeth_that_show_stands_at_the_one_that_shows_most():
    points_mm, views = np.array([[0.0, 0, 0], [0, 0, 2], [50, 0, 0]]), [SimpleNamespace(words="the front")]
    teeth = SimpleNamespace(part=PIECE, points_mm=points_mm, tooth=np.array([1, 1, 0]))
    bare = SimpleNamespace(teeth=teeth, height_mm=np.array([[1.0, 3.0]]))
    shown = [
        SimpleNamespace(
            shows_by_itself=True, own_mm=own_mm, row=SimpleNamespace(teeth=teeth), bare_closed=bare, number=at
        )
        for at, own_mm in enumerate((1.0, 3.0))
    ]
    places = []
    fitting = SimpleNamespace(place=lambda name, at_mm: places.append(at_mm) or FITTING.place(name, at_mm))
    showing = SimpleNamespace(teeth=lambda: iter(shown), look=SimpleNamespace(views=views), fitting=fitting)
    (note,) = teeth_findings._own(showing)
    assert note.value == 3.0 and "2 of the own teeth" in note.message
    np.testing.assert_array_equal(places, [[0.0, 0.0, 1.0]])
