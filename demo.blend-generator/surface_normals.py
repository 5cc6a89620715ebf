"""Smooth normals of a triangle mesh."""

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


def vertex_normals(vertices: FloatArray, faces: IntArray) -> FloatArray:
    """Return unit normals ``(n, 3)``, each the area-weighted mean of its faces'."""
    a, b, c = vertices[faces].transpose(1, 0, 2)
    area_normals = np.cross(b - a, c - a)
    rows = faces.ravel()
    spread = np.repeat(area_normals, 3, axis=0)
    sums = np.stack([np.bincount(rows, column, len(vertices)) for column in spread.T], axis=1)
    lengths = np.linalg.norm(sums, axis=1, keepdims=True)
    return sums / np.where(lengths > 0.0, lengths, 1.0)


def face_areas(vertices: FloatArray, faces: IntArray) -> FloatArray:
    """Return the area ``(m,)`` of each triangle, in the unit squared."""
    a, b, c = vertices[faces].transpose(1, 0, 2)
    areas: FloatArray = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)
    return areas
