"""Connected patches of a skin that dip below a level of clearance, with area, depth and removed volume."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .areas import Facets, areas_mm2, clip_below, prism_volumes_mm3, split_evenly
from .rows import row_highs, row_lows, row_norms
from .surface import Surface
from .topology import grouped, label_facets

FACET_MM = 1.0
"""Faces near the level are cut until no edge is longer, so that detail of the base inside a face counts."""
MOST_PARTS = 12


@dataclass(frozen=True)
class SampledSkin:
    """A skin cut finely where it matters, with the clearance of every corner.

    Attributes
    ----------
    facets
        Small triangles on the skin's faces.
    corners_mm, foot_mm
        Corner positions and their closest base points, ``(q, 3, 3)``.
    clearance_mm
        ``(q, 3)``, positive outside the base, nan off the scan.
    """

    facets: Facets
    corners_mm: FloatArray
    foot_mm: FloatArray
    clearance_mm: FloatArray


@dataclass(frozen=True)
class Patch:
    """One connected patch below the level.

    Attributes
    ----------
    faces
        Indices of the skin's faces it lies on, ``(f,)``.
    area_mm2, volume_mm3
        Area of the patch, and the volume between it and the base.
    depth_mm, deepest_mm
        Greatest depth below the base, and where, ``(3,)``.
    """

    faces: IntArray
    area_mm2: float
    volume_mm3: float
    depth_mm: float
    deepest_mm: FloatArray


def sample_near_level(
    vertices_mm: FloatArray,
    faces: IntArray,
    clearance_mm: FloatArray,
    foot_mm: FloatArray,
    base: Surface,
    level_mm: float,
) -> SampledSkin:
    """Cut a skin's faces finely where it could be below a level, and measure the new corners.

    Clearance changes by at most a millimetre a millimetre, so a face whose corners are all higher above
    the level than they are far from its middle cannot dip below it and stays whole.

    Parameters
    ----------
    vertices_mm, faces
        The skin, ``(n, 3)`` and ``(m, 3)``.
    clearance_mm, foot_mm
        Clearance ``(n,)`` and closest base point ``(n, 3)`` of its vertices.
    base
        The base.
    level_mm
        The clearance below which patches are sought.
    """
    triangles = vertices_mm[faces]
    longest = row_highs(row_norms(triangles - np.roll(triangles, -1, axis=1)))
    lowest = row_lows(np.where(np.isnan(clearance_mm[faces]), -np.inf, clearance_mm[faces]))
    near = lowest - longest / np.sqrt(3.0) < level_mm
    parts = np.where(near, np.clip(np.ceil(longest / FACET_MM), 1, MOST_PARTS), 1).astype(np.int64)
    facets = split_evenly(parts)
    corners_mm = facets.of(triangles)
    foot = facets.of(foot_mm[faces])
    clearance = facets.of(clearance_mm[faces])
    fresh = np.flatnonzero(parts[facets.face] > 1)
    points = corners_mm[fresh].reshape(-1, 3)
    fresh_mm, closest = base.clearance_and_closest(points)
    clearance[fresh], foot[fresh] = fresh_mm.reshape(-1, 3), closest.point.reshape(-1, 3, 3)
    return SampledSkin(facets, corners_mm, foot, clearance)


def patches_below(sampled: SampledSkin, faces: IntArray, level_mm: float) -> list[Patch]:
    """Return the connected patches whose clearance is under a level, deepest first.

    Parameters
    ----------
    sampled
        A skin from ``sample_near_level`` with the same level.
    faces
        The skin's faces ``(m, 3)``; patches are connected over their shared edges.
    level_mm
        The level, negative below the base.
    """
    cut = clip_below(sampled.clearance_mm, level_mm)
    corners_mm, foot_mm = cut.of(sampled.corners_mm), cut.of(sampled.foot_mm)
    depth_mm = -cut.of(sampled.clearance_mm)
    owner = sampled.facets.face[cut.face]
    areas, volumes = areas_mm2(corners_mm), -prism_volumes_mm3(corners_mm, foot_mm)
    patches = []
    for own in grouped(label_facets(owner, faces)):
        deepest, corner = np.unravel_index(depth_mm[own].argmax(), (len(own), 3))
        patches.append(
            Patch(
                faces=np.unique(owner[own]),
                area_mm2=float(areas[own].sum()),
                volume_mm3=float(volumes[own].sum()),
                depth_mm=float(depth_mm[own[deepest], corner]),
                deepest_mm=corners_mm[own[deepest], corner],
            )
        )
    return sorted(patches, key=lambda patch: -patch.depth_mm)
