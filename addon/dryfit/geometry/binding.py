"""Points that ride a surface: bound once at rest, put in place again on any pose of it."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .areas import areas_mm2
from .surface import Surface

POLAR_STEPS = 12
POLAR_PRECISION = 1e-8
"""Newton's iteration doubles the digits, so a last step this small leaves none over."""


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

    def foot_mm(self, vertices_mm: FloatArray, faces: IntArray) -> FloatArray:
        """Return where the bound places are on posed vertices, ``(k, 3)``, mm."""
        return np.asarray(np.einsum("ki,kij->kj", self.barycentric, vertices_mm[faces[self.face]]))


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
    """

    def __init__(self, vertices_mm: FloatArray, faces: IntArray) -> None:
        self.faces = faces
        self._count = len(vertices_mm)
        rest = _edge_frames(vertices_mm, faces)
        area = areas_mm2(vertices_mm[faces])
        flat = area <= 1e-12
        rest[flat] = np.eye(3)
        self._rest_inverse = np.linalg.inv(rest)
        self._weight = np.where(flat, 0.0, area)

    def carry(self, binding: Binding, vertices_mm: FloatArray) -> FloatArray:
        """Return where bound points are, ``(k, 3)`` mm, on posed vertices ``(n, 3)``, mm."""
        corners = self.faces[binding.face]
        at_foot = np.einsum("ki,kiab->kab", binding.barycentric, self._vertex_gradients(vertices_mm)[corners])
        offset_mm = np.einsum("kab,kb->ka", nearest_rotations(at_foot), binding.offset_mm)
        return np.asarray(binding.foot_mm(vertices_mm, self.faces) + offset_mm)

    def _vertex_gradients(self, vertices_mm: FloatArray) -> FloatArray:
        per_face = (_edge_frames(vertices_mm, self.faces) @ self._rest_inverse) * self._weight[:, None, None]
        corner = self.faces.ravel()
        spread = np.repeat(per_face.reshape(-1, 9), 3, axis=0)
        sums = [np.bincount(corner, weights=spread[:, entry], minlength=self._count) for entry in range(9)]
        total = np.bincount(corner, weights=np.repeat(self._weight, 3), minlength=self._count)
        gradient = np.stack(sums, axis=1) / np.where(total > 0.0, total, 1.0)[:, None]
        gradient[total <= 0.0] = np.eye(3).ravel()
        return np.asarray(gradient.reshape(-1, 3, 3))


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
        near = touched[faces].any(axis=1)
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
    """Return two edges and the normal of each triangle as columns, ``(m, 3, 3)``.

    The normal is scaled to the square root of twice the area, so that a frame scales with its triangle.
    """
    a, b, c = (vertices_mm[faces[:, corner]] for corner in range(3))
    cross = np.cross(b - a, c - a)
    length = np.linalg.norm(cross, axis=1, keepdims=True)
    normal = cross / np.sqrt(np.where(length > 0.0, length, 1.0))
    return np.stack([b - a, c - a, normal], axis=2)


def nearest_rotations(matrices: FloatArray) -> FloatArray:
    """Return the rotation nearest to each matrix, ``(k, 3, 3)``: its polar factor, by Newton's iteration.

    A matrix that is singular or mirrors (a skin folded through itself) is given to a singular value
    decomposition instead.
    """
    turned = matrices
    for _ in range(POLAR_STEPS):
        before, turned = turned, 0.5 * (turned + _inverse_transposes(turned))
        if not np.nanmax(np.abs(turned - before), initial=0.0) > POLAR_PRECISION:
            break
    wrong = ~(np.abs(np.einsum("kab,kcb->kac", turned, turned) - np.eye(3)).max(axis=(1, 2)) < 1e-12)
    wrong |= np.linalg.det(np.where(wrong[:, None, None], np.eye(3), turned)) < 0.0
    if wrong.any():
        turned[wrong] = _rotations_by_svd(matrices[wrong])
    return turned


def _inverse_transposes(matrices: FloatArray) -> FloatArray:
    a, b, c = (matrices[:, row] for row in range(3))
    cofactors = np.stack([np.cross(b, c), np.cross(c, a), np.cross(a, b)], axis=1)
    determinant = np.einsum("ka,ka->k", a, cofactors[:, 0])
    safe = np.where(np.abs(determinant) > 1e-9, determinant, np.nan)
    return np.asarray(cofactors / safe[:, None, None])


def _rotations_by_svd(matrices: FloatArray) -> FloatArray:
    left, _, right = np.linalg.svd(matrices)
    mirror = np.sign(np.linalg.det(left @ right))
    left[:, :, 2] *= mirror[:, None]
    return np.asarray(left @ right)
