"""Figures of the checks against scipy: turns, roots of equations, integrals, decompositions, shortest ways."""

import re
from dataclasses import replace

import numpy as np
import pytest
from citation import CheckValue, Kind, Seen, Source
from scipy.integrate import dblquad, quad
from scipy.linalg import svdvals
from scipy.optimize import brentq
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

import dryfit
from ball_lids import CENTRE, LOWER_DEG, OPEN_DEG, face, lower_lid, upper_lid
from dryfit.checks.casting import load
from dryfit.checks.closure.closure import CHECK as CLOSURE
from dryfit.checks.fit import base_lock, edge
from dryfit.geometry.surface import Surface
from dryfit.model.fingerprint import fingerprint
from dryfit.model.materials import MATERIALS
from dryfit.model.progress import drain
from dryfit.model.snapshot import Lock, Motion, Part, Snapshot
from dryfit.performer.fitting import Fitting
from head_marks import marks, outcome, snapshot
from mouth_shapes import axis_yz, box, hinge, mouth, peg
from plates import board
from shapes import cap, icosphere, sheet, worn

SOURCE = Source(
    "SciPy",
    Kind.LIBRARY,
    "Virtanen et al. 2020, SciPy 1.0: fundamental algorithms for scientific computing in Python, Nature Methods "
    "17:261-272, doi 10.1038/s41592-019-0686-2; version 1.11 or newer",
    (
        CheckValue("base_lock", "the turn that carries a moved base back: Rotation.align_vectors", Seen.RUN,
                   "test_a_base_that_moved_as_a_whole_moved_as_scipy_turns_it_back"),
        CheckValue("additive", "area and volume of a hollow below the tolerance: dblquad", Seen.RUN,
                   "test_a_hollow_has_the_area_and_volume_that_quadrature_gives"),
        CheckValue("closure", "the turn at which a tooth meets a plate: Rotation and brentq", Seen.RUN,
                   "test_a_tooth_meets_a_plate_where_the_root_of_its_way_lies"),
        CheckValue("strain", "principal stretches: singular values of the gradient", Seen.RUN,
                   "test_the_largest_stretch_is_the_largest_singular_value"),
        CheckValue("strain", "energy of a neo-Hookean film from its stress: quad", Seen.RUN,
                   "test_a_stretched_film_stores_the_integral_of_its_stress"),
        CheckValue("blink", "height between the margins of two lids: cKDTree", Seen.RUN,
                   "test_open_lids_are_as_far_apart_as_their_nearest_margins"),
        CheckValue("airway", "cosine-weighted share of sky that a plate leaves: dblquad", Seen.RUN,
                   "test_a_plate_takes_from_a_nostril_what_the_integral_over_it_gives"),
        CheckValue("load", "volume and centre of a wavy block: dblquad", Seen.RUN,
                   "test_a_wavy_block_weighs_its_integral"),
        CheckValue("edge", "distance inward: shortest way through dense points of the skin", Seen.RUN,
                   "test_the_blend_is_as_wide_as_the_shortest_way_to_the_rim"),
    ),
)  # fmt: skip


def test_a_base_that_moved_as_a_whole_moved_as_scipy_turns_it_back():
    vertices, faces = icosphere(4)
    lock = Lock(fingerprint(vertices, faces), np.round(vertices, 3))
    moved = Rotation.from_rotvec([0.01, -0.02, 0.03]).apply(vertices) + [1.0, 2.0, -2.0]
    shot = snapshot((moved, faces), ("Cap", "appliance", cap(4)[:2], "silicone"), landmarks=marks(), lock=lock)
    (finding,) = outcome(base_lock, shot).findings
    middle = vertices.mean(axis=0), moved.mean(axis=0)
    turn, _ = Rotation.align_vectors(moved - middle[1], vertices - middle[0])
    told = re.search(r"moved by ([\d.]+) mm and turned by ([\d.]+) degrees", finding.message)
    assert told
    assert float(told[2]) == pytest.approx(np.degrees(turn.magnitude()), abs=0.006)
    assert float(told[1]) == pytest.approx(np.linalg.norm(middle[1] - middle[0]), abs=0.006)


