"""Figures of the checks against trimesh, which shares no code with the project.

The figures are of lumpy shapes for which nobody knows a formula.
"""

import numpy as np
import pytest
import trimesh
from citation import CheckValue, Kind, Seen, Source

import dryfit
from ball_lids import CENTRE, face
from dryfit.checks.casting import load, release, thickness
from dryfit.checks.fit import base_lock, edge
from dryfit.checks.interference.interference import CHECK as INTERFERENCE
from dryfit.checks.teeth.coverage import CHECK as COVERAGE
from dryfit.geometry import Surface
from dryfit.model.brief import Brief, Views
from dryfit.model.fingerprint import fingerprint
from dryfit.model.materials import MATERIALS
from dryfit.model.progress import drain
from dryfit.model.snapshot import Lock, Part, Snapshot
from dryfit.performer.fitting import Fitting
from head_marks import marks, outcome, snapshot
from meeting_shapes import moving
from mouth_shapes import FRONT, joined, landmarks
from mouth_shapes import box as corner_box
from plates import ENTRANCE_MM, facing
from shapes import cap, icosphere, open_edges, sheet, slab, torus, worn

pytest.importorskip("rtree", reason="rtree is not installed")

SOURCE = Source(
    "trimesh",
    Kind.LIBRARY,
    "Dawson-Haggerty et al., trimesh, https://trimesh.org, version 4.4 or newer: proximity, rays, outlines, mass "
    "properties",
    (
        CheckValue("additive", "distance and side of points about a sphere and a torus", Seen.RUN,
                   "test_distance_and_sign_agree"),
        CheckValue("additive", "a sphere of 50 mm in one of 51 mm: 1.000 mm everywhere", Seen.RUN,
                   "test_concentric_spheres_stand_a_millimetre_apart"),
        CheckValue("additive", "deepest point of a piece below a lumpy head: signed_distance", Seen.RUN,
                   "test_a_piece_goes_as_deep_below_a_lumpy_head_as_trimesh_finds"),
        CheckValue("base_lock", "furthest that locked points lie off another mesh: closest_point", Seen.RUN,
                   "test_another_mesh_lies_as_far_off_the_lock_as_trimesh_finds"),
        CheckValue("edge", "length of a ragged rim: outline", Seen.RUN,
                   "test_a_rim_is_as_long_and_as_thick_as_trimesh_finds"),
        CheckValue("edge", "height of a rim over the base: closest_point", Seen.RUN,
                   "test_a_rim_is_as_long_and_as_thick_as_trimesh_finds"),
        CheckValue("thickness", "least wall of a lumpy shell: distance to its own inner face", Seen.RUN,
                   "test_a_lumpy_shell_is_as_thin_as_trimesh_finds"),
        CheckValue("coverage", "area of a lumpy tooth seen past lips: even samples and rays", Seen.RUN,
                   "test_a_lumpy_tooth_shows_as_much_as_rays_of_trimesh_reach"),
        CheckValue("interference", "depth of a ball in a lumpy body: signed_distance", Seen.RUN,
                   "test_a_ball_sinks_as_deep_into_a_lumpy_body_as_trimesh_finds"),
        CheckValue("interference", "where on its way a ball first touches: signed_distance, halved", Seen.RUN,
                   "test_a_ball_sinks_as_deep_into_a_lumpy_body_as_trimesh_finds"),
        CheckValue("blink", "height over which the eyeball is seen between lids: rays", Seen.RUN,
                   "test_lids_are_as_far_open_as_rays_of_trimesh_see_the_eye"),
        CheckValue("sightline", "share of the sky that lumpy hardware leaves an eye: rays", Seen.RUN,
                   "test_an_eye_sees_past_lumpy_hardware_what_rays_of_trimesh_do"),
        CheckValue("load", "volume and centre of mass of a lumpy body", Seen.RUN,
                   "test_a_lumpy_body_weighs_and_pulls_as_trimesh_has_it"),
        CheckValue("load", "volume of the demonstration's bronze studs", Seen.RUN,
                   "tests/checks/test_built_demo.py::"
                   "test_bronze_weighs_its_volume_by_another_library_times_the_handbook_density"),
        CheckValue("release", "area that looks away from the pull or lies behind the piece: rays", Seen.RUN,
                   "test_a_lumpy_dome_is_held_where_rays_of_trimesh_find_it_held"),
    ),
)  # fmt: skip


