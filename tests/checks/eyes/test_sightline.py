"""What can be seen past plates of known size: the angles and solid angles are school geometry."""

from dataclasses import replace

import numpy as np
import pytest

from dryfit.checks.eyes.sightline import CHECK, WIDEST_DEG
from dryfit.checks.runner import run_fitting
from dryfit.model.brief import Brief
from dryfit.model.progress import drain
from dryfit.model.snapshot import Part
from dryfit.performer.fitting import Fitting
from plates import ENTRANCE_MM, EYE_MM, board, facing, ring
from shapes import icosphere

AHEAD = np.array([0.0, -1.0, 0.0])
WAYS = ("left", "right", "up", "down")


def measured(snapshot):
    """Ask the check itself: a plate that hides the whole field is no size to be worn, and would be refused at the door."""
    return drain(run_fitting(Fitting(snapshot, Brief()), ["sightline"])).check("sightline")


def before(distance_mm, from_mm=ENTRANCE_MM):
    return from_mm + distance_mm * AHEAD


@pytest.mark.parametrize(("half_angle", "distance"), [(10.0, 40.0), (21.8, 60.0), (45.0, 30.0), (60.0, 25.0)])
def test_a_round_hole_gives_its_angle_to_all_sides(half_angle, distance):
    radius = distance * np.tan(np.radians(half_angle))
    result = measured(facing(ring((radius, radius), (900, 900), before(distance))))
    for way in WAYS:
        assert result.measures[f"{way}_deg"] == pytest.approx(half_angle, abs=0.1)


def test_a_slot_gives_its_angle_up_and_down():
    high, low = board([-500, -160, 10 + 12.0], [500, -160, 400]), board([-500, -160, -400], [500, -160, 10 - 8.0])
    result = measured(facing(high, low))
    distance = 160.0 - 117.0
    assert result.measures["up_deg"] == pytest.approx(np.degrees(np.arctan2(12.0, distance)), abs=0.1)
    assert result.measures["down_deg"] == pytest.approx(np.degrees(np.arctan2(8.0, distance)), abs=0.1)
    assert result.measures["left_deg"] > 84.0


@pytest.mark.parametrize("half_angle", [8.0, 30.0, 55.0])
def test_a_disc_takes_its_solid_angle(half_angle):
    distance = 40.0
    radius = distance * np.tan(np.radians(half_angle))
    result = measured(facing(ring((0, 0), (radius, radius), before(distance))))
    bare = measured(facing(ring((0, 0), (1, 1), [0, 300, 0]))).measures
    assert bare["field_fraction_left"] == 1.0
    seen = bare_solid_angle()
    taken = 2 * np.pi * (1 - np.cos(np.radians(half_angle)))
    assert result.measures["field_fraction_left"] == pytest.approx(1 - taken / seen, abs=1e-3)
    assert result.measures["up_deg"] == 0.0


def test_a_reference_for_both_eyes_is_held_against_both():
    """EN 136 asks 70 % of the effective field of both eyes (from memory), not of each: one eye's loss is told as such."""
    disc = ring((0, 0), (20.0 * np.tan(np.radians(60.0)),) * 2, before(20.0))
    wide = board([-400, -145, -400], [400, -145, 400])
    told = {}
    for name, plate in (("one", disc), ("both", wide)):
        result = measured(facing(plate, eyes=("left", "right")))
        told[name] = [finding.message for finding in result.findings]
        assert (result.measures["field_fraction_both"] < 0.7) == (name == "both")
    assert any("The left eye keeps" in words for words in told["one"])
    assert not any("Both eyes together keep" in words for words in told["one"])
    assert any("Both eyes together keep" in words for words in told["both"])


def bare_solid_angle():
    """Of the cone out to the widest angle, less what the head's sphere takes, by plain counting on a fine grid."""
    off = (np.arange(2140) + 0.5) * np.radians(WIDEST_DEG) / 2140
    turn = (np.arange(720) + 0.5) * 2 * np.pi / 720
    off, turn = np.meshgrid(off, turn, indexing="ij")
    rays = np.stack([np.sin(off) * np.cos(turn), -np.cos(off), np.sin(off) * np.sin(turn)], axis=2)
    start = ENTRANCE_MM + 12.0 * rays
    along = np.maximum(-(start * rays).sum(axis=2), 0.0)
    free = np.linalg.norm(start + along[..., None] * rays, axis=2) > 99.9
    return (free * np.sin(off)).sum() * np.radians(WIDEST_DEG) / 2140 * 2 * np.pi / 720


def test_the_eye_on_the_far_side_sees_past_a_blinker():
    """A board beside the left eye: the right eye, 64 mm further, sees by it at a wider angle."""
    end_mm = 60.0
    blinker = board([92.0, -117.0 - end_mm, -400], [92.0, 50.0, 400])
    one = measured(facing(blinker)).measures["left_deg"]
    both = measured(facing(blinker, eyes=("left", "right"))).measures
    assert one == pytest.approx(np.degrees(np.arctan2(60.0, end_mm)), abs=0.1)
    assert both["left_deg"] == pytest.approx(np.degrees(np.arctan2(124.0, end_mm)), abs=0.1)
    assert both["horizontal_deg"] == pytest.approx(both["left_deg"] + both["right_deg"])


def ellipse_plate(scale, shift=(0.0, 0.0)):
    middle = EYE_MM + [3.0 + shift[0], -25.0, -0.7 + shift[1]]
    return ring((11.0 * scale, 10.0 * scale), (200, 200), middle)


