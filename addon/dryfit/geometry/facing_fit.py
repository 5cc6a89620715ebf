"""Closest points that must also face alike: a nose finds the nose and not the lip it lies over.

Plain closest points slide along a face, whose features are small beside its size. Held in place and direction at once,
as points ``(p, reach * n)`` of six coordinates, a slope is matched with a slope.
"""

import numpy as np

from ..model.arrays import FloatArray
from .rows import lows, row_lows, row_norms, row_sums
from .similarity import Similarity, fit_similarity
from .surface_fit import Cloud

REACH_MM = 18.0
"""Normals at right angles count like points this far apart, times the square root of two."""
KEEP = 0.8
"""Share of the pairs that each round keeps, the nearest."""


def faced_alike(
    pose: Similarity, mine: Cloud, theirs: Cloud, rounds: int, scale_range: tuple[float, float] = (0.75, 1.3)
) -> tuple[Similarity, float]:
    """Return a pose improved by pairs that agree in place and in direction.

    Parameters
    ----------
    pose
        Where to start, mm.
    mine, theirs
        Points of the template and of the scan with outward normals; every pair of them is looked at.
    rounds
        How often, 1 or more.
    scale_range
        The scale is kept within it.

    Returns
    -------
    Similarity
        The pose.
    float
        Root mean square distance of the pairs kept, direction included, mm.

    Notes
    -----
    Johnson & Kang 1999, Image and Vision Computing 17:135, doi 10.1016/S0262-8856(98)00117-6, use colour as further
    coordinates in the same way.
    """
    targets = _six(theirs.points_mm, theirs.normals)
    for _ in range(rounds):
        apart = _apart(_six(pose.apply(mine.points_mm), pose.turn(mine.normals)), targets)
        nearest = apart.argmin(axis=1)
        far = apart[np.arange(len(apart)), nearest]
        kept = far <= np.quantile(far, KEEP)
        pose = fit_similarity(mine.points_mm[kept], theirs.points_mm[nearest[kept]], scale_range=scale_range)
    return pose, float(np.sqrt(far[kept].mean()))


def facing_misfit_mm(pose: Similarity, mine: Cloud, theirs: Cloud) -> tuple[FloatArray, FloatArray]:
    """Return how far points are from the nearest that face alike: the template's ``(k,)`` and the scan's ``(l,)``, mm.

    Parameters
    ----------
    pose, mine, theirs
        As for ``faced_alike``.
    """
    placed = _six(pose.apply(mine.points_mm), pose.turn(mine.normals))
    apart = _apart(placed, _six(theirs.points_mm, theirs.normals))
    return np.sqrt(row_lows(apart)), np.sqrt(lows(apart))


def _six(points_mm: FloatArray, normals: FloatArray) -> FloatArray:
    return np.concatenate([points_mm, REACH_MM * normals], axis=1)


def _apart(placed: FloatArray, targets: FloatArray) -> FloatArray:
    """Return the squared distance of every two of ``(k, 6)`` and ``(l, 6)``, ``(k, l)``."""
    squares = row_sums(placed**2)[:, None] + row_sums(targets**2)
    return np.asarray(np.maximum(squares - 2.0 * placed @ targets.T, 0.0))


def near_cloud(cloud: Cloud, middle_mm: FloatArray, radius_mm: float) -> Cloud:
    """Return the points of a cloud within a radius of a place ``(3,)``, mm; all of them where none is."""
    near = row_norms(cloud.points_mm - middle_mm) < radius_mm
    return Cloud(cloud.points_mm[near], cloud.normals[near]) if near.any() else cloud
