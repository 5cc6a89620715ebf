"""Coverage against a closed formula: a plate for a tooth, seen through a slit between two plates for lips."""

from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.checks.runner import run_fitting
from dryfit.checks.teeth.coverage import CHECK, _field
from dryfit.model.brief import Brief, Performer, Views
from dryfit.model.brief_reading import parse_brief
from dryfit.model.exceptions import WrittenException
from dryfit.model.progress import drain
from dryfit.model.snapshot import Camera, Motion, Part, Snapshot
from dryfit.performer.fitting import Fitting
from mouth_shapes import FRONT, box, joined, landmarks

TOOTH_Z = 95.0
DISTANCE = 2000.0


def slit(height_mm, half_width=15.0):
    return opening(-height_mm / 2, height_mm / 2, half_width)


def opening(low, high, half_width=15.0):
    """Four thin boxes round an opening ``2 * half_width`` wide, their front face at ``FRONT``."""
    thin = FRONT - 1e-3
    return joined(
        box([-60, high, thin], [60, 70, FRONT]),
        box([-60, -70, thin], [60, low, FRONT]),
        box([-60, low, thin], [-half_width, high, FRONT]),
        box([half_width, low, thin], [60, high, FRONT]),
    )


def looked_at(height_mm, brief, tooth=None, appliance=None, **more):
    tooth = tooth or box([-40, -20, TOOTH_Z - 2], [40, 20, TOOTH_Z])
    parts = [Part("Head", "base", *slit(height_mm)), Part("Upper", "upper_teeth", *tooth)]
    if appliance is not None:
        parts.append(Part("Lip", "appliance", *appliance))
    snapshot = Snapshot("s", parts=tuple(parts), landmarks=landmarks(), **more)
    return drain(CHECK.measure(Fitting(snapshot, brief), brief))


def scale(angle_deg):
    """How much larger the slit is on the tooth's plane than in its own, seen from a distance."""
    eye = FRONT + DISTANCE * np.cos(np.radians(angle_deg))
    return (eye - TOOTH_Z) / (eye - FRONT)


@pytest.mark.parametrize("height_mm", [2.0, 6.0, 11.0])
@pytest.mark.parametrize("angle_deg", [0.0, 30.0, -60.0])
def test_visible_area_through_a_slit(height_mm, angle_deg):
    brief = Brief(views=Views(angles_deg=(angle_deg,), distance_mm=DISTANCE))
    outcome = looked_at(height_mm, brief)
    wanted = 30.0 * height_mm * scale(angle_deg) ** 2
    assert outcome.measures["exposed_area_mm2"] == pytest.approx(wanted, rel=0.01)
    assert outcome.measures["display_height_mm"] == pytest.approx(height_mm * scale(angle_deg), abs=0.2)


def test_worst_view_and_each_view():
    outcome = looked_at(4.0, Brief(views=Views(angles_deg=(-30.0, 0.0, 30.0))))
    figures = outcome.measures
    assert figures["exposed_area_mm2"] == max(figures[f"exposed_area_mm2_view_{name}"] for name in ("-30", "0", "+30"))
    assert figures["display_height_mm_view_+30"] == pytest.approx(figures["display_height_mm_view_-30"], abs=0.1)


def test_camera_sees_what_the_same_turn_sees():
    eye = (0.0, 0.0, FRONT + DISTANCE)
    views = Views(angles_deg=(0.0,), cameras=("Shot",))
    figures = looked_at(5.0, Brief(views=views), cameras=(Camera("Shot", eye),)).measures
    assert figures["exposed_area_mm2_view_Shot"] == pytest.approx(figures["exposed_area_mm2_view_0"], rel=1e-9)


def test_tall_display_is_a_finding_with_what_to_do():
    outcome = looked_at(8.1, Brief(views=Views(angles_deg=(0.0,))))
    (finding,) = outcome.findings
    assert finding.severity == "fail"
    assert finding.remedy == "extend"
    over = finding.value - 5.1
    assert finding.fix == f"lengthen the upper lip by {over:.1f} mm or shorten the upper teeth 'Upper' by {over:.1f} mm"
    assert "(limit 7.0 mm: more of any tooth than this at rest, from any view, stands out; choice)" in finding.message
    assert len(finding.elements)
    assert looked_at(3.0, Brief(views=Views(angles_deg=(0.0,)))).findings == ()


