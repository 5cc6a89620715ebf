"""Small things of geometry against their own formulas: tips of paraboloids, films, rows, walls, shared space."""

import numpy as np
import pytest

import shapes
from dryfit.geometry import Surface
from dryfit.geometry.coarse import coarse_surface
from dryfit.geometry.film import stored_j_m2
from dryfit.geometry.overlap import between, inside_closed, shared_bulk
from dryfit.geometry.patches import patches_below, sample_near_level
from dryfit.geometry.rows import cross_rows, dot_rows, unit_rows
from dryfit.geometry.turning_point import LEAST_POINTS, turning_point
from dryfit.geometry.wall import facet_walls_mm, fine_facets, solid_of

UP = np.array([0.0, 0.0, 1.0])
RANDOM = np.random.default_rng(4)


def paraboloid(tip, bend_x, bend_y, steps=21):
    line = np.linspace(-6.0, 6.0, steps)
    x, y = (grid.ravel() for grid in np.meshgrid(line, line))
    return np.column_stack([x, y, tip[2] - 0.5 * bend_x * (x - tip[0]) ** 2 - 0.5 * bend_y * (y - tip[1]) ** 2])


@pytest.mark.parametrize("tip", [(0.0, 0.0, 0.0), (1.0, -0.5, 3.0)])
@pytest.mark.parametrize(("bend_x", "bend_y"), [(0.05, 0.08), (-0.05, -0.08), (0.06, -0.06)])
def test_a_tip_a_hollow_or_a_saddle_is_found_where_it_is(tip, bend_x, bend_y):
    points = paraboloid(tip, bend_x, bend_y)
    assert turning_point(points, np.array([0.0, 0.0, tip[2]]), UP, 5.0) == pytest.approx(tip, abs=1e-6)


def test_what_turns_out_of_reach_or_is_hardly_seen_has_no_turning_point():
    far = paraboloid((4.5, 0.0, 0.0), 0.05, 0.05)
    assert turning_point(far, np.zeros(3), UP, 5.0) is None
    assert turning_point(far, np.zeros(3), UP, 6.5) is not None
    few = paraboloid((0.0, 0.0, 0.0), 0.05, 0.05)[: LEAST_POINTS - 1]
    assert turning_point(few, few.mean(axis=0), UP, 50.0) is None


@pytest.mark.parametrize(
    ("largest", "smallest", "density"),
    [(1.0, 1.0, 0.0), (2.0, 2.0, 4 + 4 + 1 / 16 - 3), (1.5, 1.0, 2.25 + 1 + 1 / 2.25 - 3),
     (1.5, 0.1, 2.25 + 1 / 1.5 + 1 / 1.5 - 3), (0.8, 0.5, 0.0)],
)  # fmt: skip
def test_a_film_stores_what_a_rubber_sheet_does(largest, smallest, density):
    """E h / 6 (a2 + b2 + 1/(a2 b2) - 3); narrowed further than a free strip (b = a^-1/2) it folds and stores no more."""
    stored = stored_j_m2(np.array([12.0]), np.array([largest]), np.array([smallest]))
    assert stored == pytest.approx(12.0 / 6.0 * density, abs=1e-12)
    assert np.isnan(stored_j_m2(np.array([12.0]), np.array([np.nan]), np.array([1.0]))).all()


def test_rows_are_multiplied_as_numpy_multiplies_them():
    one, other = RANDOM.normal(size=(2, 7, 3))
    np.testing.assert_allclose(dot_rows(one, other), (one * other).sum(axis=1))
    np.testing.assert_allclose(cross_rows(one, other), np.cross(one, other))
    np.testing.assert_allclose(cross_rows(one, UP), np.cross(one, UP))
    rows = unit_rows(np.vstack([one, np.zeros((1, 3))]))
    np.testing.assert_allclose(rows[:-1], one / np.linalg.norm(one, axis=1)[:, None])
    assert (rows[-1] == 0.0).all()


@pytest.mark.parametrize("cell_mm", [6.0, 12.0])
def test_a_coarser_ball_is_still_that_ball(cell_mm):
    ball = Surface(*shapes.icosphere(4))
    coarse = coarse_surface(ball, cell_mm)
    assert len(coarse.faces) < len(ball.faces)
    far_mm = np.abs(np.linalg.norm(coarse.vertices_mm, axis=1) - shapes.RADIUS_MM)
    assert far_mm.max() < cell_mm / 2.0
    corners = coarse.vertices_mm[coarse.faces]
    volume = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6.0
    assert volume == pytest.approx(4 / 3 * np.pi * shapes.RADIUS_MM**3, rel=0.05), "facing outward"
    small = Surface(*shapes.icosphere(1))
    assert coarse_surface(small, 50.0) is small


