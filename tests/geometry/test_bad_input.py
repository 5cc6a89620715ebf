"""Arrays that cannot be measured are refused by name, and never reach the kernel."""

import pickle

import numpy as np
import pytest
import specimens as s
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from dryfit.geometry import BadFaces, BadShape, GeometryError, NoSurface, NotFinite, Surface, distance_along

CORNERS = np.array([[0, 0, 0], [10, 0, 0], [0, 10, 0.0]])
SURFACE = Surface(CORNERS, [[0, 1, 2]])


@pytest.mark.parametrize(
    ("faces", "error", "says"),
    [
        ([[0, 1, 3]], BadFaces, "1 of 1 name vertices outside 0 .. 2"),
        ([[0, 1, -1]], BadFaces, "outside"),
        ([[0.0, 1.0, 2.0]], BadFaces, "integers"),
        ([[0, 1, 2, 0]], BadFaces, "triangles"),
        ([0, 1, 2], BadFaces, r"\(m, 3\)"),
        ([[0, 1, 2], [0, 1]], BadFaces, ""),
        ([["a", "b", "c"]], BadFaces, "integers"),
        ([[0, 1, 2**40]], BadFaces, "outside"),
        ([], NoSurface, "0 faces"),
        ([[0, 0, 1], [2, 2, 2]], NoSurface, "2 faces, none with an area"),
    ],
)
def test_faces(faces, error, says):
    with pytest.raises(error, match=says):
        Surface(CORNERS, faces)


@pytest.mark.parametrize(
    ("vertices", "error", "says"),
    [
        (CORNERS * [1, np.nan, 1], NotFinite, "vertices_mm: 3 of 3 rows .* row 0"),
        (np.where(CORNERS == 10, np.inf, CORNERS), NotFinite, "2 of 3"),
        (CORNERS * 1e200, NotFinite, "not finite"),
        (CORNERS[:, :2], BadShape, r"\(3, 2\)"),
        (CORNERS.ravel(), BadShape, ""),
        (CORNERS + 1j, BadShape, "complex"),
        ([["a", "b", "c"]], BadShape, ""),
        (None, BadShape, ""),
        ([], BadFaces, "outside"),
    ],
)
def test_vertices(vertices, error, says):
    with pytest.raises(error, match=says):
        Surface(vertices, [[0, 1, 2]])


@pytest.mark.parametrize("ask", ["closest", "clearance_mm", "winding_number"])
def test_points(ask):
    for bad, error in ((np.zeros((4, 2)), BadShape), ([[0, 0, np.nan]], NotFinite), ([[0, np.inf, 0]], NotFinite)):
        with pytest.raises(error, match="points_mm"):
            getattr(SURFACE, ask)(bad)


@pytest.mark.parametrize("ask", ["first_hit", "blocked"])
def test_rays(ask):
    cast = getattr(SURFACE, ask)
    with pytest.raises(BadShape, match="like the origins"):
        cast(np.zeros((2, 3)), np.ones((3, 3)))
    with pytest.raises(BadShape, match="1 zero rows"):
        cast(np.zeros((2, 3)), [[0, 0, 0], [0, 0, 1]])
    with pytest.raises(BadShape, match="limit_mm"):
        cast(np.zeros((2, 3)), np.ones((2, 3)), [1.0, 2.0, 3.0])
    with pytest.raises(BadShape, match="nan"):
        cast(np.zeros((2, 3)), np.ones((2, 3)), np.nan)
    with pytest.raises(NotFinite, match="directions"):
        cast(np.zeros((1, 3)), [[0, 0, np.inf]])


def test_a_limit_below_zero_lets_no_ray_hit():
    down = [[1, 1, 1], [1, 1, 1]], [[0, 0, -1], [0, 0, -1]], [1.0, -1.0]
    hits = SURFACE.first_hit(*down)
    assert hits.face.tolist() == [0, -1]
    assert hits.distance_mm.tolist() == [1.0, np.inf]
    assert hits.barycentric[1].tolist() == [0.0, 0.0, 0.0]
    assert SURFACE.blocked(*down).tolist() == [True, False]


