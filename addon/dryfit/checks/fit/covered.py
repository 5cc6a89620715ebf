"""How much of the face is under the design, by area."""

from __future__ import annotations

import numpy as np

from ...geometry.areas import areas_mm2
from ...geometry.rows import row_means
from ...model.arrays import BoolArray, FloatArray
from ...model.snapshot import Part
from ...performer.fitting import Fitting
from ...performer.head_frame import HeadFrame
from ...performer.worn import worn_surface

NEEDED = ("tragion_left", "tragion_right", "sellion", "gnathion")
NUDGE_MM = 0.01
INSIDE_MM = 120.0
"""Skin that looks at other skin of the head nearer than this lies within mouth, nose or ears."""
REACH_MM = 30.0
"""What stands further off the skin than this leaves air between."""


def covered_face(parts: list[Part], fitting: Fitting) -> dict[str, float | str]:
    """Return the share of the face's skin that has some of the parts over it, as a measure; none without landmarks.

    The face is the skin before the tragions and above the chin, hair line or not; what lies in mouth, nose and ears
    is left out. From the middle of each triangle of the base a ray goes straight out.
    """
    marks = fitting.snapshot.landmarks
    if any(name not in marks for name in NEEDED):
        return {}
    _, _, sizes = fitting.head.kept.of(_skin_of_face, fitting.head)
    if not sizes.sum() > 0.0:
        return {}
    over = np.zeros(len(sizes), dtype=bool)
    for part in parts:
        over |= fitting.kept.of(_covered_by, part, fitting.alone(part))
    return {"covered_face_share": float(sizes[over].sum() / sizes.sum())}


def _covered_by(part: Part, fitting: Fitting) -> BoolArray:
    """Return which places of the face's skin have a part over them, ``(k,)``."""
    start, outward, _ = fitting.head.kept.of(_skin_of_face, fitting.head)
    return worn_surface(part, fitting).blocked(start - 2.0 * NUDGE_MM * outward, outward, REACH_MM)


def _skin_of_face(head: Fitting) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return places on the face's skin and the way out from them, ``(k, 3)`` each, and their areas ``(k,)``, mm2."""
    marks = head.snapshot.landmarks
    frame, base = HeadFrame.from_landmarks(marks), head.base_surface
    corners = base.vertices_mm[base.faces]
    middles, sizes = row_means(corners), areas_mm2(corners)
    behind = np.mean([marks[f"tragion_{side}"] @ frame.front for side in ("left", "right")])
    face = (middles @ frame.front > behind) & (middles @ frame.up > marks["gnathion"] @ frame.up) & (sizes > 0.0)
    rows = np.flatnonzero(face)
    start, outward = middles[rows] + NUDGE_MM * base.normals[rows], base.normals[rows]
    outside = ~base.blocked(start, outward, INSIDE_MM)
    return start[outside], outward[outside], sizes[rows[outside]]