def test_a_hollow_has_the_area_and_volume_that_quadrature_gives():
    """A smooth hollow under a flat base, integrated where it is deeper than the tolerance, 0.2 mm."""
    height = lambda x, y: 1.5 - 4.0 * np.exp(-(x**2 / 200.0 + y**2 / 90.0))  # noqa: E731
    measures = dryfit.check(worn(sheet(120.0, 60), sheet(60.0, 240, height)), only=["additive"]).check("additive")
    side = lambda x: np.sqrt(max(90.0 * (np.log(4.0 / 1.7) - x**2 / 200.0), 0.0))  # noqa: E731
    reach = np.sqrt(200.0 * np.log(4.0 / 1.7))

    def steep(y, x):
        fall = 4.0 * np.exp(-(x**2 / 200.0 + y**2 / 90.0))
        return np.sqrt(1.0 + (fall * x / 100.0) ** 2 + (fall * y / 45.0) ** 2)

    within = (-reach, reach, lambda x: -side(x), side)
    assert measures.measures["subtractive_area_mm2"] == pytest.approx(dblquad(steep, *within)[0], rel=5e-3)
    volume, _ = dblquad(lambda y, x: -height(x, y), *within)
    assert measures.measures["removed_volume_mm3"] == pytest.approx(volume, rel=5e-3)


def test_a_tooth_meets_a_plate_where_the_root_of_its_way_lies():
    """The lower tooth turns with the jaw; the turn at which its tip is as high as the plate is found by root."""
    open_deg, plate_y, tip_y = 25.0, 8.0, 15.5
    tip = np.array([0.0, tip_y, 80.0])
    spike = peg([10, -12, 80.0], [10, tip_y, 80.0])
    lower = Part("Lower", "lower_teeth", *spike, areas={"dryfit_tooth_33": np.ones(len(spike[0]))})
    upper = Part("Upper", "upper_teeth", *box([-20, plate_y, 60], [20, plate_y + 1.0, 95]))
    brief = hinge(open_deg)
    found = drain(CLOSURE.measure(Fitting(mouth(lower, upper), brief), brief)).measures
    axis = np.array([0.0, *axis_yz()])
    height = lambda turn: Rotation.from_rotvec([np.radians(turn), 0, 0]).apply(tip - axis)[1] + axis[1]  # noqa: E731
    root = brentq(lambda turn: height(turn) - plate_y, 0.0, open_deg)
    assert found["contact_angle_deg"] == pytest.approx(root, abs=0.01)


def stretched(move, material="silicone", thick_mm=0.5):
    """A square piece on a flat base that a motion moves."""
    base, faces = sheet(120.0, 48)
    piece, piece_faces = sheet(40.0, 20, lambda x, y: thick_mm + 0 * x)
    moved = Motion("smile", [0.0, 1.0], {"Scan": np.stack([base, move(base)])})
    parts = (Part("Scan", "base", base, faces), Part("Piece", "appliance", piece, piece_faces, material))
    return dryfit.check(Snapshot("sheet", parts=parts, motions={"smile": moved}), only=["strain"]).check("strain")


def test_the_largest_stretch_is_the_largest_singular_value():
    gradient = np.array([[1.2, 0.35, 0.0], [-0.1, 0.9, 0.0], [0.05, 0.1, 1.0]])
    found = stretched(lambda points: points @ gradient.T).measures
    largest, smallest = svdvals(gradient[:, :2])
    assert found["max_stretch"] == pytest.approx(largest, rel=1e-6)
    assert found["min_stretch"] == pytest.approx(smallest, rel=1e-6)


def test_a_stretched_film_stores_the_integral_of_its_stress():
    """Pure shear of a neo-Hookean sheet: nominal stress E / 3 (a - 1 / a3)."""
    kpa = MATERIALS["silicone"].stiffness_kpa
    stored, _ = quad(lambda a: kpa / 3.0 * (a - a**-3), 1.0, 1.45)
    found = stretched(lambda points: points * [1.45, 1.0, 1.0], thick_mm=1.2)
    assert found.measures["glue_line_j_m2"] == pytest.approx(1.2 * stored, rel=1e-4)


def test_open_lids_are_as_far_apart_as_their_nearest_margins():
    """The lowest of the upper lid and the highest of the lower one, column by column: heights of nearest pairs."""
    above, below = upper_lid(OPEN_DEG)[0], lower_lid()[0]
    upper, lower = above[risen(above, OPEN_DEG)], below[risen(below, LOWER_DEG)]
    lower = lower[np.linalg.norm(lower - CENTRE, axis=1) < 12.7]
    middle = np.abs(upper[:, 0] - CENTRE[0]) < 2.0
    _, row = cKDTree(lower[:, [0]]).query(upper[middle][:, [0]])
    apart = (upper[middle][:, 2] - lower[row][:, 2]).max()
    measures = dryfit.check(face(), only=["blink"]).check("blink").measures
    assert measures["open_gap_mm_left"] == pytest.approx(apart, abs=0.06)


def risen(lid, rise_deg):
    """Vertices of a lid that stand at a rise over the eye's middle, (n,) bool."""
    away = lid - CENTRE
    return np.abs(np.degrees(np.arcsin(away[:, 2] / np.linalg.norm(away, axis=1))) - rise_deg) < 1e-6


