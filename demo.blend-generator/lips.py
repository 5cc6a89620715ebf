"""Bring a head's lips together: raise the lower lip by the gap it leaves."""

import heapq

import numpy as np
import numpy.typing as npt

from .ramps import smooth_step
from .rasters import raster

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

MOUTH_HALF_WIDTH_MM = 22.4
SEAL_MM = 0.05
CORNER_MM = 21.7
CORNER_FADE_MM = (20.9, 22.6)
FALLOFF_MM = (5.0, 17.0)
DEPTH_STEP_MM = 0.15


def lip_line(head: FloatArray, upper_ring: IntArray, lower_ring: IntArray) -> FloatArray:
    """Return the line where the lips meet, ``(k, 3)``, from the right corner to the left, mm."""
    across = np.linspace(-MOUTH_HALF_WIDTH_MM, MOUTH_HALF_WIDTH_MM, 91)
    lines = []
    for ring in (upper_ring, lower_ring):
        points = head[ring][np.argsort(head[ring][:, 0])]
        lines.append(np.stack([np.interp(across, points[:, 0], column) for column in points.T], axis=1))
    return (lines[0] + lines[1]) / 2.0


def distance_to_line(points: FloatArray, line: FloatArray) -> FloatArray:
    """Return distances ``(k,)`` from points to the nearest sample of a line, mm."""
    return np.sqrt(((points[:, None, :] - line[None]) ** 2).sum(axis=2).min(axis=1))


def nearer_to_upper(
    head: FloatArray, quads: IntArray, upper_ring: IntArray, lower_ring: IntArray
) -> npt.NDArray[np.bool_]:
    """Tell which vertices are nearer, along the mesh's edges, to the upper lip's margin than to the lower's."""
    corners = np.intersect1d(upper_ring, lower_ring)
    upper = walked_mm(head, quads, np.setdiff1d(upper_ring, corners))
    lower = walked_mm(head, quads, np.setdiff1d(lower_ring, corners))
    return upper < lower


def walked_mm(head: FloatArray, quads: IntArray, seeds: IntArray) -> FloatArray:
    """Return each vertex's distance from the nearest seed along edges (Dijkstra), mm; inf where out of reach."""
    pairs = np.stack([quads, np.roll(quads, -1, axis=1)], axis=-1).reshape(-1, 2)
    neighbours: list[list[tuple[int, float]]] = [[] for _ in head]
    for (a, b), length in zip(pairs.tolist(), np.linalg.norm(np.diff(head[pairs], axis=1), axis=2)[:, 0], strict=True):
        neighbours[a].append((b, float(length)))
        neighbours[b].append((a, float(length)))
    walked = np.full(len(head), np.inf)
    walked[seeds] = 0.0
    queue = [(0.0, int(seed)) for seed in seeds]
    while queue:
        so_far, here = heapq.heappop(queue)
        if so_far > walked[here]:
            continue
        for there, step in neighbours[here]:
            if so_far + step < walked[there]:
                walked[there] = so_far + step
                heapq.heappush(queue, (so_far + step, there))
    return walked


def gap_by_column(head: FloatArray, upper: IntArray, lower: IntArray, columns: FloatArray) -> FloatArray:
    """Return the smallest vertical gap between facing lips at places across, ``(k,)``, mm; nan where none faces.

    Parameters
    ----------
    head
        ``(n, 3)``.
    upper, lower
        Triangles ``(m, 3)`` of the two lips.
    columns
        Ascending places across, mm.
    """
    rows = np.arange(head[lower, 1].min(), head[lower, 1].max(), DEPTH_STEP_MM)
    floor = -raster(head * [1.0, 1.0, -1.0], upper, columns, rows).height
    roof = raster(head, lower, columns, rows).height
    gaps = np.where(np.isfinite(floor) & np.isfinite(roof), floor - roof, np.inf).min(axis=0)
    return np.where(np.isfinite(gaps), gaps, np.nan)


def lips_together(
    head: FloatArray, triangles: IntArray, line: FloatArray, is_upper: npt.NDArray[np.bool_]
) -> FloatArray:
    """Return the displacement ``(n, 3)`` that closes the lips to a seal of 0.05 mm, fading out over the chin."""
    moved = np.zeros_like(head)
    near = np.linalg.norm(head - line.mean(axis=0), axis=1) < 60.0
    distance = np.full(len(head), np.inf)
    distance[near] = distance_to_line(head[near], line)
    fade = np.where(is_upper, 0.0, 1.0 - smooth_step(distance, *FALLOFF_MM))
    fade *= 1.0 - smooth_step(np.abs(head[:, 0]), *CORNER_FADE_MM)
    lips = [triangles[((distance < 5.0) & side)[triangles].all(axis=1)] for side in (is_upper, ~is_upper)]
    columns = np.linspace(-CORNER_MM, CORNER_MM, 120)
    for _ in range(4):
        gaps = gap_by_column(head + moved, lips[0], lips[1], columns)
        known = np.isfinite(gaps)
        rise = np.interp(head[:, 0], columns[known], gaps[known] - SEAL_MM)
        moved[:, 2] += rise * fade
    return moved
