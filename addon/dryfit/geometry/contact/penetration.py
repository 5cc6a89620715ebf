"""How deep points are inside a solid, or inside a layer of material over something else."""

import numpy as np

from ...model.arrays import FloatArray, IntArray
from ..rows import dot_rows
from ..surface import Surface

WITHIN = 0.5
"""Winding number of the points that lie inside a closed surface: about 1 there, about 0 outside."""
SLACK_MM = 0.1
"""A point this much further below a skin than the material there is thick still counts as in the material."""


def depths_below_mm(
    surface: Surface,
    points_mm: FloatArray,
    thickness_mm: FloatArray | None = None,
    radius_mm: FloatArray | float = 0.0,
    closed: bool = False,
) -> tuple[FloatArray, IntArray]:
    """Return how deep points, or balls round them, reach below a surface, by the shortest way out.

    A ball that lies within one solid is never deeper in the other than the shortest shift that parts the two (the
    penetration depth of collision detection: Cameron 1997, doi 10.1109/ROBOT.1997.606761), and the deepest of all such
    balls is about as deep: also where walls are flush and no corner lies inside.

    Parameters
    ----------
    surface
        What the points may be in, facing outward.
    points_mm
        ``(k, 3)``.
    thickness_mm
        Of an open skin, how much material lies below each of its vertices ``(n,)``; what is further below is behind
        the material, not in it. None: everything below the surface is solid.
    radius_mm
        Of the ball round each point, ``(k,)``.
    closed
        Whether the surface is known to be closed. Then what seems inside by the nearest wall alone is asked for its
        winding number too: walls that overlap or lie flat on each other can mislead.

    Returns
    -------
    depth_mm
        ``(k,)``; 0 outside and where the surface ends before it can tell.
    face
        The face of the surface that is nearest, ``(k,)``.
    """
    if not len(points_mm):
        return np.zeros(0), np.zeros(0, np.int64)
    clearance_mm, near = surface.clearance_by_nearest(points_mm)
    within = np.flatnonzero(clearance_mm < 0.0) if closed else np.zeros(0, np.int64)
    if len(within):
        misled = within[surface.winding_number(points_mm[within]) < WITHIN]
        clearance_mm[misled] *= -1.0
    depth_mm = np.nan_to_num(np.maximum(radius_mm - clearance_mm, 0.0))
    if thickness_mm is not None:
        here = dot_rows(near.barycentric, thickness_mm[surface.faces[near.face]])
        depth_mm = np.where(depth_mm > here + SLACK_MM, 0.0, depth_mm)
    return depth_mm, np.asarray(near.face, dtype=np.int64)
