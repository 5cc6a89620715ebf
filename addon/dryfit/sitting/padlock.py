"""The base of the open scene and its lock, as the sidebar shows and sets them."""

from dataclasses import dataclass
from typing import Any

from ..scene.locking import FINGERPRINT, lock_base, unlock_base
from ..scene.roles import the_base
from .brief_beside import brief_beside
from .parts import scene_base


@dataclass(frozen=True)
class LockWords:
    """Whether a base is locked, whether the lock held at the last check, and words for it."""

    locked: bool
    held: bool
    words: str


@dataclass(frozen=True)
class Locked:
    """What was locked."""

    fingerprint: str
    vertices: int


def lock_words(base: Any) -> LockWords:
    """Tell a base's lock, as far as it is known without reading the mesh."""
    print_then = base.get(FINGERPRINT)
    if not print_then:
        return LockWords(False, False, "Not locked")
    return LockWords(True, True, f"Locked · {str(print_then)[:8]}")


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
