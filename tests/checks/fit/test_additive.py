"""The additive check against shapes with known depth, area and volume."""

import numpy as np
import pytest

import dryfit
from dryfit.checks.fit import additive
from dryfit.model.snapshot import Part, Snapshot
from head_marks import marks, outcome, snapshot
from shapes import cap, icosphere, sheet, slab, worn

TOLERANCE_MM = 0.2


def measured(snapshot):
    report = dryfit.check(snapshot, only=["additive"])
    return report.check("additive")


def paraboloid(depth_mm, width_mm):
    return lambda x, y: 1.0 - (depth_mm + 1.0) * np.clip(1.0 - (x**2 + y**2) / width_mm**2, 0, None)


def test_a_sphere_over_a_sphere_adds_the_shell_between_them():
    vertices, faces = icosphere(5)
    result = measured(worn((vertices, faces), (vertices * 1.01, faces)))
    assert result.status == "pass"
    assert result.measures["added_volume_mm3"] == pytest.approx(4 / 3 * np.pi * (101**3 - 100**3), rel=5e-3)
    assert result.measures["covered_area_mm2"] == pytest.approx(4 * np.pi * 100**2, rel=5e-3)
    assert result.measures["max_thickness_mm"] == pytest.approx(1.0, abs=0.01)
    assert result.measures["max_depth_mm"] == 0.0


def test_a_hollow_has_its_depth_area_and_volume():
    """A paraboloid z = c - k (1 - r^2/w^2) under z = -0.2: closed forms for radius, area and volume."""
    depth, width = 2.5, 20.0
    base = sheet(120.0, 60)
    piece = sheet(60.0, 120, paraboloid(depth, width))
    result = measured(worn(base, piece))
    rise = depth + 1.0
    edge_squared = width**2 * (1.0 - (1.0 + TOLERANCE_MM) / rise)
    slope = 2.0 * rise / width**2
    area = np.pi / (1.5 * slope**2) * ((1 + slope**2 * edge_squared) ** 1.5 - 1)
    volume = np.pi * (depth * edge_squared - rise / width**2 * edge_squared**2 / 2)
    assert result.status == "fail"
    assert result.measures["patch_count"] == 1
    assert result.measures["max_depth_mm"] == pytest.approx(depth, rel=0.01)
    assert result.measures["subtractive_area_mm2"] == pytest.approx(area, rel=0.01)
    assert result.measures["removed_volume_mm3"] == pytest.approx(volume, rel=0.01)
    finding = result.findings[0]
    assert np.linalg.norm(finding.at_mm) == pytest.approx(depth, abs=0.5)
    assert f"by up to {depth:.1f} mm" in finding.fix


def test_detail_of_the_base_inside_a_large_face_is_found():
    """A gentle swelling of the base, 2 mm high, comes through a flat piece of 10 mm faces at 1 mm."""
    swelling = lambda x, y: 2.0 * np.clip(1.0 - (x**2 + y**2) / 400.0, 0, None)  # noqa: E731
    base = sheet(120.0, 240, swelling)
    piece = sheet(60.0, 6, lambda x, y: 1.0 + 0 * x)
    result = measured(worn(base, piece))
    assert result.measures["max_depth_mm"] == pytest.approx(1.0, rel=0.02)
    inside = 400.0 * (1 - 1.2 / 2.0)
    assert result.measures["subtractive_area_mm2"] == pytest.approx(np.pi * inside, rel=0.03)


def test_the_inner_face_of_a_closed_shell_is_not_judged():
    base = sheet(120.0, 40)
    vertices, faces = sheet(60.0, 30)
    for lift in (0.0, -0.5):
        shell = slab(vertices, faces, np.full(len(vertices), 3.0 - lift), lift)
        result = measured(worn(base, shell))
        assert result.status == "pass", lift
        assert result.measures["added_volume_mm3"] == pytest.approx(60 * 60 * 3, rel=0.01)
        assert result.measures["covered_area_mm2"] == pytest.approx(60 * 60, rel=0.01)


def test_an_inside_out_piece_is_said_and_measured_the_right_way_round():
    base = sheet(120.0, 60)
    vertices, faces = sheet(60.0, 60, paraboloid(2.5, 20.0))
    right = measured(worn(base, (vertices, faces)))
    turned = measured(worn(base, (vertices, faces[:, ::-1])))
    assert turned.measures == pytest.approx(right.measures)
    assert any("inside out" in finding.message for finding in turned.findings)
    assert not any("inside out" in finding.message for finding in right.findings)
    flat = sheet(60.0, 20, lambda x, y: 1.0 + 0 * x)
    assert measured(worn(base, (flat[0], flat[1][:, ::-1]))).status == "pass"