@pytest.mark.parametrize("scale", [1.001, 0.9, 0.5])
def test_an_elliptic_window_of_the_standard_leaves_the_ellipse_free(scale):
    """22 by 20 mm at 25 mm, centre 3 mm outward and 0.7 mm low (EN 168): smaller windows leave scale squared."""
    result = measured(facing(ellipse_plate(scale)))
    assert result.measures["ellipse_open_left"] == pytest.approx(min(scale, 1.0) ** 2, abs=3e-3)
    assert any("ellipse" in finding.message for finding in result.findings) == (scale < 1.0)


def test_the_ellipse_has_the_half_angles_of_the_standard():
    """atan(11/25) = 23.7 and atan(10/25) = 21.8 degrees about its own middle, seen from the cornea's front."""
    from dryfit.checks.eyes.sightline import ellipse_directions
    from dryfit.performer.head_frame import HeadFrame

    frame = HeadFrame.from_landmarks(facing().landmarks)
    rays = ellipse_directions("left", frame)
    at_plane = 25.0 * rays / (rays @ frame.front)[:, None]
    across, up = at_plane @ frame.left - 3.0, at_plane @ frame.up + 0.7
    assert np.degrees(np.arctan(np.abs(across).max() / 25.0)) == pytest.approx(23.7, abs=0.4)
    assert np.degrees(np.arctan(np.abs(up).max() / 25.0)) == pytest.approx(21.8, abs=0.4)


def test_left_and_right_swap_in_a_mirror():
    plate = board([40.0, -170.0, -30.0], [200.0, -170.0, 60.0])
    here = measured(facing(plate, eyes=("left", "right"))).measures
    mirrored = measured(facing((plate[0] * [-1, 1, 1], plate[1]), eyes=("left", "right"))).measures
    assert here["left_deg"] < here["right_deg"]
    for one, other in (("left_deg", "right_deg"), ("field_fraction_left", "field_fraction_right")):
        assert here[one] == pytest.approx(mirrored[other], abs=2e-3)
        assert here[other] == pytest.approx(mirrored[one], abs=2e-3)


def test_too_narrow_a_field_fails_and_names_what_hides_it():
    boards = [board([side * 60.0, -200.0, -300], [side * 60.0, 0.0, 300]) for side in (1, -1)]
    result = measured(facing(*boards, eyes=("left", "right")))
    width = 2 * np.degrees(np.arctan2(92.0, 83.0))
    assert result.measures["horizontal_deg"] == pytest.approx(width, abs=0.2)
    assert result.status == "fail"
    assert result.findings[0].object in ("Plate0", "Plate1")
    assert result.findings[0].value == pytest.approx(width, abs=0.2)


@pytest.mark.parametrize(("down_deg", "severity"), [(25.0, "fail"), (40.0, "review"), (50.0, None)])
def test_the_ground_ahead_has_to_be_seen(down_deg, severity):
    """A shelf before both eyes, 43 mm off: 45 degrees are looked at, 30 fail (what group 2 drivers need)."""
    shelf = board([-500, -160, -400], [500, -160, 10 - 43.0 * np.tan(np.radians(down_deg))])
    result = measured(facing(shelf, eyes=("left", "right")))
    assert result.measures["down_deg"] == pytest.approx(down_deg, abs=0.1)
    told = [finding for finding in result.findings if finding.message.startswith("Downward")]
    assert [str(finding.severity) for finding in told] == ([severity] if severity else [])
    for finding in told:
        assert finding.value == result.measures["down_deg"]
        assert finding.object == "Plate0"
    assert result.judged["down_deg"].value == pytest.approx(45.0)


def test_eyeballs_and_contact_lenses_are_not_in_the_way():
    ball, faces = icosphere(3, 12.0)
    centre = EYE_MM + [0, 12.0, 0]
    eye = Part("Eyeball", "eye_left", ball + centre, faces)
    lens_faces = faces[(ball[faces][:, :, 1] < -6.0).all(axis=1)]
    lens = Part("Lens", "hardware", ball * 1.02 + centre, lens_faces)
    result = measured(facing(ring((0, 0), (1, 1), [0, 300, 0]), more=(eye, lens)))
    assert result.measures["field_fraction_left"] == 1.0
    assert any("contact lens" in finding.message for finding in result.findings)


def test_without_an_eye_it_says_what_to_add():
    result = measured(facing(board([0, -200, 0], [10, -200, 10]), eyes=()))
    assert result.status == "not_checked"
    assert "pupil_left" in result.reason


def test_one_eye_alone_is_measured_but_not_passed():
    result = measured(facing(board([0, 300, 0], [10, 300, 10])))
    assert result.status == "not_checked"
    assert "pupil_right" in result.reason
    assert result.measures["field_fraction_left"] == 1.0


def test_an_assumed_front_does_not_pass():
    snapshot = facing(board([0, 300, 0], [10, 300, 10]), eyes=("left", "right"))
    pupils = {name: at for name, at in snapshot.landmarks.items() if name.startswith("pupil")}
    result = measured(replace(snapshot, landmarks=pupils))
    assert result.status == "not_checked"
    assert "sellion" in result.reason
    assert result.measures["field_fraction_left"] == 1.0


def test_the_caution_is_there():
    assert "never a clearance" in CHECK.caution
