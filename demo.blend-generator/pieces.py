"""From an outline and a carving to a mesh: open skin, closed shell, remeshed skin, whole-head sculpt."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .cutting import Recipe, cut, split
from .outlines import View
from .rasters import raster
from .surface_normals import vertex_normals

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

Field = Callable[[FloatArray], FloatArray]
"""Points ``(n, 3)`` on the base -> how far inside the piece they are, mm, negative outside."""
Thickness = Callable[[FloatArray, FloatArray, FloatArray], FloatArray]
"""Points ``(n, 3)``, distance from the rim ``(n,)``, nearest rim point ``(n, 3)`` -> thickness ``(n,)``, mm."""


@dataclass(frozen=True)
class Ground:
    """A part of the base under a piece: points on the base, its smooth normals there, triangles."""

    points_mm: FloatArray
    normals: FloatArray
    faces: IntArray

    def carried(self, recipe: Recipe) -> "Ground":
        """Return the ground cut or split by a recipe; new points stay on the base's flat triangles."""
        normals = recipe.carry(self.normals)
        normals = normals / np.linalg.norm(normals, axis=1, keepdims=True)
        return Ground(recipe.carry(self.points_mm), normals, recipe.faces)

    def raised(self, thickness_mm: FloatArray) -> FloatArray:
        """Return the points ``(n, 3)`` lifted along the normals."""
        lifted: FloatArray = self.points_mm + self.normals * thickness_mm[:, None]
        return lifted


@dataclass(frozen=True)
class Skin:
    """A carved piece before it becomes a mesh.

    Attributes
    ----------
    ground
        The base under it.
    thickness_mm, from_rim_mm
        ``(n,)`` on the ground's points.
    rim_edges
        ``(k, 2)`` the ground's border edges.
    """

    ground: Ground
    thickness_mm: FloatArray
    from_rim_mm: FloatArray
    rim_edges: IntArray

    def open_skin(self) -> tuple[FloatArray, IntArray]:
        """Return the outer face alone."""
        return self.ground.raised(self.thickness_mm), self.ground.faces

    def closed_shell(self) -> tuple[FloatArray, IntArray]:
        """Return outer face, inner face on the base, and the wall at the rim between them."""
        count = len(self.ground.points_mm)
        start, end = self.rim_edges.T
        wall = np.concatenate(
            [np.stack([end, start, start + count], axis=1), np.stack([end, start + count, end + count], axis=1)]
        )
        faces = np.concatenate([self.ground.faces, self.ground.faces[:, ::-1] + count, wall])
        return np.concatenate([self.ground.raised(self.thickness_mm), self.ground.points_mm]), faces


def outer_ground(vertices: FloatArray, faces: IntArray, outer: BoolArray) -> Ground:
    """Return the outside of the head as ground."""
    return Ground(vertices, vertex_normals(vertices, faces), faces[outer[faces].all(axis=1)])


def carve(ground: Ground, field: Field, thickness: Thickness, edge_mm: float = 1.4) -> Skin:
    """Cut a piece out of the ground along a field's zero line and give it thickness.

    Parameters
    ----------
    ground
        The base's outside.
    field, thickness
        Where the piece is, and how thick.
    edge_mm
        Triangles with a longer edge are split.
    """
    near = (field(ground.points_mm) > -6.0)[ground.faces].any(axis=1)
    ground = refined(Ground(ground.points_mm, ground.normals, ground.faces[near]), edge_mm)
    ground = ground.carried(cut(ground.faces, field(ground.points_mm)))
    return given_thickness(largest_piece(ground), thickness)


def refined(ground: Ground, edge_mm: float) -> Ground:
    """Return the ground with triangles split until no edge is longer than a limit."""
    while True:
        corners = ground.points_mm[ground.faces]
        longest = np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2).max(axis=1)
        if not (longest > edge_mm).any():
            return ground
        ground = ground.carried(split(ground.faces, longest > edge_mm, len(ground.points_mm)))


def given_thickness(ground: Ground, thickness: Thickness) -> Skin:
    """Measure the distance from the rim and give the piece its thickness."""
    rim_edges = border_edges(ground.faces)
    from_rim, nearest = distance_from_rim(ground.points_mm, rim_edges)
    return Skin(ground, thickness(ground.points_mm, from_rim, nearest), from_rim, rim_edges)


def border_edges(faces: IntArray) -> IntArray:
    """Return the directed edges ``(k, 2)`` that only one triangle uses."""
    edges = np.stack([faces, np.roll(faces, -1, axis=1)], axis=-1).reshape(-1, 2)
    keys = np.sort(edges, axis=1) @ np.array([int(faces.max()) + 1, 1])
    _, place, uses = np.unique(keys, return_inverse=True, return_counts=True)
    return edges[uses[place] == 1]


