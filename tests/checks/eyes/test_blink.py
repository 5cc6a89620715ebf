"""Lids as shells of a ball: gap, meeting and what stops them follow from sines."""

from dataclasses import replace

import numpy as np
import pytest

import dryfit
from ball_lids import APEX, CENTRE, LID_MM, LOWER_DEG, OPEN_DEG, SWEEP_DEG, face, gap_mm, patch
from dryfit.checks.eyes.lid_contact import watched_points
from dryfit.model.snapshot import Part, Snapshot
from family import members, smiles
from plates import ring


def measured(snapshot):
    return dryfit.check(snapshot, only=["blink"]).check("blink")


@pytest.mark.parametrize("eyeball", [True, False])
def test_the_gap_by_t_is_a_difference_of_sines(eyeball):
    result = measured(face(eyeball=eyeball, groups=not eyeball))
    assert result.measures["open_gap_mm_left"] == pytest.approx(gap_mm(OPEN_DEG), abs=0.06)
    curve = result.curves["lid_gap_by_t_left"]
    for t, gap in zip(curve.x, curve.y, strict=True):
        assert gap == pytest.approx(max(gap_mm(OPEN_DEG - SWEEP_DEG * t), 0.0), abs=0.06)


def test_skin_behind_the_eyeball_shuts_no_lids():
    """A socket that is part of the scan is met by every ray that the eyeball stops first."""
    bare, (wall, faces) = face(), patch(np.full(9, LID_MM + 3.0), np.linspace(-60.0, 60.0, 9))
    behind, scan, blink = 2.0 * CENTRE - wall, bare.part("Scan"), bare.motions["blink"]
    frames = np.stack([np.concatenate([frame, behind]) for frame in blink.frames_mm["Scan"]])
    socketed = replace(scan, vertices_mm=frames[0], faces=np.vstack([scan.faces, faces + len(scan.vertices_mm)]))
    parts = tuple(socketed if part is scan else part for part in bare.parts)
    motions = {"blink": replace(blink, frames_mm={**blink.frames_mm, "Scan": frames})}
    mine, wanted = (measured(each) for each in (replace(bare, parts=parts, motions=motions), bare))
    assert mine.curves["lid_gap_by_t_left"].y == wanted.curves["lid_gap_by_t_left"].y
    assert mine.measures["open_gap_mm_left"] > 1.0


def test_bare_lids_close():
    result = measured(face())
    assert result.measures["residual_gap_mm_left"] <= 0.1
    assert not result.findings
    assert "pupil_right" in result.reason or "right" in result.reason
    assert np.isnan(result.measures["residual_gap_mm_right"])


@pytest.mark.parametrize("sweep_deg", [37.0, 30.0])
def test_a_blink_that_ends_early_is_said_and_not_blamed_on_the_design(sweep_deg):
    result = measured(face(sweep_deg=sweep_deg))
    left_mm = gap_mm(OPEN_DEG - sweep_deg)
    assert result.measures["bare_residual_gap_mm_left"] == pytest.approx(left_mm, abs=0.06)
    assert result.measures["residual_gap_mm_left"] == result.measures["bare_residual_gap_mm_left"]
    assert [finding.severity for finding in result.findings] == ["info"]


@pytest.mark.parametrize("sweep_deg", [0.0, 4.0, 8.0])
def test_a_motion_that_hardly_shuts_the_lids_is_no_blink(sweep_deg):
    result = measured(face(Part("Shelf", "appliance", *shelf()), sweep_deg=sweep_deg))
    assert result.status == "not_checked"
    assert f"only from {gap_mm(OPEN_DEG):.1f} to" in result.reason
    assert np.isnan(result.measures.get("residual_gap_mm_left", np.nan))


OVERHANG_DEG, OVER_MM = 10.0, 1.5


def shelf():
    """A piece 1.5 mm over the upper lid that hangs 10 degrees below its margin."""
    rises = np.linspace(OPEN_DEG - OVERHANG_DEG, OPEN_DEG + 25.0, 29)
    return patch(np.full(29, LID_MM + OVER_MM), rises)


def margin_where_pressed(press_mm):
    """Rise of the margin at which the way from it to the shelf's edge is ``press_mm`` beyond the lower lid's edge."""
    rises = np.linspace(LOWER_DEG, OPEN_DEG, 40001)
    foot = LID_MM * np.stack([np.cos(np.radians(rises)), np.sin(np.radians(rises))])
    tip_deg = np.radians(rises - OVERHANG_DEG)
    tip = (LID_MM + OVER_MM) * np.stack([np.cos(tip_deg), np.sin(tip_deg)])
    edge = np.array([-np.sin(np.radians(LOWER_DEG)), np.cos(np.radians(LOWER_DEG))])
    share = (edge @ foot) / (edge @ foot - edge @ tip)
    beyond = np.where((share > 0) & (share < 1), (1 - share) * np.linalg.norm(tip - foot, axis=0), 0.0)
    return rises[np.flatnonzero(beyond >= press_mm).max()]


