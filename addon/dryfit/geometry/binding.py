"""Points that ride a surface: bound once at rest, put in place again on any pose of it."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .areas import areas_mm2
from .best_engine import best_engine
from .engine import BoundPlaces, RestSkin
from .rows import points_at, row_any
from .surface import Surface
from .twin.riding import edge_frames, gradients_at, inverse_transposes, nearest_turns, proper, put, rotations_by_svd


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
        face, barycentric = self.face.copy(), self.barycentric.copy()
        offset_mm, distance_mm = self.offset_mm.copy(), self.distance_mm.copy()
        face[ids], barycentric[ids] = others.face, others.barycentric
        offset_mm[ids], distance_mm[ids] = others.offset_mm, others.distance_mm
        return Binding(face, barycentric, offset_mm, distance_mm)

    @cached_property
    def places(self) -> BoundPlaces:
        """The same as the kernel takes it."""
        face = np.ascontiguousarray(self.face, dtype=np.int32)
        return BoundPlaces(face, *map(np.ascontiguousarray, (self.barycentric, self.offset_mm)))

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

    """

    def __init__(self, vertices_mm: FloatArray, faces: IntArray) -> None:
        self.faces = np.ascontiguousarray(faces, dtype=np.int32)
        frames = edge_frames(vertices_mm, self.faces)
        area = areas_mm2(vertices_mm[self.faces])
        frames[:, :, area <= 1e-12] = np.eye(3)[:, :, None]
        weight = np.where(area <= 1e-12, 0.0, area)
        total = np.bincount(self.faces.ravel(), weights=np.repeat(weight, 3), minlength=len(vertices_mm))
        alone = total <= 0.0
        self._rest = RestSkin(
            faces=self.faces,
            inverse=np.ascontiguousarray(weight * inverse_transposes(frames, 0.0).transpose(1, 0, 2)),
            share=1.0 / np.where(alone, 1.0, total),
            alone=alone,
        )

    def carry(self, binding: Binding, vertices_mm: FloatArray) -> FloatArray:
        """Return where bound points are, ``(k, 3)`` mm, on posed vertices ``(n, 3)``, mm."""
        posed = np.ascontiguousarray(vertices_mm, dtype=np.float64)
        bound = binding.places
        points, wrong = best_engine().carry(self._rest, bound, posed)
        if wrong.any():
            some = binding.taking(np.flatnonzero(wrong)).places
            turned = nearest_rotations(gradients_at(self._rest, some, posed))
            points[wrong] = put(self._rest, some, posed, turned)
        return points


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


def nearest_rotations(matrices: FloatArray) -> FloatArray:
    """Return the rotation nearest to each matrix, kept entry by entry, ``(3, 3, k)``: its polar factor.

    By Newton's iteration. A matrix that is singular or mirrors (a skin folded through itself) is given to a singular
    value decomposition instead.
    """
    turned = nearest_turns(matrices)
    wrong = np.flatnonzero(~proper(turned))
    if len(wrong):
        turned[:, :, wrong] = rotations_by_svd(matrices[:, :, wrong].transpose(2, 0, 1)).transpose(1, 2, 0)
    return turned
