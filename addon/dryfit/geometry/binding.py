"""Points that ride a surface: bound once at rest, put in place again on any pose of it."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from .areas import areas_mm2
from .rows import points_at, row_any
from .surface import Surface

POLAR_STEPS = 12
SINGULAR = 1e-9
"""Deformations with a smaller determinant are taken to have squashed the skin flat."""
POLAR_PRECISION = 5e-7
"""Newton's iteration doubles the digits, so after a last step this small 1e-13 is left."""
CHUNK = 4096
"""Matrices worked on at a time, so that what is in between stays in the processor's cache."""


@dataclass(frozen=True)
class Binding:
    """Points bound to a surface of known rest shape.

    Attributes
    ----------
    face, barycentric
        Closest triangle ``(k,)`` of each point and the closest place in it ``(k, 3)``.
    offset_mm
        From that place to the point at rest, ``(k, 3)``, mm.
    distance_mm
        Length of the offset, ``(k,)``.
    """

    face: IntArray
    barycentric: FloatArray
    offset_mm: FloatArray
    distance_mm: FloatArray

    def taking(self, chosen: IntArray) -> "Binding":
        """Return the binding of some of the points."""
        return Binding(self.face[chosen], self.barycentric[chosen], self.offset_mm[chosen], self.distance_mm[chosen])

    def with_others(self, ids: IntArray, others: "Binding") -> "Binding":
        """Return the binding with some of the points ``ids`` ``(j,)`` bound as in ``others``."""
        face, barycentric, offset_mm, distance_mm = (values.copy() for values in vars(self).values())
        face[ids], barycentric[ids] = others.face, others.barycentric
        offset_mm[ids], distance_mm[ids] = others.offset_mm, others.distance_mm
        return Binding(face, barycentric, offset_mm, distance_mm)

    def foot_mm(self, vertices_mm: FloatArray, faces: IntArray) -> FloatArray:
        """Return where the bound places are on posed vertices, ``(k, 3)``, mm."""
        return points_at(self.barycentric, vertices_mm, faces[self.face])


def bind(surface: Surface, points_mm: FloatArray) -> Binding:
    """Bind points ``(k, 3)``, mm, to the nearest places of a surface at rest."""
    near = surface.closest(points_mm)
    return Binding(
        face=np.asarray(near.face, dtype=np.int64),
        barycentric=near.barycentric,
        offset_mm=points_mm - near.point,
        distance_mm=near.distance_mm,
    )


class RidingSkin:
    """A surface that carries points along as it is posed.

    A point keeps its place over the surface: the foot moves with the triangle, the offset turns with the skin
    round it and keeps its length. A rigid motion of the surface is reproduced exactly; under stretch the
    result is continuous wherever the foot is.

    Parameters
    ----------
    vertices_mm, faces
        The surface at rest, ``(n, 3)`` mm and ``(m, 3)``.

    Notes
    -----
    Deformation gradients with the normal as third edge: Sumner & Popovic 2004, ACM TOG 23:399,
    doi 10.1145/1015706.1015736. They are averaged over the triangles round each vertex by area, interpolated,
    and the turn is split off by polar decomposition (Higham 1986, SIAM J. Sci. Stat. Comput. 7:1160).

    Matrices are kept entry by entry, ``(3, 3, k)``: whole rows of numbers are what numpy is quick at.
    """

    def __init__(self, vertices_mm: FloatArray, faces: IntArray) -> None:
        self.faces = faces
        self._count = len(vertices_mm)
        frames = _edge_frames(vertices_mm, faces)
        area = areas_mm2(vertices_mm[faces])
        frames[:, :, area <= 1e-12] = np.eye(3)[:, :, None]
        weight = np.where(area <= 1e-12, 0.0, area)
        self._weighted_inverse = weight * _inverse_transposes(frames, 0.0).transpose(1, 0, 2)
        total = np.bincount(faces.ravel(), weights=np.repeat(weight, 3), minlength=self._count)
        self._alone = total <= 0.0
        self._share = 1.0 / np.where(self._alone, 1.0, total)

    def carry(self, binding: Binding, vertices_mm: FloatArray) -> FloatArray:
        """Return where bound points are, ``(k, 3)`` mm, on posed vertices ``(n, 3)``, mm."""
        corners = self.faces[binding.face]
        gradients = self._vertex_gradients(vertices_mm)
        at_foot = np.einsum("kc,kce->ek", binding.barycentric, gradients[corners]).reshape(3, 3, -1)
        offset_mm = np.einsum("abk,kb->ka", nearest_rotations(at_foot), binding.offset_mm)
        return np.asarray(binding.foot_mm(vertices_mm, self.faces) + offset_mm)

    def _vertex_gradients(self, vertices_mm: FloatArray) -> FloatArray:
        """Return the mean deformation gradient round each vertex, ``(n, 9)``, row by row."""
        frames, inverse = _edge_frames(vertices_mm, self.faces), self._weighted_inverse
        corners = [np.ascontiguousarray(column) for column in self.faces.T]
        gradient = np.empty((self._count, 9))
        for row, column in np.ndindex(3, 3):
            per_face = _dot(frames[row], inverse[:, column])
            sums = sum(np.bincount(corner, weights=per_face, minlength=self._count) for corner in corners)
            gradient[:, 3 * row + column] = sums * self._share
        gradient[self._alone] = np.eye(3).ravel()
        return gradient