def test_facets_are_about_as_long_as_asked():
    """Edges of 4.4 mm are cut in four (1.1 mm), of 4.6 in five, and never in more than eight."""
    for edge_mm, parts in ((0.9, 1), (1.4, 1), (1.6, 2), (4.4, 4), (4.6, 5), (50.0, 8)):
        triangle = edge_mm * np.array([[[0.0, 0, 0], [1.0, 0, 0], [0.5, 3**0.5 / 2, 0]]])
        assert len(fine_facets(triangle).face) == parts**2


@pytest.mark.parametrize("thick_mm", [0.5, 3.0])
def test_a_shells_wall_is_the_difference_of_its_radii(thick_mm):
    outer, faces = shapes.icosphere(4, 20.0)
    inner = outer * (1.0 - thick_mm / 20.0)
    shell = solid_of(np.concatenate([outer, inner]), np.concatenate([faces, faces[:, ::-1] + len(outer)]))
    walls = facet_walls_mm(fine_facets(shell.triangles_mm, 10.0), shell)
    assert np.nanmedian(walls[np.isfinite(walls)]) == pytest.approx(thick_mm, rel=0.02)


def test_two_balls_share_a_lens():
    """pi (4 r + d) (2 r - d)2 / 12, its middle half way."""
    vertices, faces = shapes.icosphere(4, 10.0)
    balls = [solid_of(vertices + [shift, 0.0, 0.0], faces) for shift in (0.0, 12.0)]
    shared = shared_bulk(
        *(inside_closed(ball) for ball in balls), np.array([2.0, -8.0, -8.0]), np.array([10.0, 8.0, 8.0])
    )
    assert shared.volume_mm3 == pytest.approx(np.pi * (40 + 12) * (20 - 12) ** 2 / 12, rel=0.02)
    np.testing.assert_allclose(shared.centre_mm, [6.0, 0.0, 0.0], atol=0.1)
    apart = shared_bulk(*(inside_closed(ball) for ball in balls), np.array([2.0, 8.0, 8.0]), np.array([10.0, 9.0, 9.0]))
    assert apart.volume_mm3 == 0.0


def test_between_a_face_and_a_skin_over_it_is_what_is_over_the_one_and_under_the_other():
    base, skin = Surface(*shapes.sheet(40.0, 8)), Surface(*shapes.sheet(20.0, 4, lambda x, y: 5.0))
    test = between(base, skin)
    places = np.array([[0.0, 0, 2], [0, 0, 4.9], [0, 0, 5.1], [0, 0, -1], [9, 9, 1], [11, 0, 1]])
    assert test(places).tolist() == [True, True, False, False, True, False]


def sampled(height, level_mm=0.0, width_mm=20.0, steps=4):
    vertices, faces = shapes.sheet(width_mm, steps, height)
    base = Surface(*shapes.sheet(60.0, 6))
    clearance_mm, foot_mm = base.clearance_mm(vertices), base.closest(vertices).point
    return sample_near_level(vertices, faces, clearance_mm, foot_mm, base, level_mm), faces


@pytest.mark.parametrize(("high_mm", "parts"), [(10.0, 1), (0.5, 8)])
def test_faces_are_cut_where_they_could_dip_below_a_level_and_left_whole_elsewhere(high_mm, parts):
    """Triangles 5 by 5 mm: their long edge, 7.1 mm, is cut in eight."""
    skin, faces = sampled(lambda x, y: high_mm)
    assert len(skin.facets.face) == len(faces) * parts**2
    np.testing.assert_allclose(skin.clearance_mm, high_mm)


def test_faces_that_are_fine_already_are_not_cut():
    skin, faces = sampled(lambda x, y: 0.1, width_mm=10.0, steps=20)
    assert len(skin.facets.face) == len(faces)


def test_a_slanting_plate_dips_below_the_base_by_a_wedge():
    """Half of 20 by 20 mm falling 1 mm: 100 mm3, its deepest at the edge."""
    skin, faces = sampled(lambda x, y: 0.1 * x)
    (patch,) = patches_below(skin, faces, 0.0)
    assert patch.area_mm2 == pytest.approx(200.0 * np.sqrt(1.01), rel=1e-6)
    assert (patch.depth_mm, patch.volume_mm3) == pytest.approx((1.0, 100.0), rel=1e-6)
    assert patch.deepest_mm[0] == pytest.approx(-10.0)
    assert len(patch.faces) == len(faces) // 2
    level, _ = sampled(lambda x, y: 0.1 * x, -0.5)
    (less,) = patches_below(level, faces, -0.5)
    assert less.area_mm2 == pytest.approx(100.0 * np.sqrt(1.01), rel=1e-6)


def test_of_two_dips_the_deepest_stands_first():
    skin, faces = sampled(lambda x, y: 1.0 - 0.15 * np.abs(x) - 0.02 * x, steps=8)
    first, second = patches_below(skin, faces, 0.0)
    assert first.deepest_mm[0] == pytest.approx(10.0) and first.depth_mm == pytest.approx(0.7)
    assert second.deepest_mm[0] == pytest.approx(-10.0) and second.depth_mm == pytest.approx(0.3)
