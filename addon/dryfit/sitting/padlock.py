"""The base of the open scene and its lock, as the sidebar shows and sets them."""

from dataclasses import dataclass
from typing import Any

from ..model.errors import MissingRole
from ..model.snapshot import Role
from ..scene.locking import FINGERPRINT, store_lock, unlock_base
from ..scene.reading import read_snapshot
from ..scene.roles import ROLE
from .limits_state import scene_brief


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


def scene_base(scene: Any) -> Any | None:
    """Return the first object of the scene with the role ``base``, or None."""
    return next((item for item in scene.objects if item.get(ROLE) == Role.BASE), None)


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
        When the scene cannot be read.
    """
    item = scene_base(context.scene)
    if item is None:
        raise MissingRole(Role.BASE, context.scene.name)
    base = read_snapshot(context, scene_brief(context.scene)).base
    lock = store_lock(item, base)
    return Locked(lock.fingerprint, len(base.vertices_mm))


def release_lock(scene: Any) -> None:
    """Forget the lock of the scene's base."""
    base = scene_base(scene)
    if base is not None:
        unlock_base(base)