def test_an_inside_out_base_is_said_and_measured_the_right_way_round():
    vertices, faces = icosphere(4)
    right = measured(worn((vertices, faces), (vertices * 1.02, faces)))
    turned = measured(worn((vertices, faces[:, ::-1]), (vertices * 1.02, faces)))
    assert turned.status == right.status == "pass"
    assert turned.measures["max_thickness_mm"] == pytest.approx(right.measures["max_thickness_mm"])
    assert any("base" in finding.message and "inward" in finding.message for finding in turned.findings)


def test_a_flat_base_has_the_side_that_looks_to_the_front_outside():
    """A sheet turned to face -Y, Blender's front, and the piece before it; the same sheet with its faces turned."""
    upright = np.array([[1.0, 0, 0], [0, 0, 1.0], [0, -1.0, 0]])
    (vertices, faces), plate = sheet(120.0, 30), sheet(60.0, 30, lambda x, y: 2.0 + 0 * x)
    piece = (plate[0] @ upright, plate[1])
    for turned in (faces, faces[:, ::-1]):
        result = measured(worn((vertices @ upright, turned), piece))
        assert result.status == "pass"
        assert result.measures["added_volume_mm3"] == pytest.approx(60 * 60 * 2, rel=0.01)


def test_what_lies_beyond_an_open_border_is_off_the_scan_and_not_subtractive():
    base = sheet(100.0, 50)
    piece = sheet(140.0, 70, lambda x, y: np.where(np.maximum(abs(x), abs(y)) > 55, -5.0, 1.0))
    result = measured(worn(base, piece))
    assert result.measures["off_scan_vertices"] > 0
    assert result.measures["subtractive_area_mm2"] == 0.0
    assert any("beyond the border" in finding.message for finding in result.findings)


def test_a_design_wholly_off_the_scan_is_not_checked():
    base = sheet(100.0, 20)
    vertices, faces = sheet(50.0, 10)
    result = measured(worn(base, (vertices + [500.0, 0, -3.0], faces)))
    assert result.status == "not_checked"
    assert "off the scan" in result.reason


def dented_cap():
    vertices, faces, polar = cap(5, 30.0)
    dent = 1.0 - 0.06 * np.clip(np.cos(polar / np.radians(6) * np.pi / 2), 0, None) * (polar < np.radians(6))
    return vertices * dent[:, None], faces


def test_a_rigid_motion_changes_nothing():
    base, piece = icosphere(5), dented_cap()
    still = measured(worn(base, piece))
    angle = 0.7
    turn = np.array([[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0], [0, 0, 1]])
    turn = turn @ np.array([[1, 0, 0], [0, 0.6, -0.8], [0, 0.8, 0.6]])
    moved = lambda mesh: (mesh[0] @ turn.T + [30.0, -900.0, 4.0], mesh[1])  # noqa: E731
    assert measured(worn(moved(base), moved(piece))).measures == pytest.approx(still.measures, rel=1e-6)


def test_the_order_of_vertices_and_faces_changes_nothing():
    base, piece = icosphere(5), dented_cap()
    still = measured(worn(base, piece))
    random = np.random.default_rng(3)

    def shuffled(mesh):
        vertices, faces = mesh
        order = random.permutation(len(vertices))
        place = np.argsort(order)
        return vertices[order], np.roll(place[faces][random.permutation(len(faces))], 1, axis=1)

    assert measured(worn(shuffled(base), shuffled(piece))).measures == pytest.approx(still.measures, rel=1e-6)


def test_another_triangulation_changes_little():
    base = sheet(120.0, 60)
    vertices, faces = sheet(60.0, 120, paraboloid(2.5, 20.0))
    half = len(faces) // 2
    a, b, c, d = *faces[:half].T, faces[half:, 2]
    other = np.concatenate([np.stack([a, b, d], 1), np.stack([b, c, d], 1)])
    one, two = measured(worn(base, (vertices, faces))), measured(worn(base, (vertices, other)))
    assert two.measures == pytest.approx(one.measures, rel=5e-3)