def test_longer_lip_hides_what_the_bare_base_shows():
    lip = box([-20, -2.0, FRONT], [20, 10.0, FRONT + 1])
    figures = looked_at(8.0, Brief(views=Views(angles_deg=(0.0,))), appliance=lip).measures
    assert figures["bare_display_height_mm"] == pytest.approx(8.0 * scale(0), abs=0.2)
    assert figures["display_height_mm"] == pytest.approx(2.0 * scale(0), abs=0.2)


def test_marked_teeth_are_measured_one_by_one():
    left, right = box([1, -20, 94.99], [9, 20, 95]), box([-9, -20, 94.99], [-1, 0, 95])
    vertices, faces = joined(left, right)
    areas = {"dryfit_tooth_21": np.arange(16) < 8, "dryfit_tooth_11": np.arange(16) >= 8}
    parts = (Part("Head", "base", *slit(6.0)), Part("Upper", "upper_teeth", vertices, faces, areas=areas))
    brief = Brief(views=Views(angles_deg=(0.0,)))
    figures = drain(CHECK.measure(Fitting(Snapshot("s", parts=parts, landmarks=landmarks()), brief), brief)).measures
    assert figures["exposed_area_mm2_tooth_21"] == pytest.approx(8 * 6 * scale(0), rel=0.02)
    assert figures["exposed_area_mm2_tooth_11"] == pytest.approx(8 * 3 * scale(0), rel=0.03)
    assert figures["display_height_mm_tooth_11"] == pytest.approx(3.0, abs=0.2)


def test_what_cannot_be_measured_says_so():
    parts = (Part("Head", "base", *slit(6.0)), Part("Lip", "appliance", *box([0, 0, 110], [5, 5, 111])))
    outcome = drain(CHECK.measure(Fitting(Snapshot("s", parts=parts, landmarks=landmarks()), Brief()), Brief()))
    assert "upper_teeth" in outcome.reason
    parts = (parts[0], Part("Upper", "upper_teeth", *box([0, 0, 90], [5, 5, 91])))
    outcome = drain(CHECK.measure(Fitting(Snapshot("s", parts=parts), Brief()), Brief()))
    assert "landmarks" in outcome.reason
    brief = Brief(views=Views(cameras=("Lost",)))
    outcome = drain(CHECK.measure(Fitting(Snapshot("s", parts=parts, landmarks=landmarks()), brief), brief))
    assert "Lost" in outcome.reason


def moving(**ends):
    """The slit 2 mm high at t = 0 of every motion; each motion's end as (low, high), or a function of the vertices."""
    rest, faces = opening(-1.0, 1.0)
    frames = {name: end(rest) if callable(end) else opening(*end)[0] for name, end in ends.items()}
    motions = {name: Motion(name, [0, 1], {"Head": np.stack([rest, frame])}) for name, frame in frames.items()}
    return Part("Head", "base", rest, faces), motions


def in_poses(motions, base, *worn, brief=None, tooth=None):
    tooth = tooth or box([-40, -20, TOOTH_Z - 2], [40, 20, TOOTH_Z])
    parts = (base, Part("Upper", "upper_teeth", *tooth), *worn)
    snapshot = Snapshot("s", parts=parts, landmarks=landmarks(), motions=motions)
    brief = brief or Brief(views=Views(angles_deg=(-30.0, 0.0)))
    return drain(CHECK.measure(Fitting(snapshot, brief), brief))


def test_every_pose_of_the_mouth_has_its_own_visible_area():
    base, motions = moving(jaw=(-9.0, 1.0), smile=(-2.0, 4.0))
    outcome = in_poses(motions, base)
    figures = outcome.measures
    for pose, height_mm in (("", 2.0), ("_pose_jaw_open", 10.0), ("_pose_smile_end", 6.0)):
        for angle, name in ((-30.0, "-30"), (0.0, "0")):
            wanted = 30.0 * height_mm * scale(angle) ** 2
            assert figures[f"exposed_area_mm2_view_{name}{pose}"] == pytest.approx(wanted, rel=0.01)
        assert figures[f"display_height_mm{pose}"] == pytest.approx(height_mm * scale(0), abs=0.2)
        assert figures[f"bare_exposed_area_mm2{pose}"] == figures[f"exposed_area_mm2{pose}"]
    assert figures["judged_pose"] == "closed"
    assert outcome.findings == ()


