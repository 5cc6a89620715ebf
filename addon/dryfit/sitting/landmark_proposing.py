"""Proposed landmarks in the scene: Empties that say how far they may be off, until somebody confirms or places them."""

from typing import Any

from ..performer.landmarks.proposal import Proposal
from ..scene.units import mm_per_unit
from .landmark_placing import PROPOSED, Spot, place_landmark, placed_landmarks, stated_landmarks


def unconfirmed_landmarks(scene: Any) -> dict[str, float]:
    """Return the landmarks that were proposed and not confirmed, with the error to reckon with, mm."""
    waiting = {name: item for name, item in placed_landmarks(scene).items() if PROPOSED in item}
    return {name: float(item[PROPOSED]) for name, item in waiting.items() if name not in stated_landmarks()}


def place_proposed(scene: Any, proposal: Proposal) -> tuple[str, ...]:
    """Mark the proposed landmarks and return their names; one that somebody placed or stated is left alone."""
    from mathutils import Vector

    kept = (set(placed_landmarks(scene)) | stated_landmarks()) - set(unconfirmed_landmarks(scene))
    factor = mm_per_unit(scene)
    names = tuple(name for name in proposal.points_mm if name not in kept)
    for name in names:
        item = place_landmark(scene, name, Spot(Vector(proposal.points_mm[name] / factor)))
        item[PROPOSED] = round(proposal.confidence[name].expected_mm, 1)
    return names


def confirm_landmarks(scene: Any) -> int:
    """Take the mark of a proposal from every landmark and return how many had it."""
    names = unconfirmed_landmarks(scene)
    for name in names:
        del placed_landmarks(scene)[name][PROPOSED]
    return len(names)