def lumpy(radius_mm, level=5, share=0.04, waves=(5.0, 7.0, 4.0), phase=0.0):
    """A closed body with lumps all over."""
    vertices, faces = icosphere(level, 1.0)
    lumps = sum(np.sin(wave * vertices[:, axis] + phase + axis) for axis, wave in enumerate(waves))
    return radius_mm * vertices * (1 + share * lumps)[:, None], faces


def theirs(mesh):
    return trimesh.Trimesh(*mesh, process=False)


def below(mesh, points):
    """Depth of points inside a closed mesh, negative outside, (k,)."""
    return trimesh.proximity.signed_distance(theirs(mesh), points)


def off(mesh, points):
    return trimesh.proximity.closest_point(theirs(mesh), points)[1]


@pytest.mark.parametrize("shape", [icosphere(3, 80.0), torus(60.0, 20.0, 48, 24)], ids=["sphere", "torus"])
def test_distance_and_sign_agree(shape):
    vertices, faces = shape
    points = np.random.default_rng(5).uniform(-110, 110, (1500, 3))
    oracle = trimesh.Trimesh(vertices, faces, process=False)
    _, distance_mm, _ = trimesh.proximity.closest_point(oracle, points)
    outside = np.where(oracle.contains(points), -1.0, 1.0)
    clearance_mm = Surface(vertices, faces).clearance_mm(points)
    np.testing.assert_allclose(np.abs(clearance_mm), distance_mm, atol=1e-9)
    assert (np.sign(clearance_mm) == outside)[distance_mm > 1e-9].all()


def test_concentric_spheres_stand_a_millimetre_apart():
    """Sphere r = 50 in a sphere r = 51: +1.000 everywhere; the mesh's chord error is bounded by the closed form.

    Chord error of a circle of n chords is r (1 - cos(pi / n)): 0.060 mm for r = 50, n = 64 (elementary geometry).
    """
    assert 50 * (1 - np.cos(np.pi / 64)) == pytest.approx(0.060, abs=5e-4)
    vertices, faces = icosphere(5, 50.0)
    outer = icosphere(6, 51.0)[0]
    clearance_mm = Surface(vertices, faces).clearance_mm(outer)
    edges = 2 * np.pi / (np.linalg.norm(vertices[faces[:, 0]] - vertices[faces[:, 1]], axis=1).max() / 50)
    chord_mm = 50 * (1 - np.cos(np.pi / edges)) * 4 / 3
    assert clearance_mm.min() >= 1.0 - 1e-9
    assert clearance_mm.max() <= 1.0 + chord_mm
    assert np.sqrt((clearance_mm**2).mean()) == pytest.approx(1.0, abs=0.02)


def test_a_piece_goes_as_deep_below_a_lumpy_head_as_trimesh_finds():
    head = lumpy(100.0)
    vertices, faces, polar = cap(6, 25.0, lambda arc: 0 * arc)
    skin = off_head(head, vertices)
    piece = skin * (1 + (1.0 - 4.0 * np.exp(-((polar / 0.15) ** 2)))[:, None] / 100.0), faces
    found = dryfit.check(worn(head, piece), only=["additive"]).check("additive").measures
    middle = faces[(polar[faces] < 0.05).all(axis=1)]
    points, rows = trimesh.remesh.subdivide(*trimesh.remesh.subdivide(piece[0], middle))
    assert found["max_depth_mm"] == pytest.approx(below(head, points[np.unique(rows)]).max(), rel=2e-3)
    assert found["max_thickness_mm"] == pytest.approx(-below(head, piece[0]).min(), rel=5e-3)


def off_head(head, directions):
    """Points of a star-shaped head straight out along directions."""
    along = directions / np.linalg.norm(directions, axis=1, keepdims=True)
    at, row, _ = theirs(head).ray.intersects_location(np.zeros_like(along), along, multiple_hits=False)
    points = np.zeros_like(along)
    points[row] = at
    return points


def test_another_mesh_lies_as_far_off_the_lock_as_trimesh_finds():
    head, finer = lumpy(100.0, 4), lumpy(100.0, 5, phase=0.05)
    lock = Lock(fingerprint(*head), np.round(head[0], 3))
    piece = ("Cap", "appliance", cap(4)[:2], "silicone")
    found = outcome(base_lock, snapshot(finer, piece, landmarks=marks(), lock=lock))
    assert found.measures["max_change_mm"] == pytest.approx(off(finer, head[0]).max(), abs=0.003)