@dataclass(frozen=True)
class Rider:
    """Bound points with just the piece of the surface they need, so that posing costs what they cost.

    Attributes
    ----------
    vertex_ids
        Vertices of the surface that the piece is made of, ascending.
    skin
        The piece.
    binding
        The points, bound to the piece.
    """

    vertex_ids: IntArray
    skin: RidingSkin
    binding: Binding

    @classmethod
    def on(cls, vertices_mm: FloatArray, faces: IntArray, binding: Binding) -> "Rider":
        """Cut the piece out of a surface at rest: the bound triangles and every triangle round their corners."""
        touched = np.zeros(len(vertices_mm), bool)
        touched[faces[binding.face]] = True
        near = row_any(touched[faces])
        used, compact = np.unique(faces[near], return_inverse=True)
        place = np.cumsum(near) - 1
        moved = Binding(place[binding.face], binding.barycentric, binding.offset_mm, binding.distance_mm)
        return cls(used, RidingSkin(vertices_mm[used], compact.reshape(-1, 3)), moved)

    def carried(self, piece_mm: FloatArray) -> FloatArray:
        """Return where the points are, ``(k, 3)`` mm, when the piece's vertices are at ``piece_mm``."""
        return self.skin.carry(self.binding, piece_mm)

    def feet_mm(self, piece_mm: FloatArray) -> FloatArray:
        """Return where the bound places of the surface are, ``(k, 3)``, mm."""
        return self.binding.foot_mm(piece_mm, self.skin.faces)


def _edge_frames(vertices_mm: FloatArray, faces: IntArray) -> FloatArray:
    """Return two edges and the normal of each triangle as columns, ``(3, 3, m)``.

    The normal is scaled to the square root of twice the area, so that a frame scales with its triangle.
    """
    across = vertices_mm.T
    start = across[:, faces[:, 0]]
    one, other = across[:, faces[:, 1]] - start, across[:, faces[:, 2]] - start
    normal = _cross(one, other)
    length = np.sqrt(_dot(normal, normal))
    return np.stack([one, other, normal / np.sqrt(np.where(length > 0.0, length, 1.0))], axis=1)


def nearest_rotations(matrices: FloatArray) -> FloatArray:
    """Return the rotation nearest to each matrix, kept entry by entry, ``(3, 3, k)``: its polar factor.

    By Newton's iteration. A matrix that is singular or mirrors (a skin folded through itself) is given to a singular
    value decomposition instead.
    """
    turned = np.empty_like(matrices)
    for start in range(0, matrices.shape[2], CHUNK):
        turned[:, :, start : start + CHUNK] = _newton_polar(matrices[:, :, start : start + CHUNK])
    wrong = np.flatnonzero(~_proper(turned))
    if len(wrong):
        turned[:, :, wrong] = _rotations_by_svd(matrices[:, :, wrong].transpose(2, 0, 1)).transpose(1, 2, 0)
    return turned


def _newton_polar(matrices: FloatArray) -> FloatArray:
    turned = matrices
    for _ in range(POLAR_STEPS):
        step = _inverse_transposes(turned)
        step -= turned
        step *= 0.5
        turned = turned + step
        if not max(np.nanmax(step, initial=0.0), -np.nanmin(step, initial=0.0)) > POLAR_PRECISION:
            break
    return turned


def _proper(matrices: FloatArray) -> BoolArray:
    """Tell which matrices ``(3, 3, k)`` are rotations, to rounding; ``(k,)``."""
    a, b, c = matrices
    good = _dot(a, _cross(b, c)) > 0.0
    for one, other, wanted in ((a, a, 1.0), (b, b, 1.0), (c, c, 1.0), (a, b, 0.0), (b, c, 0.0), (c, a, 0.0)):
        good &= np.abs(_dot(one, other) - wanted) < 1e-12
    return good


def _inverse_transposes(matrices: FloatArray, least: float = SINGULAR) -> FloatArray:
    """Return the inverse transpose of each matrix, ``(3, 3, k)``; nan where its determinant is ``least`` or less."""
    a, b, c = matrices
    cofactors = np.empty(matrices.shape)
    for row, (one, other) in enumerate(((b, c), (c, a), (a, b))):
        _cross(one, other, cofactors[row])
    determinant = _dot(a, cofactors[0])
    determinant[~(np.abs(determinant) > least)] = np.nan
    cofactors /= determinant
    return cofactors


def _dot(one: FloatArray, other: FloatArray) -> FloatArray:
    """Return inner products of vectors kept entry by entry, ``(k,)``."""
    return np.asarray(one[0] * other[0] + one[1] * other[1] + one[2] * other[2])


def _cross(one: FloatArray, other: FloatArray, into: FloatArray | None = None) -> FloatArray:
    """Return cross products of vectors kept entry by entry, ``(3, k)``: numpy's own takes several times as long."""
    product = np.empty(one.shape) if into is None else into
    for axis in range(3):
        ahead, back = (axis + 1) % 3, (axis + 2) % 3
        np.multiply(one[ahead], other[back], out=product[axis])
        product[axis] -= one[back] * other[ahead]
    return product


def _rotations_by_svd(matrices: FloatArray) -> FloatArray:
    left, _, right = np.linalg.svd(matrices)
    mirror = np.sign(np.linalg.det(left @ right))
    left[:, :, 2] *= mirror[:, None]
    return np.asarray(left @ right)
