"""What the edges of a moving mesh pass through on their way from one place to another."""

import numpy as np

from ...model.arrays import FloatArray, IntArray
from ..errors import NoSurface
from ..surface import Surface

NO_PAIRS = np.zeros((0, 2), np.int64)


def swept_crossings(before_mm: FloatArray, after_mm: FloatArray, edges: IntArray, still: Surface) -> IntArray:
    """Return which edges sweep through which faces of a surface that stands still.

    Each edge sweeps two triangles, from where it was to where it is. Asked both ways round, with either mesh's edges
    moving past the other's faces, that is every way in which two meshes can meet while both go straight: a corner
    through a face, a face past a corner, an edge across an edge.

    Parameters
    ----------
    before_mm, after_mm
        The moving vertices ``(n, 3)``, mm, as seen by the still surface.
    edges
        ``(e, 2)`` of the moving mesh.
    still
        What they may pass through.

    Returns
    -------
    IntArray
        ``(p, 2)``: edge and face, an edge's pairs once for each of its triangles that cross.
    """
    low, high = np.minimum(before_mm, after_mm), np.maximum(before_mm, after_mm)
    ends = edges.T
    under = np.minimum(low[ends[0]], low[ends[1]]) <= still.vertices_mm.max(axis=0)
    over = np.maximum(high[ends[0]], high[ends[1]]) >= still.vertices_mm.min(axis=0)
    near = np.flatnonzero(under.all(axis=1) & over.all(axis=1))
    if not len(near):
        return NO_PAIRS
    count = len(before_mm)
    one, two = edges[near].T
    faces = np.concatenate([np.stack([one, two, two + count], 1), np.stack([one, two + count, one + count], 1)])
    used, compact = np.unique(faces, return_inverse=True)
    try:
        swept = Surface(np.concatenate([before_mm, after_mm])[used], compact.reshape(-1, 3), engine=still.engine)
    except NoSurface:
        return NO_PAIRS
    found = np.asarray(swept.crossings(still), dtype=np.int64)
    return np.stack([near[found[:, 0] % len(near)], found[:, 1]], axis=1) if len(found) else NO_PAIRS
