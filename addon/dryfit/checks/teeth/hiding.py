"""What can hide teeth from some view points: only that, posed and indexed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...geometry import Surface
from ...geometry.rows import dot_rows, highs, lows, row_norms
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.snapshot import Part, Role
from ...performer.fitting import Fitting
from .shown_poses import ShownPose

WORN = (Role.APPLIANCE, Role.HARDWARE)
BARE = (Role.BASE, Role.UPPER_TEETH, Role.LOWER_TEETH)


def bare_hiding(fitting: Fitting, pose: ShownPose, eyes: Sequence[FloatArray], teeth_mm: FloatArray) -> Surface | None:
    """Return the base and the teeth where they may stand between points on teeth ``(k, 3)`` and any eye, or None."""
    ball = ball_round(teeth_mm)
    pieces = []
    for part in fitting.snapshot.with_role(*BARE):
        posed_mm = pose.vertices_mm(fitting, part)
        pieces.append((posed_mm, part.faces[may_hide(posed_mm, part.faces, eyes, *ball)]))
    return _joined(pieces)


def worn_hiding(fitting: Fitting, pose: ShownPose, eyes: Sequence[FloatArray], teeth_mm: FloatArray) -> Surface | None:
    """Return what is worn where it may stand between points on teeth ``(k, 3)`` and any eye, or None.

    Only what is near enough at rest to come between is posed: nothing worn moves further than the base's skin and
    the length it stands off.
    """
    ball = ball_round(teeth_mm)
    worn = fitting.snapshot.with_role(*WORN)
    return _joined([fitting.kept.of(_hiding, part, fitting.alone(part), pose, tuple(eyes), ball) for part in worn])


def _hiding(
    part: Part, alone: Fitting, pose: ShownPose, eyes: tuple[FloatArray, ...], ball: tuple[FloatArray, float]
) -> tuple[FloatArray, IntArray]:
    """Return those of a worn part's faces that may come between, and its posed vertices that they need, mm."""
    middle, radius_mm = ball
    far_mm = farthest_mm(alone, pose, part)
    ids, faces = _compact(part.faces[may_hide(part.vertices_mm, part.faces, eyes, middle, radius_mm + far_mm)])
    posed_mm = pose.vertices_mm(alone, part, ids) if len(faces) else np.zeros((0, 3))
    return posed_mm, faces[may_hide(posed_mm, faces, eyes, middle, radius_mm)]


def farthest_mm(fitting: Fitting, pose: ShownPose, part: Part) -> float:
    """Return how far a worn part's vertices may be from where they are at rest, mm, at the most.

    Its foot moves with the skin; turning, its offset moves its end by twice its length at the most. A part with keys
    of its own is taken to move as far as its farthest vertex.
    """
    if not pose.motion:
        return 0.0
    source = fitting.poses(pose.motion).source
    if part.role == Role.HARDWARE or (source.keyed is not None and source.keyed.moves(part.name)):
        return float(row_norms(pose.vertices_mm(fitting, part) - part.vertices_mm).max())
    base = fitting.base
    moved_mm = row_norms(pose.vertices_mm(fitting, base) - base.vertices_mm).max()
    return float(moved_mm + 2.0 * fitting.binding(part).distance_mm.max())


def _compact(faces: IntArray) -> tuple[IntArray, IntArray]:
    ids, compact = np.unique(faces, return_inverse=True)
    return ids, compact.reshape(-1, 3)


def _joined(pieces: Sequence[tuple[FloatArray, IntArray]]) -> Surface | None:
    vertices: list[FloatArray] = []
    faces: list[IntArray] = []
    for posed_mm, kept in pieces:
        ids, compact = _compact(kept)
        faces.append(compact + sum(map(len, vertices)))
        vertices.append(posed_mm[ids])
    if not sum(map(len, faces)):
        return None
    return Surface(np.concatenate(vertices), np.concatenate(faces))


def ball_round(points_mm: FloatArray) -> tuple[FloatArray, float]:
    """Return middle ``(3,)`` and radius of a ball that holds all points ``(k, 3)``, mm."""
    middle = 0.5 * (lows(points_mm) + highs(points_mm))
    return middle, float(row_norms(points_mm - middle).max())


def may_hide(
    vertices_mm: FloatArray, faces: IntArray, eyes: Sequence[FloatArray], middle: FloatArray, radius_mm: float
) -> BoolArray:
    """Tell which faces ``(m, 3)`` may lie between a ball and any eye.

    All sight lines stay within the ball's radius of the line from its middle to the eye, and none goes behind it.
    Each face counts as the ball round its corners, so that none that could hide anything is left out.
    """
    corners = [vertices_mm[faces[:, corner]] for corner in range(3)]
    centre = (corners[0] + corners[1] + corners[2]) / 3.0
    size_mm = np.sqrt(np.maximum.reduce([_square(corner - centre) for corner in corners]))
    off = centre - middle
    far, reach_mm = _square(off), radius_mm + size_mm
    beyond = far - reach_mm**2
    inside = np.zeros(len(faces), bool)
    for eye in eyes:
        along = off @ ((eye - middle) / max(float(np.linalg.norm(eye - middle)), 1e-12))
        inside |= (along >= -reach_mm) & (along * along >= beyond)
    return inside


def _square(vectors: FloatArray) -> FloatArray:
    return np.asarray(dot_rows(vectors, vectors))