MARKS = {
    "tragion_left": [75.0, 0, 0], "tragion_right": [-75.0, 0, 0], "cheilion_left": [25.0, -85, -35],
    "cheilion_right": [-25.0, -85, -35], "alare_left": [18.0, -90, -10], "alare_right": [-18.0, -90, -10],
    "exocanthion_left": [45.0, -75, 25], "exocanthion_right": [-45.0, -75, 25], "sellion": [0.0, -95, 25],
    "endocanthion_left": [16.0, -85, 25], "endocanthion_right": [-16.0, -85, 25], "gnathion": [0.0, -80, -80],
}  # fmt: skip


def test_a_mirrored_design_swaps_left_and_right():
    base, (vertices, faces) = icosphere(5), dented_cap()
    to_cheek = np.array([[0.5, -0.75, -0.1], [0.8, 0.6, 0.0]])
    to_cheek[0] /= np.linalg.norm(to_cheek[0])
    to_cheek[1] -= to_cheek[0] * (to_cheek[1] @ to_cheek[0])
    to_cheek[1] /= np.linalg.norm(to_cheek[1])
    turn = np.stack([to_cheek[1], np.cross(to_cheek[0], to_cheek[1]), to_cheek[0]], axis=1)
    vertices = vertices @ turn.T
    left = measured(worn(base, (vertices, faces), landmarks=MARKS))
    mirror = np.array([-1.0, 1, 1])
    right = measured(worn((base[0] * mirror, base[1][:, ::-1]), (vertices * mirror, faces[:, ::-1]), landmarks=MARKS))
    assert left.findings[0].region == "left cheek"
    assert right.findings[0].region == "right cheek"
    assert right.measures == pytest.approx(left.measures, rel=1e-6)


def test_an_accepted_dip_no_longer_fails_and_keeps_its_reason():
    from dryfit.model.exceptions import WrittenException

    base, piece = icosphere(5), dented_cap()
    accepted = worn(base, piece, exceptions=(WrittenException("additive", "Piece", "", "a digital zone"),))
    result = measured(accepted)
    assert result.status == "pass"
    assert result.findings[0].exception == "a digital zone"


def test_a_fin_on_the_piece_is_said_and_the_rest_measured():
    base = sheet(120.0, 60)
    vertices, faces = sheet(60.0, 60, paraboloid(2.5, 20.0))
    fin = np.vstack([vertices, [0, 0, 9.0]])
    middle = len(vertices) // 2
    result = measured(worn(base, (fin, np.vstack([faces, [middle, middle + 1, len(vertices)]]))))
    assert any("not manifold" in finding.message for finding in result.findings)
    assert result.measures["max_depth_mm"] == pytest.approx(2.5, rel=0.01)


def test_without_an_appliance_it_is_not_checked():
    vertices, faces = icosphere(2)
    parts = (Part("Scan", "base", vertices, faces), Part("Teeth", "upper_teeth", vertices * 0.1, faces))
    result = measured(Snapshot("teeth only", parts=parts))
    assert result.status == "not_checked"
    assert "appliance" in result.reason


@pytest.mark.parametrize("lift_mm", [0.0, 0.01])
def test_a_copy_of_the_scan_is_no_appliance_that_passes(lift_mm):
    """A film that nobody could cast proves nothing by lying nowhere below the skin."""
    base = sheet()
    film = (base[0] + [0.0, 0.0, lift_mm], base[1])
    result = dryfit.check(worn(base, film), only=["additive"]).check("additive")
    assert result.status == "review" and "adds nothing" in result.findings[0].message


@pytest.mark.parametrize("angle_deg", [20.0, 40.0])
def test_the_share_of_the_face_under_a_cap_is_that_of_its_zone(angle_deg):
    """Before the ears and above a chin at z = -80: half of a zone 180 mm high; the cap takes 1 - cos a of a half sphere."""
    vertices, faces = cap(6, angle_deg, lambda arc_mm: 2.0 + 0.0 * arc_mm)[:2]
    turned = np.stack([vertices[:, 0], -vertices[:, 2], vertices[:, 1]], axis=1)
    shot = snapshot(icosphere(6), ("Cap", "appliance", (turned, faces), "silicone"), landmarks=marks())
    found = outcome(additive, shot)
    expected = 2.0 * np.pi * 1e4 * (1.0 - np.cos(np.radians(angle_deg))) / (np.pi * 100.0 * 180.0)
    assert found.measures["covered_face_share"] == pytest.approx(expected, rel=0.04)
    assert "covered_face_share" not in found.judged
