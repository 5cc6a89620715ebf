"""One step of closest points that lets the points slide: distances to tangent planes instead of to points."""

import numpy as np

from ..model.arrays import FloatArray
from .rigid import rotation_matrix
from .rows import row_sums
from .similarity import Similarity

DAMPING = 1e-3
"""What holds back a direction that the planes leave free (a sphere turning in itself), per unit of mean square."""


def slid_onto_planes(
    pose: Similarity,
    before_mm: FloatArray,
    after_mm: FloatArray,
    normals: FloatArray,
    scale_range: tuple[float, float],
) -> Similarity:
    """Return the pose after one step toward the planes through ``after_mm``.

    Parameters
    ----------
    pose
        Where the points are now.
    before_mm, after_mm, normals
        ``(n, 3)``: points before the pose, points of the planes, unit normals of the planes.
    scale_range
        The scale is kept within it.

    Notes
    -----
    Chen & Medioni 1992, Image and Vision Computing 10:145, doi 10.1016/0262-8856(92)90066-C, with a scale.
    """
    placed = pose.apply(before_mm)
    middle = placed.mean(axis=0)
    arms = placed - middle
    reach = float(np.sqrt((arms**2).mean())) or 1.0
    columns = [np.cross(arms, normals) / reach, normals, row_sums(arms * normals)[:, None] / reach]
    system = np.concatenate(columns, axis=1)
    wanted = row_sums((after_mm - placed) * normals)
    normal_matrix = system.T @ system / len(system)
    hold = DAMPING * float(np.trace(normal_matrix)) / 7.0 * np.eye(7)
    step = np.linalg.solve(normal_matrix + hold, system.T @ wanted / len(system))
    turn, growth = rotation_matrix(step[:3] / reach), 1.0 + step[6] / reach
    scale = float(np.clip(pose.scale * growth, *scale_range))
    factor = scale / pose.scale
    shift = factor * turn @ (pose.shift_mm - middle) + middle + step[3:6]
    return Similarity(scale, turn @ pose.rotation, shift)
