"""What the edges of a moving mesh pass through on their way from one place to another."""

import numpy as np

from ...model.arrays import BoolArray, FloatArray, IntArray
from ..errors import NoSurface
from ..rows import highs, lows, row_all, row_norms
from ..surface import Surface

LONG_MM = 1.0
"""A longer edge is always looked at: its middle may be much nearer than its ends."""
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
    near = np.flatnonzero(_may_reach(before_mm, after_mm, edges, still))
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


def _may_reach(before_mm: FloatArray, after_mm: FloatArray, edges: IntArray, still: Surface) -> BoolArray:
    """Tell which edges may come to a surface on their way, ``(e,)``: those with an end no further off than they go."""
    way_mm = float(row_norms(after_mm - before_mm).max(initial=0.0)) + LONG_MM
    low, high = lows(still.vertices_mm) - way_mm, highs(still.vertices_mm) + way_mm
    far_mm = np.full(len(before_mm), np.inf)
    asked = np.flatnonzero(row_all((before_mm > low) & (before_mm < high)))
    if len(asked):
        far_mm[asked] = still.closest(before_mm[asked]).distance_mm
    one, two = edges.T
    long = row_norms(before_mm[one] - before_mm[two]) > LONG_MM
    return np.asarray(long | (np.minimum(far_mm[one], far_mm[two]) < way_mm))
