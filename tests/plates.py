"""Flat things held before a face, and a smooth head with eyes to hold them before."""

import numpy as np

from dryfit.model.snapshot import Part, Snapshot
from shapes import icosphere

EYE_MM = np.array([32.0, -120.0, 10.0])
"""Front of the left cornea: well before the head, so that the head itself is in nobody's way ahead."""
ENTRANCE_MM = EYE_MM + [0.0, 3.0, 0.0]
FRAME_MARKS = {
    "tragion_left": [75, 0, 0], "tragion_right": [-75, 0, 0], "sellion": [0, -100, 20], "gnathion": [0, -100, -80],
}  # fmt: skip


def ring(inner, outer, middle_mm, steps=1440):
    """A flat ring across the line of sight; inner and outer are (half width, half height), mm."""
    angle = np.arange(steps) * 2 * np.pi / steps
    circle = np.stack([np.cos(angle), 0 * angle, np.sin(angle)], axis=1)
    rim = lambda size: circle * [size[0], 1.0, size[1]] + middle_mm  # noqa: E731
    here, after = np.arange(steps), (np.arange(steps) + 1) % steps
    faces = np.concatenate(
        [np.stack([here, after, after + steps], 1), np.stack([here, after + steps, here + steps], 1)]
    )
    return np.concatenate([rim(inner), rim(outer)]), faces


def board(low, high):
    """A flat rectangle between two corners that share one coordinate."""
    low, high = np.array(low, float), np.array(high, float)
    one, other = np.flatnonzero(low != high)
    corners = np.stack([low, low, high, high])
    corners[1, one] = high[one]
    corners[3, one] = low[one]
    assert other != one
    return corners, np.array([[0, 1, 2], [0, 2, 3]])


def facing(*worn, eyes=("left",), role="hardware", more=(), base=None):
    """A head with eyes and plates before it."""
    marks = dict(FRAME_MARKS)
    for side in eyes:
        marks[f"pupil_{side}"] = EYE_MM * [1.0 if side == "left" else -1.0, 1.0, 1.0]
    parts = [Part("Head", "base", *(base or icosphere(4)))]
    parts += [Part(f"Plate{number}", role, *mesh) for number, mesh in enumerate(worn)]
    return Snapshot("plates", parts=(*parts, *more), landmarks={name: np.array(at) for name, at in marks.items()})
