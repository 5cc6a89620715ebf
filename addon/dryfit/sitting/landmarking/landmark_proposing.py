"""Proposed landmarks in the scene: Empties that say how far they may be off, until somebody confirms or places them."""

from typing import Any

from ...performer.landmarks.proposal import Proposal
from ...scene.landmarks import PROPOSED, landmark_errors
from ...scene.units import mm_per_unit
from .landmark_placing import Spot, place_landmark, placed_landmarks, stated_landmarks


def unconfirmed_landmarks(scene: Any) -> dict[str, float]:
    """Return the landmarks that were proposed and not confirmed, with the error to reckon with, mm."""
    waiting = landmark_errors(placed_landmarks(scene))
    return {name: error_mm for name, error_mm in waiting.items() if name not in stated_landmarks()}


def place_proposed(scene: Any, proposal: Proposal) -> tuple[str, ...]:
    """Mark the proposed landmarks and return their names; one that somebody placed or stated is left alone."""
    from mathutils import Vector

    kept = (set(placed_landmarks(scene)) | stated_landmarks()) - set(unconfirmed_landmarks(scene))
    factor = mm_per_unit(scene)
    names = tuple(name for name in proposal.points_mm if name not in kept)
    for name in names:
        item = place_landmark(scene, name, Spot(Vector(proposal.points_mm[name] / factor)))
        item[PROPOSED] = round(proposal.bound_mm[name], 1)
    scene.dryfit.tags = scene.dryfit.tags or bool(names)
    return names


def confirm_landmarks(scene: Any, only: str = "") -> int:
    """Take the mark of a proposal from every landmark, or from one, and return how many had it."""
    names = [name for name in unconfirmed_landmarks(scene) if only in ("", name)]
    for name in names:
        del placed_landmarks(scene)[name][PROPOSED]
    if not unconfirmed_landmarks(scene):
        scene.dryfit.tags = False
    return len(names)