def opening(radius_mm=6.0, around=180):
    """A flat nose with a round nostril marked in it, looking up."""
    radii = np.array([2.0, 4.0, 5.0, radius_mm, 7.0, 10.0, 20.0, 60.0])
    angle = np.arange(around) * 2 * np.pi / around
    rim = np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    vertices = np.concatenate([[[0.0, 0, 0]], *(radius * rim for radius in radii)])
    here, after = np.arange(around), (np.arange(around) + 1) % around
    faces = [np.stack([0 * here, here + 1, after + 1], 1)]
    for ring in range(len(radii) - 1):
        a, b = 1 + ring * around, 1 + (ring + 1) * around
        faces += [np.stack([a + here, b + here, b + after], 1), np.stack([a + here, b + after, a + after], 1)]
    inside = (np.hypot(*vertices[:, :2].T) <= radius_mm + 1e-9).astype(float)
    return Part("Scan", "base", vertices, np.concatenate(faces), areas={"dryfit_nostril_left": inside})


def test_a_plate_takes_from_a_nostril_what_the_integral_over_it_gives():
    """A square plate off the middle: cos cos / (pi r2) over the plate, averaged over points of the opening."""
    low, high, off = np.array([1.0, -4.0]), np.array([9.0, 4.0]), 5.0
    plate = Part("Plate", "hardware", *board([*low, off], [*high, off]))
    found = dryfit.check(Snapshot("nose", parts=(opening(), plate)), only=["airway"]).check("airway").measures
    ways = np.random.default_rng(3).uniform(-6, 6, (120, 2))
    ways = ways[np.hypot(*ways.T) < 6.0]
    rise = off - 0.05
    taken = [
        dblquad(lambda y, x, px=px, py=py: rise**2 / np.pi / ((x - px) ** 2 + (y - py) ** 2 + rise**2) ** 2,
                low[0], high[0], low[1], high[1], epsabs=1e-5)[0]
        for px, py in ways
    ]  # fmt: skip
    assert found["nostril_open_fraction_left"] == pytest.approx(1 - np.mean(taken), abs=0.02)


def test_a_wavy_block_weighs_its_integral():
    top = lambda x, y: 8.0 + 2.0 * np.sin(x / 7.0) * np.cos(y / 5.0) + 0.05 * x  # noqa: E731
    block = sheet(60.0, 240, top)
    found = outcome(load, snapshot(sheet(200.0, 40), ("Slab", "appliance", block, "silicone"), landmarks=marks()))
    volume, _ = dblquad(lambda y, x: top(x, y), -30.0, 30.0, -30.0, 30.0)
    moment, _ = dblquad(lambda y, x: x * top(x, y), -30.0, 30.0, -30.0, 30.0)
    assert found.measures["volume_mm3"] == pytest.approx(volume, rel=1e-3)
    assert found.measures["mass_g"] == pytest.approx(volume / 1000 * MATERIALS["silicone"].density_g_cm3, rel=1e-3)
    assert found.measures["centre_left_mm"] == pytest.approx(moment / volume, abs=0.02)


def test_the_blend_is_as_wide_as_the_shortest_way_to_the_rim():
    """Ways along a bumpy skin by Dijkstra over points 0.35 mm apart, each joined to all within four times that."""
    bump = lambda x, y: np.sin(x / 6.0) * np.sin(y / 6.0) * 3.0  # noqa: E731
    rise = lambda x, y: 0.14 * (30.0 - np.maximum(abs(x), abs(y)))  # noqa: E731
    piece = sheet(60.0, 60, lambda x, y: bump(x, y) + rise(x, y))
    base = sheet(120.0, 240, bump)
    blend = outcome_of_edge(base, piece)
    line = np.arange(-30.0, 30.001, 0.4)
    x, y = (grid.ravel() for grid in np.meshgrid(line, line, indexing="ij"))
    points = np.stack([x, y, bump(x, y) + rise(x, y)], axis=1)
    ways = cKDTree(points).sparse_distance_matrix(cKDTree(points), 1.7, output_type="coo_matrix").tocsr()
    rim = np.flatnonzero(np.maximum(abs(x), abs(y)) > 29.99)
    far = dijkstra(ways, indices=rim, min_only=True)
    thick = Surface(*base).clearance_mm(points)
    level = np.abs(thick - 1.0) < 0.03
    assert level.sum() > 100
    assert blend == pytest.approx(np.median(far[level]), rel=0.04)


def outcome_of_edge(base, piece):
    shot = replace(worn(base, piece), landmarks={})
    return outcome(edge, shot).measures["blend_width_median_mm"]