def test_a_shelf_on_the_upper_lid_stops_at_the_lower_lid():
    result = measured(face(Part("Shelf", "appliance", *shelf())))
    expected = gap_mm(margin_where_pressed(0.3))
    assert expected > 1.0
    assert result.measures["residual_gap_mm_left"] == pytest.approx(expected, abs=0.12)
    stop = next(finding for finding in result.findings if "stop" in finding.message)
    assert stop.severity == "fail"
    assert stop.object == "Shelf"
    assert stop.value == pytest.approx(expected - result.measures["bare_residual_gap_mm_left"], abs=0.12)


def test_two_pieces_stop_each_other_sooner():
    """A wall on the lower lid, 4 degrees above its edge's own height, meets the shelf; soft pieces give 0.3 mm."""
    wall = patch(np.linspace(LID_MM + 0.2, LID_MM + 4.0, 8), np.full(8, LOWER_DEG + 4.0))
    foot = patch(np.full(8, LID_MM + 0.2), np.linspace(LOWER_DEG - 8.0, LOWER_DEG + 4.0, 8))
    low = Part(
        "Low", "appliance", np.concatenate([wall[0], foot[0]]), np.concatenate([wall[1], foot[1] + len(wall[0])])
    )
    result = measured(face(Part("Shelf", "appliance", *shelf()), low))
    expected = gap_mm(LOWER_DEG + 4.0 + OVERHANG_DEG) - 0.3
    assert result.measures["residual_gap_mm_left"] == pytest.approx(expected, abs=0.15)
    stop = next(finding for finding in result.findings if "stop" in finding.message)
    assert {"Shelf", "Low"} <= set(stop.message.replace(":", " ").split()) | {stop.object}


def test_a_thin_piece_on_the_lid_rides_along():
    rises = np.linspace(OPEN_DEG + 5.0, OPEN_DEG + 30.0, 20)
    result = measured(face(Part("Thin", "appliance", *patch(np.full(20, LID_MM + 0.4), rises))))
    assert result.measures["residual_gap_mm_left"] <= 0.1


@pytest.mark.parametrize(("distance", "severity"), [(5.0, None), (1.2, "review"), (0.3, "fail")])
def test_the_distance_to_the_eye(distance, severity):
    plate = Part("Monocle", "hardware", *ring((0, 0), (8, 8), APEX + [0, -distance, 0]))
    result = measured(face(plate, still=True))
    assert result.measures["eye_clearance_mm"] == pytest.approx(distance, abs=0.02)
    near = [finding for finding in result.findings if "within" in finding.message]
    assert [finding.severity for finding in near] == ([severity] if severity else [])


def test_a_piece_behind_the_lid_is_not_near_the_eye():
    rises = np.linspace(OPEN_DEG + 10.0, OPEN_DEG + 30.0, 20)
    result = measured(face(Part("OnLid", "appliance", *patch(np.full(20, LID_MM + 0.2), rises, widest_deg=50.0))))
    assert result.measures["eye_clearance_mm"] > 2.0


def test_without_a_blink_or_lids_it_says_what_to_add():
    snapshot = face()
    still = Snapshot("still", parts=snapshot.parts, landmarks=snapshot.landmarks)
    assert "[motions.blink]" in measured(still).reason
    blind = face(eyeball=False)
    assert "dryfit_lid_upper_left" in measured(blind).reason
    assert measured(blind).status == "not_checked"


def test_a_long_bar_before_the_eye_is_watched_along_its_length():
    """Its corners are 35 mm to the sides, beyond what is watched; 8 mm facets leave no place further than that."""
    corners = np.array([[-35.0, 0, 0], [35, 0, 0], [35, 0, 2], [-35, 0, 2]])
    bar = Part("Bar", "hardware", corners, np.array([[0, 1, 2], [0, 2, 3]]))
    ids, weights = watched_points(bar, np.array([0.0, 10.0, 0.0]))
    points = np.einsum("ki,kij->kj", weights, corners[ids])
    assert np.linalg.norm(points - [0.0, 10.0, 0.0], axis=1).max() < 30.0
    across = np.sort(points[:, 0])
    assert across[0] < -20.0 and across[-1] > 20.0
    assert np.diff(across).max() < 9.0


def test_the_feet_of_watched_points_follow_a_coarse_shelf_as_they_do_a_fine_one():
    """The shelf as hardware cut into 5 rows only: the points between its rows stop the lid where its rows do."""
    rises = np.linspace(OPEN_DEG - OVERHANG_DEG, OPEN_DEG + 25.0, 5)
    coarse = measured(face(Part("Shelf", "appliance", *patch(np.full(5, LID_MM + OVER_MM), rises))))
    fine = measured(face(Part("Shelf", "appliance", *shelf())))
    assert coarse.measures["residual_gap_mm_left"] == pytest.approx(fine.measures["residual_gap_mm_left"], abs=0.15)


def test_a_design_with_nothing_near_the_eyes_passes():
    """The way to the eye has no end then: nothing is asked of it, and it holds nothing back."""
    member = members.with_cheek_piece(members.keyed())
    snapshot = member.with_motions(smiles.blink(member.head)).snapshot
    result = dryfit.check(snapshot, only=["blink"]).check("blink")
    assert np.isposinf(result.measures["eye_clearance_mm"])
    assert result.status == "pass" and "eye_clearance_mm" not in result.judged
