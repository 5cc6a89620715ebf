"""Signed clearance: no wrong sign on meshes as they really come."""

from functools import cache

import numpy as np
import pytest
import specimens as s

from dryfit.geometry import Surface

COUNT = 1000


def wrong(mesh, truth_inside, points):
    """Signs that are wrong; points off the scan and points within rounding of the surface are not."""
    surface = Surface(*mesh)
    clearance = surface.clearance_mm(points)
    size = np.ptp(mesh[0], axis=0).max()
    known = np.isfinite(clearance) & (np.abs(clearance) > 1e-9 * size)
    return int(((clearance < 0) != truth_inside)[known].sum()), float(np.isnan(clearance).mean())


def points_about(mesh, seed=0):
    size = np.ptp(mesh[0], axis=0).max()
    spreads = (size / 1000, size / 50, size / 4)
    return np.concatenate([s.near(mesh, COUNT, spread, seed + i) for i, spread in enumerate(spreads)])


CLOSED = {
    "sphere": s.sphere(),
    "box": s.box(),
    "torus": s.torus(),
    "wedge": s.wedge(),
    "fine wedge": s.subdivide(s.wedge(), 3),
}


@cache
def closed_case(name):
    """Points about a closed specimen, and whether each is inside."""
    points = points_about(CLOSED[name])
    return points, (s.within_torus if name == "torus" else s.within)(CLOSED[name], points)


@pytest.mark.parametrize("name", CLOSED)
@pytest.mark.parametrize(
    "break_it", ["as is", "unwelded", "inside out", "flipped", "doubled", "slivers", "tiny", "huge"]
)
def test_closed(name, break_it):
    whole = CLOSED[name]
    points, truth = closed_case(name)
    vertices, faces = whole
    mesh = {
        "as is": lambda: whole,
        "unwelded": lambda: s.unweld(whole),
        "inside out": lambda: (vertices, faces[:, ::-1]),
        "flipped": lambda: s.flip(whole, 0.01),
        "doubled": lambda: (vertices, np.vstack([faces, faces[::3], faces[::5][:, [1, 2, 0]], faces[::7, ::-1]])),
        "slivers": lambda: s.with_slivers(whole),
        "tiny": lambda: (vertices * 1e-6, faces),
        "huge": lambda: (vertices * 1e6, faces),
    }[break_it]()
    scale = {"tiny": 1e-6, "huge": 1e6}.get(break_it, 1.0)
    bad, off = wrong(mesh, truth, points * scale)
    assert bad == 0
    assert off == 0


@pytest.mark.parametrize(("name", "share"), [("open neck", 0.92), ("face mask", 0.35), ("shallow patch", 0.08)])
@pytest.mark.parametrize("unwelded", [False, True])
@pytest.mark.parametrize("flipped", [False, True])
def test_open(name, share, unwelded, flipped):
    whole, mesh = s.sphere(4), s.cap(share)
    points = np.concatenate([points_about(whole), s.near(mesh, COUNT, 5.0)])
    if flipped:
        mesh = s.flip(mesh, 0.01)
    bad, off = wrong(s.unweld(mesh) if unwelded else mesh, s.within(whole, points), points)
    assert bad == 0
    assert off < 1.0


@pytest.mark.parametrize("share", [0.92, 0.35, 0.08])
def test_above_and_below_the_middle_of_an_open_scan_is_measured(share):
    mesh = s.cap(share)
    surface = Surface(*mesh)
    middle = np.array([0, 0, 1.0])
    heights = np.array([-30, -5, -0.1, 0.1, 5, 30, 300])
    clearance = surface.clearance_mm((90 + heights)[:, None] * middle)
    np.testing.assert_allclose(clearance, heights, rtol=2e-3)


def test_beyond_the_border_is_off_the_scan():
    vertices = np.array([[x, y, 0.0] for x in range(5) for y in range(5)]) * 10
    faces = [[5 * i + j, 5 * i + j + 5, 5 * i + j + 6] for i in range(4) for j in range(4)]
    faces += [[5 * i + j, 5 * i + j + 6, 5 * i + j + 1] for i in range(4) for j in range(4)]
    surface = Surface(vertices, faces)
    on_border = np.array([[0, 15, 0.0], [40, 15, 0], [15, 0, 0], [15, 40, 0], [0, 0, 0], [40, 40, 0]])
    for height in (3.0, -3.0):
        straight = surface.clearance_mm(on_border + [0, 0, height])
        np.testing.assert_allclose(straight, height)
        outward = np.sign(on_border - 20) * (np.abs(on_border - 20) == 20)
        slightly = surface.clearance_mm(on_border + [0, 0, height] + outward * 1e-5)
        np.testing.assert_allclose(slightly, height, rtol=1e-5)
        assert np.isnan(surface.clearance_mm(on_border + [0, 0, height] + outward)).all()
    assert np.isnan(surface.clearance_mm([[-5, 20, 0], [45, 45, 1]])).all()


def test_on_the_surface_is_zero():
    for mesh in (s.sphere(), s.cap(0.35), s.torus()):
        used = np.unique(mesh[1])
        clearance = Surface(*mesh).clearance_mm(mesh[0][used])
        assert (clearance == 0).all()