def test_a_lip_that_rides_the_upper_plate_hides_in_each_pose_what_it_hides():
    """Its low edge hangs 0.6 mm below the plate's, in front of a tooth narrower than itself."""
    base, motions = moving(jaw=(-9.0, 1.0), smile=(-2.0, 4.0))
    lip = Part("Lip", "appliance", *box([-12, 0.4, FRONT], [12, 10.0, FRONT + 1]))
    tooth = box([-10, -20, TOOTH_Z - 2], [10, 20, TOOTH_Z])
    figures = in_poses(motions, base, lip, tooth=tooth, brief=Brief(views=Views(angles_deg=(0.0,)))).measures
    for pose, own_mm, bare_mm in (("", 1.4, 2.0), ("_pose_jaw_open", 9.4, 10.0), ("_pose_smile_end", 5.4, 6.0)):
        assert figures[f"exposed_area_mm2{pose}"] == pytest.approx(20 * own_mm * scale(0), rel=0.01, abs=0.5)
        assert figures[f"bare_exposed_area_mm2{pose}"] == pytest.approx(20 * bare_mm * scale(0), rel=0.01)
        assert figures[f"display_height_mm{pose}"] == pytest.approx(own_mm * scale(0), abs=0.2)


def test_motions_that_leave_the_mouth_alone_are_not_looked_at_twice():
    def raised(vertices):
        return vertices + [0, 5, 0] * (vertices[:, 1:2] > 60)

    base, motions = moving(jaw=(-9.0, 1.0), blink=raised)
    tooth = Part("Upper", "upper_teeth", *box([-4, -3, TOOTH_Z - 2], [4, 3, TOOTH_Z]))
    snapshot = Snapshot("s", parts=(base, tooth), landmarks=landmarks(), motions=motions)
    figures = drain(CHECK.measure(Fitting(snapshot, Brief()), Brief())).measures
    assert "display_height_mm_pose_jaw_open" in figures
    assert not [name for name in figures if "blink" in name or "pose_rest" in name]


def test_an_open_scan_is_judged_with_the_jaw_closed_and_reported_as_scanned():
    rest, faces = opening(-9.0, 1.0)
    shut = opening(-1.0, 1.0)[0]
    motions = {"jaw": Motion("jaw", [0, 1], {"Head": np.stack([shut, rest])})}
    figures = in_poses(motions, Part("Head", "base", rest, faces)).measures
    assert figures["display_height_mm"] == pytest.approx(2.0 * scale(0), abs=0.2)
    assert figures["display_height_mm_pose_rest"] == pytest.approx(10.0 * scale(0), abs=0.2)
    assert "display_height_mm_pose_jaw_open" not in figures


def test_the_bare_height_is_that_of_the_worst_view():
    """From 60 degrees the line through the slit passes the tooth by: nothing there, all of it from the front."""
    narrow = box([-3, -20, 68], [3, 20, 70])
    figures = looked_at(4.0, Brief(views=Views(angles_deg=(0.0, 60.0))), tooth=narrow).measures
    assert figures["display_height_mm_view_+60"] == 0.0
    wanted = 4.0 * (FRONT + 2000.0 - 70) / 2000.0
    assert figures["bare_display_height_mm"] == pytest.approx(wanted, abs=0.2)
    assert figures["bare_exposed_area_mm2"] == pytest.approx(6.0 * wanted, rel=0.02)


def fangs():
    left, right = box([1, -20, 94.99], [9, 20, 95]), box([-9, -20, 94.99], [-1, 20, 95])
    areas = {"dryfit_tooth_23": np.arange(16) < 8, "dryfit_tooth_13": np.arange(16) >= 8}
    return Part("Fangs", "upper_teeth", *joined(left, right), areas=areas)


