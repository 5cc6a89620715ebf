"""Bring a head's lips together: raise the lower lip by the gap it leaves."""

import heapq

import numpy as np
import numpy.typing as npt

from .ramps import smooth_step

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

MOUTH_HALF_WIDTH_MM = 22.4
SEAL_MM = 0.08
FALLOFF_MM = (5.0, 17.0)
COLUMN_MM = 0.25
CELLS = 120


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


def sampled(vertices: FloatArray, triangles: IntArray, per_edge: int = 4) -> FloatArray:
    """Return evenly spread points ``(k, 3)`` on triangles, corners included."""
    steps = [(i, j) for i in range(per_edge + 1) for j in range(per_edge + 1 - i)]
    weights = np.array([(i, j, per_edge - i - j) for i, j in steps]) / per_edge
    points: FloatArray = np.einsum("wk,mkc->mwc", weights, vertices[triangles]).reshape(-1, 3)
    return points


def gap_by_column(upper: FloatArray, lower: FloatArray, columns: FloatArray) -> FloatArray:
    """Return the smallest vertical gap between facing lips at places across, ``(k,)``, mm; nan where none faces.

    Parameters
    ----------
    upper, lower
        Points on the two lips, dense against the cells they are compared in: 0.4 mm deep, 0.5 mm across.
    columns
        Places across, mm.
    """
    gaps = np.full(len(columns), np.nan)
    for number, column in enumerate(columns):
        floor = _extreme_by_depth(upper[np.abs(upper[:, 0] - column) < COLUMN_MM], np.minimum, np.inf)
        roof = _extreme_by_depth(lower[np.abs(lower[:, 0] - column) < COLUMN_MM], np.maximum, -np.inf)
        facing = np.isfinite(floor) & np.isfinite(roof)
        if facing.any():
            gaps[number] = (floor - roof)[facing].min()
    return gaps


def _extreme_by_depth(points: FloatArray, pick: np.ufunc, start: float) -> FloatArray:
    cells = np.full(CELLS, start)
    depth = np.clip(((points[:, 1] + 120.0) / 0.4).astype(np.int64), 0, CELLS - 1)
    pick.at(cells, depth, points[:, 2])
    return cells


def lips_together(head: FloatArray, triangles: IntArray, line: FloatArray, is_upper: npt.NDArray[np.bool_]) -> FloatArray:
    """Return the displacement ``(n, 3)`` that closes the lips to a seal of 0.08 mm, fading out over the chin."""
    moved = np.zeros_like(head)
    near = np.linalg.norm(head - line.mean(axis=0), axis=1) < 60.0
    distance = np.full(len(head), np.inf)
    distance[near] = distance_to_line(head[near], line)
    fade = np.where(is_upper, 0.0, 1.0 - smooth_step(distance, *FALLOFF_MM))
    lips = [triangles[((distance < 5.0) & side)[triangles].all(axis=1)] for side in (is_upper, ~is_upper)]
    columns = np.linspace(-21.8, 21.8, 110)
    for _ in range(5):
        upper, lower = (sampled(head + moved, lip) for lip in lips)
        gaps = gap_by_column(upper, lower, columns)
        known = np.isfinite(gaps)
        rise = np.interp(head[:, 0], columns[known], gaps[known] - SEAL_MM, left=0.0, right=0.0)
        moved[:, 2] += rise * fade
    return moved
