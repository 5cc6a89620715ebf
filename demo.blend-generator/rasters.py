"""The highest surface over the points of a regular grid."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Raster:
    """What is seen from above at each grid point.

    Attributes
    ----------
    height
        ``(r, c)``; -inf where there is nothing.
    face
        ``(r, c)`` the triangle seen, -1 for none.
    weights
        ``(r, c, 3)`` barycentric place on it.
    """

    height: FloatArray
    face: IntArray
    weights: FloatArray


def raster(points: FloatArray, faces: IntArray, columns: FloatArray, rows: FloatArray) -> Raster:
    """Return the highest surface over grid points.

    Parameters
    ----------
    points, faces
        ``(n, 3)`` and ``(m, 3)``; the third coordinate is the height.
    columns, rows
        Ascending first and second coordinates of the grid.
    """
    seen = Raster(
        np.full((len(rows), len(columns)), -np.inf),
        np.full((len(rows), len(columns)), -1),
        np.zeros((len(rows), len(columns), 3)),
    )
    corners = points[faces]
    low, high = corners[:, :, :2].min(axis=1), corners[:, :, :2].max(axis=1)
    first = np.stack([np.searchsorted(columns, low[:, 0]), np.searchsorted(rows, low[:, 1])], axis=1)
    last = np.stack([np.searchsorted(columns, high[:, 0], "right"), np.searchsorted(rows, high[:, 1], "right")], axis=1)
    for face in np.flatnonzero((last > first).all(axis=1)):
        _fill(seen, int(face), corners[face], columns, rows, first[face], last[face])
    return seen


def _fill(
    seen: Raster, face: int, corner: FloatArray, columns: FloatArray, rows: FloatArray, first: IntArray, last: IntArray
) -> None:
    window = (slice(first[1], last[1]), slice(first[0], last[0]))
    across, along = columns[None, window[1]], rows[window[0], None]
    (ax, ay), (bx, by), (cx, cy) = corner[:, :2]
    whole = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
    if abs(whole) < 1e-12:
        return
    second = ((across - ax) * (cy - ay) - (cx - ax) * (along - ay)) / whole
    third = ((bx - ax) * (along - ay) - (across - ax) * (by - ay)) / whole
    weights = np.stack([1.0 - second - third, second, third], axis=-1)
    height = weights @ corner[:, 2]
    better = (weights >= -1e-9).all(axis=-1) & (height > seen.height[window])
    seen.height[window][better] = height[better]
    seen.face[window][better] = face
    seen.weights[window][better] = weights[better]
