"""The edge check against rims with known length, thickness and growth."""

import numpy as np
import pytest

import dryfit
from dryfit.model.snapshot import Part, Snapshot
from shapes import RADIUS_MM, cap, icosphere, sheet, slab, worn

BASE = sheet(120.0, 60)


def measured(snapshot):
    return dryfit.check(snapshot, only=["edge"]).check("edge")


def from_rim(x, y, half_mm=30.0):
    """Distance from the border of a square of half width 30 mm."""
    return half_mm - np.maximum(abs(x), abs(y))


def test_a_wedge_grows_as_it_was_built():
    """Thickness is 0.1 mm for each mm from the rim: the blend to 1 mm is 10 mm wide, the rim 240 mm long."""
    result = measured(worn(BASE, sheet(60.0, 60, lambda x, y: 0.1 * from_rim(x, y))))
    assert result.status == "pass"
    assert result.measures["rim_length_mm"] == pytest.approx(240.0)
    assert result.measures["rim_thickness_median_mm"] == pytest.approx(0.0, abs=1e-6)
    assert result.measures["blend_width_median_mm"] == pytest.approx(10.0, rel=0.02)
    growth = result.curves["thickness_by_distance"]
    for distance, thickness in zip(growth.x, growth.y, strict=True):
        if 1.0 <= distance <= 20.0:
            assert thickness == pytest.approx(0.1 * distance, abs=0.06)
    assert "mm" in growth.x_label and "mm" in growth.y_label


def test_a_floating_rim_is_as_thick_as_it_floats():
    result = measured(worn(BASE, sheet(60.0, 60, lambda x, y: 0.8 + 0.1 * from_rim(x, y))))
    assert result.status == "fail"
    assert result.measures["rim_thickness_median_mm"] == pytest.approx(0.8, abs=1e-6)
    assert result.measures["rim_over_limit_mm"] == pytest.approx(240.0)
    assert result.measures["rim_over_limit_fraction"] == pytest.approx(1.0)
    finding = result.findings[0]
    assert finding.value == pytest.approx(0.8)
    assert "240 mm" in finding.message and "0.3 mm" in finding.message


def test_a_closed_shell_with_a_cut_edge_is_as_thick_as_its_wall():
    vertices, faces = sheet(60.0, 60)
    thickness = 1.2 + 0.05 * from_rim(*vertices[:, :2].T)
    result = measured(worn(BASE, slab(vertices, faces, thickness)))
    assert result.measures["rim_length_mm"] == pytest.approx(240.0)
    assert result.measures["rim_thickness_median_mm"] == pytest.approx(1.2, abs=1e-6)
    assert result.measures["rim_over_limit_mm"] == pytest.approx(240.0)


def test_an_open_skin_with_a_skirt_is_as_thick_as_the_skirt():
    vertices, faces = sheet(60.0, 60)
    shell_vertices, shell_faces = slab(vertices, faces, 1.2 + 0.05 * from_rim(*vertices[:, :2].T))
    skirted = np.concatenate([shell_faces[: len(faces)], shell_faces[2 * len(faces) :]])
    result = measured(worn(BASE, (shell_vertices, skirted)))
    assert result.measures["rim_thickness_median_mm"] == pytest.approx(1.2, abs=1e-6)
    assert result.status == "fail"


def test_a_thick_stretch_is_listed_with_its_length_and_place():
    thick = lambda x, y: 0.6 * ((y > 29.9) & (abs(x) < 10.5)) + 0.1 * from_rim(x, y)  # noqa: E731
    result = measured(worn(BASE, sheet(60.0, 60, thick)))
    (finding,) = [finding for finding in result.findings if finding.severity == "fail"]
    ramps = 2 * (1 - 0.3 / 0.6)
    assert result.measures["rim_over_limit_mm"] == pytest.approx(20.0 + ramps, abs=1.0)
    assert finding.value == pytest.approx(0.6, abs=0.02)
    assert finding.at_mm[1] == pytest.approx(30.0)
    assert abs(finding.at_mm[0]) <= 10.5
    assert result.measures["rim_over_limit_fraction"] == pytest.approx(21.0 / 240.0, abs=0.005)


