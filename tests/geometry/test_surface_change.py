"""How far two skins stand from each other, against closed forms and against another library's closest points."""

import numpy as np
import pytest
import trimesh

from dryfit.geometry import Surface
from dryfit.geometry.surface_change import stands_off_mm, surface_change
from shapes import icosphere, sheet

EXACT = 1e-9
FLAT = Surface(*sheet(100.0, 100))


def plateau(height_mm, half_mm=10.0):
    """A flat sheet with a square top of 2 * half_mm; its sides rise over one grid line's width, 1 mm."""
    return sheet(100.0, 100, lambda x, y: height_mm * (np.maximum(abs(x), abs(y)) <= half_mm + 1e-9))


def test_a_skin_against_itself_has_not_changed():
    change = surface_change(FLAT, Surface(*sheet(100.0, 100)))
    assert max(change.max_mm, change.mean_mm, change.percentile_mm(95)) < 1e-12
    assert change.newer.area_over_mm2(1e-6) == 0.0


@pytest.mark.parametrize("height_mm", [0.7, -0.7, 3.0])
def test_a_bump_of_known_height_is_found_with_its_sign_and_its_area(height_mm):
    change = surface_change(FLAT, Surface(*plateau(height_mm)))
    assert change.newer.highest_mm == pytest.approx(max(height_mm, 0.0), abs=EXACT)
    assert change.newer.lowest_mm == pytest.approx(min(height_mm, 0.0), abs=EXACT)
    assert change.max_mm == pytest.approx(abs(height_mm), abs=EXACT)
    assert (change.raised_mm > change.sunk_mm) == (height_mm > 0)
    # the top is 20 x 20; at half the height the sides add a ring half a millimetre wide, sloping by the height
    top = change.newer.area_over_mm2(abs(height_mm) - 1e-6)
    assert top == pytest.approx(400.0, rel=1e-3)
    ring = 4 * 20.0 * 0.5 * np.hypot(1.0, height_mm)
    assert change.newer.area_over_mm2(abs(height_mm) / 2) == pytest.approx(400.0 + ring, abs=4 * np.hypot(1, height_mm))


def test_swapping_the_two_turns_the_sign_and_nothing_else():
    bumpy = Surface(*plateau(2.0))
    there, back = surface_change(FLAT, bumpy), surface_change(bumpy, FLAT)
    assert (there.raised_mm, there.sunk_mm) == (back.sunk_mm, back.raised_mm)
    assert there.mean_mm == pytest.approx(back.mean_mm, abs=EXACT)


def test_a_shift_off_the_skin_is_that_far_everywhere():
    vertices, faces = sheet(100.0, 100)
    change = surface_change(FLAT, Surface(vertices + [0, 0, 0.35], faces))
    figures = change.max_mm, change.mean_mm, change.percentile_mm(5), change.percentile_mm(95), change.raised_mm
    assert figures == pytest.approx((0.35,) * 5, abs=EXACT)
    assert change.sunk_mm == 0.0
    assert change.newer.area_over_mm2(0.3) == pytest.approx(100.0**2)


def test_a_larger_sphere_stands_out_by_the_difference_of_the_radii():
    (small, faces), (large, other_faces) = icosphere(5, 100.0), icosphere(4, 101.5)
    change = surface_change(Surface(small, faces), Surface(large, other_faces))
    assert change.mean_mm == pytest.approx(1.5, abs=0.12)  # chord error of the coarser one: up to 0.18 mm
    assert change.sunk_mm == 0.0


def test_what_is_gone_shows_on_the_older_skin_only():
    spike = lambda x, y: np.maximum(30.0 - 30.0 * np.hypot(x, y) / 2.0, 0.0)  # noqa: E731
    change = surface_change(Surface(*sheet(100.0, 100, spike)), FLAT)
    assert abs(change.newer.lowest_mm) < 2.0
    assert change.older.lowest_mm == pytest.approx(-30.0, abs=EXACT)
    assert change.max_mm == pytest.approx(30.0, abs=EXACT)


def test_an_edge_that_reaches_further_over_the_same_skin_has_changed_by_its_height_only():
    ground = Surface(*sheet(200.0, 50))
    lifted = lambda width: (sheet(width, 60)[0] + [0, 0, 0.1], sheet(width, 60)[1])  # noqa: E731
    older, newer = Surface(*lifted(60.0)), Surface(*lifted(68.0))
    assert surface_change(older, newer).max_mm == pytest.approx(np.hypot(4.0, 4.0), abs=EXACT)
    assert surface_change(older, newer, ground).max_mm == pytest.approx(0.1, abs=EXACT)
    assert surface_change(older, newer, ground).raised_mm == pytest.approx(0.1, abs=EXACT)


def test_percentiles_are_shares_of_the_area_of_both():
    # 4 % of the sheet is raised by 0.5 mm: 96 % of the area of both stays at zero, give or take the sides
    change = surface_change(FLAT, Surface(*plateau(0.5)))
    assert change.percentile_mm(94.0) == 0.0
    assert change.percentile_mm(97.5) == pytest.approx(0.5, abs=EXACT)
    sides = 0.25 * 84.0 * 1.0  # a ring 1 mm wide about the top, a quarter of a millimetre off on average
    assert change.mean_mm == pytest.approx((0.5 * 400.0 + sides) / 100.0**2, rel=0.02)


def test_distances_agree_with_another_library():
    random = np.random.default_rng(3)
    vertices, faces = icosphere(3)
    blobs = [vertices * (1 + 0.05 * np.sin(vertices @ random.normal(size=3) / 20.0))[:, None] for _ in range(2)]
    one, other = (Surface(blob, faces) for blob in blobs)
    points = one.vertices_mm
    theirs = -trimesh.proximity.signed_distance(trimesh.Trimesh(blobs[1], faces, process=False), points)
    np.testing.assert_allclose(stands_off_mm(points, other), theirs, atol=1e-6)
    change = surface_change(one, other)
    np.testing.assert_allclose(change.older.at_vertices_mm, -theirs, atol=1e-6)


def test_finely_meshed_places_count_by_their_area_not_by_their_faces():
    (wide, wide_faces), (fine, fine_faces) = sheet(60.0, 12), sheet(10.0, 60)
    ground, ground_faces = sheet(20.0, 4)
    aside = np.array([200.0, 0, 0])
    older = Surface(np.concatenate([wide, ground + aside]), np.concatenate([wide_faces, ground_faces + len(wide)]))
    lifted = fine + aside + [0, 0, 1.0]
    newer = Surface(np.concatenate([wide, lifted]), np.concatenate([wide_faces, fine_faces + len(wide)]))
    change = surface_change(older, newer)
    # 100 of the newer skin's 3,700 mm2 is off by 1 mm, but two thirds of its faces
    assert change.percentile_mm(90.0) < 1e-9
    assert change.newer.area_over_mm2(0.5) == pytest.approx(100.0, abs=1e-6)