def test_a_rim_is_as_long_and_as_thick_as_trimesh_finds():
    """The rim follows the mesh's own zigzag and stands at another height everywhere."""
    head, (vertices, faces, _) = lumpy(100.0), cap(5, 28.0, lambda arc: 0 * arc)
    lift = 0.9 + 0.4 * np.sin(vertices[:, 0] / 9.0)
    piece = off_head(head, vertices) * (1 + lift / 100.0)[:, None], faces
    found = outcome(edge, worn(head, piece)).measures
    assert found["rim_length_mm"] == pytest.approx(theirs(piece).outline().length, rel=1e-3)
    rim = piece[0][np.unique(open_edges(faces))]
    assert found["rim_thickness_max_mm"] == pytest.approx(off(head, rim).max(), rel=0.01)


def test_a_lumpy_shell_is_as_thin_as_trimesh_finds():
    """Its thinnest place is in the middle, where the inner face comes up in a lump."""
    vertices, faces = sheet(80.0, 160)
    x, y = vertices[:, :2].T
    top = np.column_stack([x, y, 9.0 + np.sin(x / 6.0) * np.cos(y / 8.0)])
    under = np.column_stack([x, y, 4.0 + 2.6 * np.exp(-((x - 3.0) ** 2 + y**2) / 60.0)])
    walls = slab(vertices, faces, np.ones(len(vertices)))[1]
    shell = np.concatenate([top, under]), walls
    found = outcome(thickness, snapshot(sheet(200.0, 40), ("Piece", "appliance", shell, "silicone"))).measures
    inner = under, faces[:, ::-1]
    inside = np.hypot(x, y) < 25.0
    assert found["min_interior_mm"] == pytest.approx(off(inner, top[inside]).min(), abs=0.02)


def test_a_lumpy_tooth_shows_as_much_as_rays_of_trimesh_reach():
    """Samples that trimesh spreads over the tooth, seen from the camera when they face it and no face lies between."""
    low, high, thin = -3.0, 4.0, FRONT - 1e-3
    lips = joined(
        corner_box([-60, high, thin], [60, 70, FRONT]), corner_box([-60, -70, thin], [60, low, FRONT]),
        corner_box([-60, low, thin], [-15, high, FRONT]), corner_box([15, low, thin], [60, high, FRONT]),
    )  # fmt: skip
    tooth = lumpy(9.0, 4)
    tooth = tooth[0] + [2.0, 3.0, 84.0], tooth[1]
    parts = (Part("Head", "base", *lips), Part("Upper", "upper_teeth", *tooth))
    brief = Brief(views=Views(angles_deg=(20.0,), distance_mm=500.0))
    shot = Snapshot("mouth", parts=parts, landmarks=landmarks())
    found = drain(COVERAGE.measure(Fitting(shot, brief), brief)).measures
    assert found["exposed_area_mm2"] == pytest.approx(seen_area(lips, tooth, brief.views), rel=0.03)


def seen_area(lips, tooth, views):
    body = theirs(tooth)
    points, face = trimesh.sample.sample_surface_even(body, 20000, seed=1)
    turn = np.radians(views.angles_deg[0])
    eye = np.array([0.0, 0.0, FRONT]) + views.distance_mm * np.array([np.sin(turn), 0.0, np.cos(turn)])
    away = eye - points
    facing_it = (body.face_normals[face] * away).sum(axis=1) > 0
    along = away / np.linalg.norm(away, axis=1, keepdims=True)
    wall = theirs(joined(lips, tooth))
    hidden = wall.ray.intersects_any(points + 1e-4 * along, along)
    return body.area * (facing_it & ~hidden).mean()


def test_a_ball_sinks_as_deep_into_a_lumpy_body_as_trimesh_finds():
    body, small = lumpy(15.0, 3), icosphere(3, 4.0)
    ball = small[0] + [30.0, 2.0, 1.0], small[1]
    way = np.array([-12.0, 0.0, 0.0])
    parts = (Part("Body", "hardware", *body), Part("Ball", "hardware", *ball))
    shot, brief = moving(*parts, motions={"press": {"Ball": [[0, 0, 0], way]}})
    found = drain(INTERFERENCE.measure(Fitting(shot, brief), brief)).measures

    def depth(t):
        """The ball's deepest vertex in the body, or the body's in the ball; only those that can be."""
        here, middle = ball[0] + t * way, ball[0].mean(axis=0) + t * way
        toward = here[here[:, 0] < middle[0]]
        about = body[0][np.linalg.norm(body[0] - middle, axis=1) < 4.0]
        inside = below((here, ball[1]), about).max() if len(about) else -np.inf
        return max(below(body, toward).max(), inside)

    assert found["max_penetration_mm"] == pytest.approx(depth(1.0), rel=0.03)
    low, high = 0.0, 1.0
    for _ in range(11):
        low, high = (low, (low + high) / 2) if depth((low + high) / 2) > 0 else ((low + high) / 2, high)
    assert found["start_t"] == pytest.approx(high, abs=0.003)