def distance_from_rim(points: FloatArray, rim_edges: IntArray) -> tuple[FloatArray, FloatArray]:
    """Return straight distances ``(n,)`` from points to the rim, and the nearest rim points ``(n, 3)``.

    Near the rim the straight distance stands for the one along the skin: at 10 mm, on a radius of 30 mm,
    it is 0.05 mm short.
    """
    start, end = points[rim_edges[:, 0]], points[rim_edges[:, 1]]
    rim = np.concatenate([start, (start + end) / 2.0])
    distance, nearest = np.empty(len(points)), np.empty((len(points), 3))
    squares = (rim**2).sum(axis=1)
    for first in range(0, len(points), 4000):
        part = points[first : first + 4000]
        apart = squares - 2.0 * part @ rim.T
        pick = apart.argmin(axis=1)
        nearest[first : first + 4000] = rim[pick]
        distance[first : first + 4000] = np.linalg.norm(part - rim[pick], axis=1)
    return distance, nearest


def largest_piece(ground: Ground) -> Ground:
    """Return the ground's largest connected part, without unused points."""
    label = connected_labels(ground.faces, len(ground.points_mm))
    biggest = np.bincount(label[ground.faces[:, 0]]).argmax()
    used, faces = np.unique(ground.faces[label[ground.faces[:, 0]] == biggest], return_inverse=True)
    return Ground(ground.points_mm[used], ground.normals[used], faces.reshape(-1, 3))


def connected_labels(faces: IntArray, count: int) -> IntArray:
    """Return for each vertex the smallest vertex number of its connected part, ``(count,)``."""
    label = np.arange(count)
    while True:
        lowest = label[faces].min(axis=1)
        lower = label.copy()
        np.minimum.at(lower, faces.ravel(), np.repeat(lowest, 3))
        lower = lower[lower]
        if (lower == label).all():
            return label
        label = lower


def regular_ground(
    ground: Ground, view: View, low: tuple[float, float], high: tuple[float, float], step_mm: float
) -> Ground:
    """Return the base seen in a view as a regular grid of its own: another topology on the same surface.

    Parameters
    ----------
    ground
        The base's outside.
    view, low, high, step_mm
        The drawing, the corners of the part that is meshed again, and the grid's step, mm.
    """
    columns, rows = (np.arange(start, stop, step_mm) for start, stop in zip(low, high, strict=True))
    looked = raster(view.drawn(ground.points_mm), ground.faces, columns, rows)
    seen = (looked.face >= 0).ravel()
    right, up = np.meshgrid(columns, rows)
    drawn = np.stack([right, up, np.where(looked.face >= 0, looked.height, 0.0)], axis=-1)
    points = view.in_space(drawn.reshape(-1, 3))
    normals = np.einsum("rck,rckd->rcd", looked.weights, ground.normals[ground.faces[looked.face]]).reshape(-1, 3)
    normals[~seen] = view.axes[2]
    number = np.arange(len(points)).reshape(len(rows), len(columns))
    a, b, c, d = number[:-1, :-1], number[:-1, 1:], number[1:, 1:], number[1:, :-1]
    faces = np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)])
    normals = normals / np.linalg.norm(normals, axis=1, keepdims=True)
    return Ground(points, normals, faces[seen[faces].all(axis=1)])


def sculpt_over(
    whole: Ground, front: Ground, field: Field, thickness: Callable[[FloatArray, FloatArray], FloatArray]
) -> tuple[FloatArray, IntArray, BoolArray]:
    """Return a sculpt of the whole head that lies on the base except where a field is positive.

    Parameters
    ----------
    whole
        The base's outside, all of which is kept.
    front
        The same points with only the faces that may be sculpted.
    field
        How far inside the sculpted part a point is, mm.
    thickness
        Points, distance from the contour -> thickness, 0 at the contour.

    Returns
    -------
    vertices_mm, faces, lifted
        The sculpt, and which of its vertices are off the base.
    """
    sculptable = np.zeros(len(whole.points_mm), bool)
    sculptable[front.faces] = True
    inside = np.where(sculptable, field(whole.points_mm), -50.0)
    whole = whole.carried(split(whole.faces, (inside > -2.5)[whole.faces].any(axis=1), len(whole.points_mm)))
    near = whole.normals[:, 1] < -0.05
    inside = np.where(near, field(whole.points_mm), -50.0)
    recipe = cut(whole.faces, inside, keep_outside=True)
    whole, inside = whole.carried(recipe), recipe.carry(inside)
    inside[np.abs(inside) < 1e-6] = 0.0
    contour = _zero_edges(whole.faces, inside)
    from_rim, _ = distance_from_rim(whole.points_mm, contour)
    lift = np.where(inside > 0.0, thickness(whole.points_mm, from_rim), 0.0)
    return whole.raised(lift), whole.faces, lift > 0.0


def _zero_edges(faces: IntArray, field: FloatArray) -> IntArray:
    edges = np.stack([faces, np.roll(faces, -1, axis=1)], axis=-1).reshape(-1, 2)
    lying = (field[edges] == 0.0).all(axis=1)
    return np.unique(np.sort(edges[lying], axis=1), axis=0)
