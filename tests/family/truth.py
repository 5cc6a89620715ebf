"""What is true of a mouth, from its own vertices: heights of facing margins, ways, turns and overlaps."""

from dataclasses import dataclass

import numpy as np

STATIONS = 41
CORNER_SHARE = 0.02
COLUMN_MM = 0.05


@dataclass(frozen=True)
class LipGap:
    """The gap between the lips at places across the mouth, all ``(s,)``, mm.

    Attributes
    ----------
    across_mm
        Places, from right to left.
    height_mm
        Lowest point of the upper lip over highest point of the lower one: how tall the gap is seen from the front,
        negative where one lip hides behind the other.
    column_mm
        The least upright distance between the two: what the lower lip must rise to touch; nan where nothing of one
        stands over the other.
    behind_mm
        How far back the lower lip's highest point is from the upper lip's lowest.
    """

    across_mm: np.ndarray
    height_mm: np.ndarray
    column_mm: np.ndarray
    behind_mm: np.ndarray

    @property
    def largest_mm(self):
        """The tallest gap."""
        return float(np.nanmax(self.height_mm))

    @property
    def midline_mm(self):
        """The gap in the middle."""
        return float(self.height_mm[len(self.height_mm) // 2])

    @property
    def largest_column_mm(self):
        """The longest way the lower lip must rise to touch."""
        return float(np.nanmax(self.column_mm))


def lip_gap(head, posed_mm=None, frame=None):
    """Return the gap of a head's lips at rest or posed, ``LipGap``, in the head's own upright frame."""
    posed = head.vertices_mm if posed_mm is None else posed_mm
    placed = posed @ (head.frame if frame is None else frame).T
    corners = [placed[head.marks[f"cheilion_{side}"], 0] for side in ("right", "left")]
    middle = 0.5 * sum(corners)
    half = (0.5 - CORNER_SHARE) * (corners[1] - corners[0])
    across = np.linspace(middle - half, middle + half, STATIONS)
    lips = [placed[_faces_of(head, lip)] for lip in (head.upper_lip, head.lower_lip)]
    read = np.array([_at(_section(lips[0], x), _section(lips[1], x)) for x in across])
    return LipGap(across, *read.T)


def _faces_of(head, chosen):
    return head.faces[chosen[head.faces].all(axis=1)]


def _section(triangles, x):
    """Return where triangles ``(m, 3, 3)`` are cut by an upright fore-and-aft plane, ``(k, 2, 2)`` (front, up)."""
    side = triangles[:, :, 0] - x
    triangles, side = (each[(side.min(axis=1) < 0.0) & (side.max(axis=1) >= 0.0)] for each in (triangles, side))
    ends = []
    for corner in range(3):
        other = (corner + 1) % 3
        apart = side[:, corner] - side[:, other]
        crossed = (side[:, corner] < 0.0) != (side[:, other] < 0.0)
        share = np.where(crossed, side[:, corner] / np.where(crossed, apart, 1.0), np.nan)[:, None]
        ends.append(triangles[:, corner, 1:] * (1.0 - share) + triangles[:, other, 1:] * share)
    stacked = np.stack(ends, axis=1)
    found = np.isfinite(stacked[:, :, 0])
    return stacked[found].reshape(-1, 2, 2)


def _at(upper, lower):
    """Return height, column and behind at one station, from the two lips' sections."""
    if not (len(upper) and len(lower)):
        return np.nan, np.nan, np.nan
    low = upper.reshape(-1, 2)[upper.reshape(-1, 2)[:, 1].argmin()]
    high = lower.reshape(-1, 2)[lower.reshape(-1, 2)[:, 1].argmax()]
    front = np.arange(min(upper[:, :, 0].min(), lower[:, :, 0].min()), upper[:, :, 0].max() + COLUMN_MM, COLUMN_MM)
    columns = _envelope(upper, front, 1.0) + _envelope(lower, front, -1.0)
    known = np.isfinite(columns)
    return low[1] - high[1], columns[known].min() if known.any() else np.nan, low[0] - high[0]


def _envelope(segments, front, sign):
    """Return ``sign`` times the height of the lowest (sign 1) or highest (sign -1) segment at each front place."""
    start, end = segments[:, 0], segments[:, 1]
    run = end[:, 0] - start[:, 0]
    share = (front[None] - start[:, :1]) / np.where(np.abs(run) < 1e-9, 1e-9, run)[:, None]
    height = sign * (start[:, 1:] * (1.0 - share) + end[:, 1:] * share)
    return np.where((share >= 0.0) & (share <= 1.0), height, np.inf).min(axis=0)


def turned_deg(before_mm, after_mm):
    """Return the angle of the rigid turn that takes points ``(n, 3)`` nearest to others (Kabsch 1976)."""
    before, after = before_mm - before_mm.mean(axis=0), after_mm - after_mm.mean(axis=0)
    u, _, vt = np.linalg.svd(before.T @ after)
    turn = vt.T @ np.diag([1.0, 1.0, np.sign(np.linalg.det(vt.T @ u.T))]) @ u.T
    return float(np.degrees(np.arccos(np.clip((np.trace(turn) - 1.0) / 2.0, -1.0, 1.0))))


def farthest_mm(before_mm, after_mm):
    """Return how far the points ``(n, 3)`` that moved most have moved."""
    return float(np.linalg.norm(after_mm - before_mm, axis=1).max())