def full_head(profile, level=6):
    vertices, faces = icosphere(level)
    polar = np.arccos(np.clip(vertices[:, 2] / RADIUS_MM, -1, 1))
    arc_mm = (np.radians(30) - polar) * RADIUS_MM
    return (vertices, faces), (vertices * (1 + np.where(arc_mm > 0, profile(arc_mm), 0) / RADIUS_MM)[:, None], faces)


def test_a_full_head_sculpt_has_its_rim_where_it_leaves_the_base():
    base, sculpt = full_head(lambda arc_mm: np.clip(0.1 * arc_mm, 0, 3))
    result = measured(worn(base, sculpt))
    circle_mm = 2 * np.pi * RADIUS_MM * np.sin(np.radians(30))
    assert result.status == "pass"
    assert result.measures["rim_length_mm"] == pytest.approx(circle_mm, rel=0.15)
    assert result.measures["rim_thickness_p95_mm"] < 0.15
    assert result.measures["blend_width_median_mm"] == pytest.approx(10.0, rel=0.12)


def test_a_full_head_sculpt_with_a_step_fails():
    base, sculpt = full_head(lambda arc_mm: np.clip(1.2 + 0.05 * arc_mm, 0, 3))
    result = measured(worn(base, sculpt))
    assert result.status == "fail"
    assert any("rises to 1 mm" in finding.message for finding in result.findings)


def test_a_rim_lying_on_another_appliance_is_measured_from_that_appliance():
    lower = slab(*sheet(60.0, 60), np.full(61 * 61, 3.0))
    upper = sheet(20.0, 40, lambda x, y: 3.0 + 0.1 * from_rim(x, y, 10.0))
    parts = (
        Part("Scan", "base", *BASE),
        Part("Under", "appliance", *lower),
        Part("Over", "appliance", *upper),
    )
    result = measured(Snapshot("two", parts=parts))
    assert not [f for f in result.findings if f.object == "Over" and f.severity == "fail"]
    assert [f for f in result.findings if f.object == "Under" and f.severity == "fail"]


def test_holes_are_rims_too():
    vertices, faces = sheet(60.0, 60, lambda x, y: 0.1 + 0 * x)
    centre = vertices[faces].mean(axis=1)
    kept = faces[(np.abs(centre[:, :2]) > 5.0).any(axis=1)]
    result = measured(worn(BASE, (vertices, kept)))
    assert result.measures["rim_length_mm"] == pytest.approx(240.0 + 40.0)


def test_rigid_motion_and_vertex_order_change_nothing():
    base = icosphere(5)
    piece = cap(5, 30.0, lambda arc_mm: 0.4 + 0.1 * arc_mm)[:2]
    still = measured(worn(base, piece))
    turn = np.array([[0.6, -0.8, 0], [0.8, 0.6, 0], [0, 0, 1]]) @ np.array(
        [[1, 0, 0], [0, 0.28, -0.96], [0, 0.96, 0.28]]
    )
    moved = measured(worn((base[0] @ turn.T + 70.0, base[1]), (piece[0] @ turn.T + 70.0, piece[1])))
    order = np.random.default_rng(1).permutation(len(piece[0]))
    shuffled = measured(worn(base, (piece[0][order], np.argsort(order)[piece[1]])))
    for other in (moved, shuffled):
        assert other.measures == pytest.approx(still.measures, rel=2e-3, abs=1e-6)


def test_a_piece_without_a_rim_is_not_checked():
    vertices, faces = icosphere(4)
    result = measured(worn((vertices, faces), (vertices * 1.02, faces)))
    assert result.status == "not_checked"
    assert "rim" in result.reason