def with_exception(*exceptions):
    parts = (Part("Head", "base", *slit(8.0)), fangs())
    snapshot = Snapshot("s", parts=parts, landmarks=landmarks(), exceptions=exceptions)
    return drain(run_fitting(Fitting(snapshot, Brief(views=Views(angles_deg=(0.0,)))), ["coverage"])).check("coverage")


def test_a_deliberate_fang_is_accepted_tooth_by_tooth():
    def accepted(region, part="Fangs"):
        return WrittenException("coverage", part, region, "wardens bare their fangs")

    assert {finding.region for finding in with_exception().findings} == {"left upper canine", "right upper canine"}
    one = with_exception(accepted("left upper canine"))
    assert one.status == "fail"
    assert {finding.region for finding in one.findings if finding.exception} == {"left upper canine"}
    assert not still_open(with_exception(accepted("left upper canine"), accepted("right upper canine")))
    assert not still_open(with_exception(accepted("")))
    assert with_exception(accepted("", "Other")).status == "fail"


def still_open(result):
    """What is said of the fangs and not accepted; of the slit's landmarks, which are on no face, more is said."""
    return [finding for finding in result.findings if finding.object == "Fangs" and finding.exception is None]


@pytest.mark.parametrize(
    ("age_years", "sex", "height_mm", "severity"),
    [
        (None, "", 4.5, None),
        (None, "", 5.6, "review"),
        (25, "", 4.7, None),
        (25, "man", 4.7, "review"),
        (25, "man", 6.6, "fail"),
        (62, "", 2.9, None),
        (62, "", 3.6, "review"),
        (62, "man", 2.9, "review"),
        (62, "man", 6.0, "review"),
        (62, "man", 7.5, "fail"),
        (8, "", 4.7, None),
    ],
)
def test_what_may_show_is_that_of_people_of_the_same_age_and_sex(age_years, sex, height_mm, severity):
    """Means and scatter as in ``norms``: two standard deviations fail, and none where no scatter was seen (from 51)."""
    brief = Brief(views=Views(angles_deg=(0.0,)), performer=Performer(age_years, sex))
    outcome = looked_at(height_mm, brief)
    assert [str(finding.severity) for finding in outcome.findings] == ([severity] if severity else [])
    assert outcome.measures["front_display_mm_upper"] == outcome.measures["display_height_mm"]
    assert np.isnan(outcome.measures["front_display_mm_lower"])
    means = {None: None, 8: None, 25: 2.7 if sex else 3.2, 62: 0.57 if sex else 1.32}
    assert outcome.measures.get("norm_display_mm_upper") == means[age_years]
    if age_years == 62 and height_mm == 3.6:
        assert outcome.findings[0].limit == pytest.approx(1.32 + 1.9)
        assert "Brazilian women from 51 on" in outcome.findings[0].message


def test_a_norm_is_held_against_the_tooth_and_the_view_that_were_measured():
    """The publications measured central incisors from the front: a canine, or a look from the side, has no norm."""
    tooth = box([-40, -20, TOOTH_Z - 2], [40, 20, TOOTH_Z])

    def severities(position, angle_deg):
        areas = {f"dryfit_tooth_1{position}": np.ones(len(tooth[0]), bool)}
        parts = (Part("Head", "base", *slit(4.9)), Part("Upper", "upper_teeth", *tooth, areas=areas))
        brief = Brief(views=Views(angles_deg=(angle_deg,)), performer=Performer(25, "man"))
        snapshot = Snapshot("s", parts=parts, landmarks=landmarks())
        return [str(found.severity) for found in drain(CHECK.measure(Fitting(snapshot, brief), brief)).findings]

    assert severities(1, 0.0) == ["review"]
    assert severities(3, 0.0) == severities(1, 30.0) == []


def test_lower_teeth_may_show_more_on_an_older_face():
    lower = Part("Lower", "lower_teeth", *box([-40, -20, TOOTH_Z - 2], [40, 20, TOOTH_Z]))
    snapshot = Snapshot("s", parts=(Part("Head", "base", *slit(3.5)), lower), landmarks=landmarks())

    def findings(age_years):
        brief = Brief(views=Views(angles_deg=(0.0,)), performer=Performer(age_years))
        return drain(CHECK.measure(Fitting(snapshot, brief), brief)).findings

    assert len(findings(14)) == 1
    assert findings(62) == ()


