"""Which way surfaces face, for shading: quick, and right wherever a mesh agrees with itself."""

import numpy as np

from ...geometry import Surface
from ...geometry.areas import area_vectors, signed_volume_mm3
from ...geometry.topology import directed_edges
from ...model.arrays import FloatArray, IntArray
from ...model.snapshot import Part


def outward_faces(part: Part) -> IntArray:
    """Return a part's faces ``(m, 3)`` turned outward.

    Where neighbours agree on a side, the volume within tells which; only where they do not is the mesh repaired.
    """
    if _agrees(part.faces, len(part.vertices_mm)):
        inward = signed_volume_mm3(part.vertices_mm, part.faces) < 0.0
        return part.faces[:, ::-1] if inward else part.faces
    return np.asarray(Surface(part.vertices_mm, part.faces).oriented_faces, dtype=np.int64)


def _agrees(faces: IntArray, count: int) -> bool:
    """Tell whether no edge is passed twice in the same direction."""
    start, end = directed_edges(faces).reshape(-1, 2).T
    keys = np.sort(start * count + end)
    return not (keys[1:] == keys[:-1]).any()


def face_normals(vertices_mm: FloatArray, faces: IntArray) -> FloatArray:
    """Return unit normals of faces, ``(m, 3)``; zero where a face has no area."""
    return unit_rows(area_vectors(vertices_mm[faces]))


def vertex_normals(vertices_mm: FloatArray, faces: IntArray) -> FloatArray:
    """Return unit normals at vertices, ``(n, 3)``, weighted by area; zero at vertices of no face."""
    vectors, corner = area_vectors(vertices_mm[faces]), faces.reshape(-1)
    summed = [np.bincount(corner, np.repeat(vectors[:, axis], 3), minlength=len(vertices_mm)) for axis in range(3)]
    return unit_rows(np.stack(summed, axis=1))


def unit_rows(vectors: FloatArray) -> FloatArray:
    """Return rows ``(k, 3)`` scaled to length 1; zero rows stay zero."""
    lengths = np.sqrt(np.einsum("sx,sx->s", vectors, vectors))
    return vectors / np.maximum(lengths, 1e-12)[:, None]
