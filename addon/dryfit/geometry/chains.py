"""Chains of straight pieces in space: the distance to one, points spread along one, and the order of its corners."""

from itertools import pairwise

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .rows import row_norms


def distance_to_chain_mm(points_mm: FloatArray, chain_mm: FloatArray) -> FloatArray:
    """Return the distance ``(k,)`` of points ``(k, 3)`` to the chain through corners ``(c, 3)``, c >= 2, mm."""
    nearest = np.full(len(points_mm), np.inf)
    for start, end in pairwise(chain_mm):
        along = end - start
        length2 = float(along @ along)
        share = np.clip((points_mm - start) @ along / length2, 0.0, 1.0) if length2 > 0.0 else np.zeros(len(points_mm))
        foot = start + share[:, None] * along
        np.minimum(nearest, row_norms(points_mm - foot), out=nearest)
    return nearest


def spread_along(chain_mm: FloatArray, spacing_mm: float) -> FloatArray:
    """Return points ``(k, 3)`` along a chain ``(c, 3)``, its corners among them, no further apart than a spacing."""
    pieces = [chain_mm[:1]]
    for start, end in pairwise(chain_mm):
        count = max(int(np.ceil(np.linalg.norm(end - start) / spacing_mm)), 1)
        pieces.append(start + np.linspace(0.0, 1.0, count + 1)[1:, None] * (end - start))
    return np.concatenate(pieces)


def chain_order(ends: IntArray) -> IntArray:
    """Return the vertices of the chain that edges ``(e, 2)`` make, in order, ``(c,)``; a closed one ends at its start.

    Where edges branch or make several chains, it is the one that starts at the lowest end and goes on straight ahead
    to the lowest neighbour.
    """
    around: dict[int, list[int]] = {}
    for one, other in ends.tolist():
        around.setdefault(one, []).append(other)
        around.setdefault(other, []).append(one)
    if not around:
        return np.zeros(0, np.int64)
    open_ends = [vertex for vertex, others in around.items() if len(others) == 1]
    order = [min(open_ends or around)]
    seen = {order[0]}
    while ahead := sorted(set(around[order[-1]]) - seen):
        order.append(ahead[0])
        seen.add(ahead[0])
    closed = not open_ends and len(order) > 2 and order[0] in around[order[-1]]
    return np.array([*order, order[0]] if closed else order)