@pytest.mark.parametrize("shown", ["upper", '["Up*", "Tusk"]'])
def test_teeth_that_are_meant_to_be_seen_are_measured_and_not_judged(shown):
    words = shown if shown.startswith("[") else f'"{shown}"'
    brief = parse_brief(f"[performer]\nage_years = 62\n[teeth]\nshown = {words}\n[views]\nangles_deg = [0]")
    outcome = looked_at(18.0, brief)
    (note,) = outcome.findings
    assert str(note.severity) == "info" and "meant to be seen" in note.message
    assert note.value == outcome.measures["display_height_mm"] == pytest.approx(18.0, abs=0.3)
    assert outcome.judged["display_height_mm"].holds(18.0)


def test_what_is_meant_to_be_seen_and_is_not_there_is_said():
    brief = parse_brief('[teeth]\nshown = "tusk"\n[views]\nangles_deg = [0]')
    failed, note = looked_at(18.0, brief).findings
    assert str(failed.severity) == "fail" and "no tooth and no row of teeth is called so" in note.message


def test_scene_cameras_look_too_but_not_from_behind():
    cameras = (Camera("Shot", (0.0, 0.0, FRONT + DISTANCE)), Camera("Back", (0.0, 0.0, -900.0)))
    figures = looked_at(5.0, Brief(), cameras=cameras).measures
    assert "exposed_area_mm2_view_Shot" in figures
    assert "exposed_area_mm2_view_Back" not in figures
    named = looked_at(5.0, Brief(views=Views(cameras=("B*",))), cameras=cameras).measures
    assert "exposed_area_mm2_view_Back" in named
    assert "exposed_area_mm2_view_Shot" not in named
    none = looked_at(5.0, Brief(views=Views(cameras=())), cameras=cameras).measures
    assert not [name for name in none if "Shot" in name]


def test_a_camera_straight_above_still_reads_heights():
    """A ledge below the tooth's edge: looked at from above, nothing shows past the plate in front of it."""
    cameras = (Camera("Crane", (0.0, 2000.0, TOOTH_Z + 3.0)),)
    figures = looked_at(5.0, Brief(views=Views((), ("Crane",))), cameras=cameras).measures
    assert np.isfinite(figures["display_height_mm"])


def test_a_piece_far_below_at_rest_hides_once_the_jaw_has_brought_it_up():
    rest, faces = opening(-41.0, 1.0)
    motions = {"jaw": Motion("jaw", [0, 1], {"Head": np.stack([opening(-1.0, 1.0)[0], rest])})}
    lip = Part("Lip", "appliance", *box([-12, -60.0, FRONT], [12, -40.5, FRONT + 1]))
    tooth = box([-10, -3, TOOTH_Z - 2], [10, 3, TOOTH_Z])
    brief = Brief(views=Views(angles_deg=(0.0,)))
    figures = in_poses(motions, Part("Head", "base", rest, faces), lip, tooth=tooth, brief=brief).measures
    assert figures["exposed_area_mm2"] == pytest.approx(20 * 1.5 * scale(0), abs=0.6)
    assert figures["bare_exposed_area_mm2"] == pytest.approx(20 * 2.0 * scale(0), abs=0.6)


def test_what_is_painted_on_teeth_is_the_share_of_views_round_each_vertex():
    """Two triangles that share an edge, one seen from both views, one from none, and a vertex on neither."""
    corners = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0], [9, 9, 9]])
    part = Part("Row", "upper_teeth", corners, np.array([[0, 1, 2], [1, 3, 2]]))
    teeth = SimpleNamespace(part=part, samples=SimpleNamespace(face=np.array([0, 0, 1])))
    row = SimpleNamespace(teeth=teeth, seen=np.array([[True, True, False], [True, True, False]]))
    field = _field(row, SimpleNamespace(motion="jaw", t=0.0))
    np.testing.assert_array_equal(field.values, [1.0, 0.5, 0.5, 0.0, np.nan])