def test_refit():
    with pytest.raises(BadShape, match="as before"):
        SURFACE.refit(np.zeros((4, 3)))
    with pytest.raises(NotFinite):
        SURFACE.refit(CORNERS * np.nan)
    with pytest.raises(NoSurface):
        SURFACE.refit(np.zeros((3, 3)))
    assert SURFACE.closest([[1, 1, 1]]).distance_mm.tolist() == [1]


def test_sources():
    for bad in ([3], [-1], [0.5], [[0]], ["a"]):
        with pytest.raises(BadShape, match="source"):
            distance_along(CORNERS, [[0, 1, 2]], bad)
    with pytest.raises(BadShape, match="zero or more"):
        distance_along(CORNERS, [[0, 1, 2]], [0], source_distance_mm=[-1])
    with pytest.raises(BadShape, match="zero or more"):
        distance_along(CORNERS, [[0, 1, 2]], [0], limit_mm=np.nan)


def test_arrays_are_kept_from_harm():
    vertices, faces = s.sphere(1)
    surface = Surface(vertices, faces)
    before = surface.closest([[0, 0, 200]]).distance_mm.copy()
    vertices *= 0
    faces[:] = 10**6
    assert surface.closest([[0, 0, 200]]).distance_mm == before
    for array in (surface.vertices_mm, surface.faces, surface.normals, surface.oriented_faces):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 0


def test_any_layout_is_read_right():
    vertices, faces = s.sphere(1)
    p = s.near((vertices, faces), 50, 10)
    expected = Surface(vertices, faces).closest(p).distance_mm
    fortran = Surface(np.asfortranarray(vertices), np.asfortranarray(faces.astype(np.uint16)))
    assert (fortran.closest(np.asfortranarray(p)).distance_mm == expected).all()
    wide = np.zeros((50, 6))
    wide[:, ::2] = p
    assert (fortran.closest(wide[:, ::2]).distance_mm == expected).all()
    assert (fortran.closest(p.astype(">f8")).distance_mm == expected).all()


def test_pickles():
    again = pickle.loads(pickle.dumps(SURFACE))
    assert again.closest([[1, 1, 1]]).distance_mm.tolist() == [1]


anything = arrays(
    st.sampled_from([np.float64, np.float32, np.int64, np.int8, np.bool_]), array_shapes(max_dims=3, max_side=5)
)


@settings(max_examples=200, deadline=None)
@given(anything, anything, anything)
def test_whatever_comes_in_an_answer_or_a_named_error_comes_out(vertices, faces, points):
    try:
        surface = Surface(vertices, faces)
        surface.clearance_mm(points)
        surface.first_hit(points, points[::-1])
        surface.crossings(surface)
        distance_along(vertices, faces, [0])
    except GeometryError:
        pass


soup = st.integers(1, 30).flatmap(
    lambda n: st.tuples(
        arrays(np.float64, (n + 2, 3), elements=st.sampled_from([0.0, 1.0, -1.0, 1e-9, 3.5, 1e6, -0.0])),
        arrays(np.int64, (n, 3), elements=st.integers(0, n + 1)),
    )
)


@settings(max_examples=200, deadline=None)
@given(soup)
def test_triangle_soup_is_measured(mesh):
    try:
        surface = Surface(*mesh)
    except NoSurface:
        return
    points = mesh[0] + 0.25
    near = surface.closest(points)
    assert np.isfinite(near.distance_mm).all()
    clearance = surface.clearance_mm(points)
    measured = np.isfinite(clearance)
    np.testing.assert_array_equal(np.abs(clearance[measured]), near.distance_mm[measured])
    surface.crossings(surface)
    surface.winding_number(points)
    distance_along(*mesh, [0])
