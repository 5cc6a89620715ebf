"""The base of the open scene and its lock, as the sidebar shows and sets them."""

import math
from dataclasses import dataclass
from typing import Any

from ..scene.locking import FINGERPRINT, lock_base, unlock_base
from ..scene.roles import the_base
from .base_drift import Drift, known_drift
from .brief_beside import brief_beside
from .parts import scene_base


@dataclass(frozen=True)
class LockWords:
    """Whether a base is locked, whether it drifted from its locked shape, and words for it."""

    locked: bool
    drifted: bool
    words: str


@dataclass(frozen=True)
class Locked:
    """What was locked."""

    fingerprint: str
    vertices: int


def lock_words(base: Any) -> LockWords:
    """Tell a base's lock as the last look found it; the mesh is not read here."""
    if not base.get(FINGERPRINT):
        return LockWords(False, False, "Not locked")
    drift = known_drift(base)
    if drift is None:
        return LockWords(True, False, "Locked, not compared yet")
    if drift.trouble:
        return LockWords(True, True, f"Locked, but it cannot be compared: {drift.trouble}")
    if drift.held:
        return LockWords(True, False, "Locked and unchanged")
    return LockWords(True, True, _drift_words(drift))


def _drift_words(drift: Drift) -> str:
    if math.isnan(drift.change_mm):
        return "Changed since it was locked; its lock cannot tell by how much"
    if drift.change_mm <= drift.limit_mm:
        return f"Another mesh than the locked one, within {max(drift.change_mm, 0.001):.3f} mm of it"
    return f"Moved by {drift.change_mm:.2f} mm since it was locked"


def lock_base_of(context: Any) -> Locked:
    """Lock the base of the open scene as it is now.

    Raises
    ------
    InputError
        When the scene has not one base, or that cannot be read.
    """
    brief = brief_beside()
    lock = lock_base(the_base(context.scene.objects, brief, context.scene.name), context, brief)
    return Locked(lock.fingerprint, len(lock.vertices_mm))


def release_lock(scene: Any) -> None:
    """Forget the lock of the scene's base."""
    base = scene_base(scene)
    if base is not None:
        unlock_base(base)