def test_overlapping_shells_are_one_body():
    one, other = s.sphere(), s.sphere()
    other = (other[0] + [60, 20, 10], other[1])
    for a, b in ((one, other), (one, s.unweld(other)), ((one[0], one[1][:, ::-1]), other)):
        mesh = s.join(a, b)
        points = points_about(s.join(one, other))
        bad, off = wrong(mesh, s.within(one, points) | s.within(other, points), points)
        assert (bad, off) == (0, 0)


def test_overlapping_shells_open_at_the_neck():
    whole, other = s.sphere(4), s.box()
    other = (other[0] + [0, 0, 90], other[1])
    points = s.near(s.join(s.cap(0.92), other), 3 * COUNT, 5.0)
    bad, _ = wrong(s.join(s.cap(0.92), other), s.within(whole, points) | s.within(other, points), points)
    assert bad == 0


@pytest.mark.parametrize("name", ["sphere", "torus"])
def test_missing_faces_are_off_the_scan_never_wrong(name):
    """Not on a finely cut blade: through a hole in it the far wall is nearest, seen from its inner side."""
    whole = CLOSED[name]
    points, truth = closed_case(name)
    bad, off = wrong(s.drop(whole, 0.01), truth, points)
    assert bad == 0
    assert off < 0.2


def test_a_hollow_shell_keeps_its_inner_wall():
    outer, inner = s.sphere(3, 90), s.sphere(3, 80)
    shell = s.join(outer, (inner[0], inner[1][:, ::-1]))
    surface = Surface(*shell)
    assert not surface.inside_out
    assert not surface.turned.any()
    clearance = surface.clearance_mm([[0, 0, 0], [0, 0, 85], [0, 0, 95]])
    assert clearance[0] > 0 > clearance[1]
    assert clearance[2] > 0
    turned_in = Surface(shell[0], shell[1][:, ::-1])
    assert turned_in.inside_out


def test_inside_out_is_said_and_measured_right():
    vertices, faces = s.cap(0.92)
    surface = Surface(vertices, faces[:, ::-1])
    assert surface.inside_out
    assert surface.turned.all()
    assert (surface.clearance_mm([[0, 0, 100], [0, 0, 50]]) > 0).tolist() == [True, False]
    assert (surface.oriented_faces == faces[:, [2, 1, 0]][:, [0, 2, 1]]).all()
    outward = np.einsum("ij,ij->i", surface.normals, vertices[faces].mean(axis=1))
    assert (outward > 0).all()
    assert not Surface(vertices, faces).inside_out


def blade():
    """The wedge with its slanted sides before its ends, so that the face found at a corner is on the wrong side."""
    vertices, faces = s.wedge()
    level = np.ptp(vertices[faces][:, :, 1], axis=1) == 0
    return vertices, faces[np.argsort(level, kind="stable")]


def about_the_tip(count):
    """Points within a few millimetres of the edge of the blade and its two ends, outside it and in it."""
    rng = np.random.default_rng(3)
    return np.stack([rng.uniform(-2, 4, count), rng.uniform(-4, 44, count), rng.normal(size=count) * 0.15], axis=1)


def shells():
    one, other = s.sphere(), s.sphere()
    return one, (other[0] + [60, 20, 10], other[1])


def two_balls(points):
    return np.any([s.within(ball, points) for ball in shells()], axis=0)


def ball(points):
    return s.within(s.sphere(4), points)


TABLE = {
    "closed sphere": (s.sphere(), lambda p: s.within(s.sphere(), p), points_about(s.sphere())),
    "closed box": (s.box(), lambda p: s.within(s.box(), p), points_about(s.box())),
    "closed torus": (s.torus(), lambda p: s.within_torus(s.torus(), p), points_about(s.torus())),
    "open neck": (s.cap(0.92), ball, points_about(s.cap(0.92))),
    "face mask": (s.cap(0.35), ball, points_about(s.cap(0.35))),
    "shallow patch": (s.cap(0.08), ball, points_about(s.cap(0.08))),
    "wedge tip": (blade(), lambda p: s.within(s.wedge(), p), about_the_tip(5 * COUNT)),
    "wedge tip, unwelded": (s.unweld(blade()), lambda p: s.within(s.wedge(), p), about_the_tip(5 * COUNT)),
    "torus, one face in a hundred flipped": (
        s.flip(s.torus(), 0.01),
        lambda p: s.within_torus(s.torus(), p),
        points_about(s.torus(), seed=5),
    ),
    "overlapping shells": (s.join(*shells()), two_balls, points_about(s.join(*shells()))),
}


@pytest.mark.parametrize("row", TABLE)
def test_no_wrong_sign_where_others_have_some(row):
    mesh, inside, points = TABLE[row]
    truth = inside(points)
    bad, off = wrong(mesh, truth, points)
    assert bad == 0
    assert off < (0.5 if row in ("open neck", "face mask", "shallow patch") else 1e-9)
    assert 0.02 < truth.mean() < 0.98


@pytest.mark.parametrize("row", ["wedge tip", "wedge tip, unwelded", "torus, one face in a hundred flipped"])
def test_the_nearest_face_alone_would_be_wrong(row):
    """The rows bite: the side of the nearest face's plane is the wrong one for some of these very points."""
    mesh, inside, points = TABLE[row]
    near = Surface(*mesh).closest(points)
    corners = mesh[0][mesh[1][near.face]]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    below = np.einsum("ij,ij->i", points - near.point, normals) < 0
    assert (below != inside(points))[near.distance_mm > 1e-6].mean() > 0.002
