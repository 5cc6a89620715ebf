"""Where a finding is in what the viewport shows: one that was measured in a pose is elsewhere while the face rests."""

from typing import Any

import numpy as np

from ..model.arrays import FloatArray
from ..scene.units import mm_per_unit
from .posed_view import player
from .stored_report import finding_elements

SAME_T = 5e-3
"""Poses this near look alike: half a step of the slider."""


def shown_place(scene: Any, finding: Any) -> FloatArray | None:
    """Return the finding's place ``(3,)``, Blender units, world space; None where another pose is shown."""
    at = np.array(finding.at_mm) / mm_per_unit(scene)
    playing = player()
    if playing is not None and playing.scene == scene.name:
        here = playing.motion == finding.motion and abs(scene.dryfit.t - finding.t) < SAME_T
        return at if here else None
    return resting_place(scene, finding, at) if finding.motion else at


def resting_place(scene: Any, finding: Any, otherwise: FloatArray) -> FloatArray:
    """Return the middle of the finding's vertices on its piece as it was sculpted, Blender units.

    Parameters
    ----------
    otherwise
        What to return where the piece is gone or was rebuilt, ``(3,)``.
    """
    item, chosen = finding.subject, finding_elements(scene, finding.check, finding.name)
    fits = item is not None and item.type == "MESH" and finding.kind == "vertices" and len(chosen)
    if not fits or chosen.max() >= len(item.data.vertices):
        return otherwise
    own = np.array([item.data.vertices[place].co for place in chosen.tolist()])
    matrix = np.array(item.matrix_world)
    return np.asarray(own.mean(axis=0) @ matrix[:3, :3].T + matrix[:3, 3])