def test_lids_are_as_far_open_as_rays_of_trimesh_see_the_eye():
    """Straight from the front, column by column, 0.02 mm apart."""
    shot = face()
    base, eye = shot.part("Scan"), shot.part("Eye")
    both = theirs(joined((base.vertices_mm, base.faces), (eye.vertices_mm, eye.faces)))
    tallest = 0.0
    for across in np.arange(-3.0, 3.01, 1.0):
        up = np.arange(-8.0, 8.0, 0.02)
        start = CENTRE + np.stack([across + 0 * up, -60.0 + 0 * up, up], axis=1)
        first = both.ray.intersects_first(start, np.tile([0.0, 1.0, 0.0], (len(up), 1)))
        tallest = max(tallest, 0.02 * (first >= len(base.faces)).sum())
    found = dryfit.check(shot, only=["blink"]).check("blink").measures
    assert found["open_gap_mm_left"] == pytest.approx(tallest, abs=0.1)


def test_an_eye_sees_past_lumpy_hardware_what_rays_of_trimesh_do():
    hardware = lumpy(30.0, 3)
    hardware = hardware[0] + ENTRANCE_MM + [18.0, -55.0, 12.0], hardware[1]
    shot = facing(hardware)
    found = dryfit.check(shot, only=["sightline"]).check("sightline").measures
    rng = np.random.default_rng(8)
    off_deg = np.degrees(np.arccos(rng.uniform(np.cos(np.radians(107.0)), 1.0, 40000)))
    turn = rng.uniform(0, 2 * np.pi, len(off_deg))
    out = np.sin(np.radians(off_deg))
    rays = np.stack([out * np.cos(turn), -np.cos(np.radians(off_deg)), out * np.sin(turn)], axis=1)
    start = np.tile(ENTRANCE_MM, (len(rays), 1)) + 12.0 * rays
    bare = ~theirs((shot.base.vertices_mm, shot.base.faces)).ray.intersects_any(start, rays)
    taken = theirs(hardware).ray.intersects_any(np.tile(ENTRANCE_MM, (len(rays), 1)), rays)
    assert 0.05 < (bare & taken).sum() / bare.sum() < 0.5
    assert found["field_fraction_left"] == pytest.approx((bare & ~taken).sum() / bare.sum(), abs=0.008)


def test_a_lumpy_body_weighs_and_pulls_as_trimesh_has_it():
    body = lumpy(14.0, 4, 0.1)
    body = body[0] + [25.0, -118.0, 20.0], body[1]
    found = outcome(load, snapshot(icosphere(5), ("Body", "hardware", body, "bronze"), landmarks=marks())).measures
    bulk = theirs(body)
    mass_g = bulk.volume / 1000 * MATERIALS["bronze"].density_g_cm3
    assert found["mass_g"] == pytest.approx(mass_g, rel=1e-4)
    left, back, up = bulk.center_mass - [0.0, 18.4, -31.0]
    assert (found["centre_left_mm"], found["centre_front_mm"], found["centre_up_mm"]) == pytest.approx(
        (left, -back, up), abs=0.05
    )
    assert found["moment_left_n_cm"] == pytest.approx(mass_g / 1000 * 9.80665 * left / 10, rel=2e-3)


def test_a_lumpy_dome_is_held_where_rays_of_trimesh_find_it_held():
    """Along the pull that was chosen: what looks away from it, and what has the dome itself further along it."""
    vertices, faces = lumpy(50.0, 5, 0.03)
    dome = vertices, faces[(vertices[faces][:, :, 2] > -22.0).all(axis=1)]
    shot = snapshot(icosphere(5, 45.0), ("Dome", "appliance", dome, "acrylic"), landmarks=marks())
    found = outcome(release, shot).measures
    pull = np.array([float(number) for number in str(found["pull_direction"]).split()])
    mesh = theirs(dome)
    looks_away = mesh.face_normals @ pull < 0
    start = mesh.triangles_center + 1e-4 * mesh.face_normals
    behind = mesh.ray.intersects_any(start, np.tile(pull, (len(start), 1)))
    held = mesh.area_faces[looks_away | behind].sum()
    assert found["undercut_area_mm2"] == pytest.approx(held, rel=0.03)
