"""How far the base drifted from its lock, known before any check: read again only when the base is another one.

What was read is kept by the base's hash (see ``still_true.design_prints``), so that nothing is compared twice.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ..model.errors import DryfitError
from ..model.snapshot import Lock, Part, Snapshot
from ..performer.lock import Held, LockState
from ..scene.locking import base_at_rest, stored_lock
from .brief_beside import brief_beside
from .open_design import scene_brief
from .still_true.design_prints import LOCK

AT_REST_MODE = "OBJECT"
"""The mode in which a base can be read as a check reads it, without leaving what a hand is doing."""


@dataclass(frozen=True)
class Drift:
    """What became of a locked base.

    Attributes
    ----------
    held
        Whether it is the locked one.
    change_mm
        How far it moved at most; nan where its lock kept a fingerprint only.
    limit_mm
        How far a base may move and still measure the same.
    trouble
        Why it could not be compared, or ``""``.
    """

    held: bool
    change_mm: float = 0.0
    limit_mm: float = 0.0
    trouble: str = ""


_seen: dict[int, tuple[tuple[str, str], Drift]] = {}


def known_drift(base: Any) -> Drift | None:
    """Return what the last look made of a base, or None where it was not compared yet."""
    seen = _seen.get(base.session_uid)
    return None if seen is None else seen[1]


def compare_with_lock(context: Any, base: Any, prints: Mapping[str, str]) -> bool:
    """Compare a locked base with its lock where it is another one than the last time; return whether that changed.

    Parameters
    ----------
    base
        The scene's base, locked.
    prints
        What the design is made of now; see ``design_prints``.
    """
    key = (prints.get(base.name, ""), prints[LOCK])
    seen = _seen.get(base.session_uid)
    active = context.view_layer.objects.active
    if (seen is not None and seen[0] == key) or (active is not None and active.mode != AT_REST_MODE):
        return False
    drift = _compared(context, base)
    _seen[base.session_uid] = (key, drift)
    return seen is None or seen[1] != drift


def forget_drifts() -> None:
    """Know nothing any more: another file is open, or the session's numbers mean other objects."""
    _seen.clear()


def _compared(context: Any, base: Any) -> Drift:
    try:
        lock = stored_lock(base)
        rested = base_at_rest(base, context, brief_beside())
        limit_mm = scene_brief(context.scene).limits.base_moved_mm
    except (DryfitError, OSError) as error:
        return Drift(held=False, trouble=str(error))
    state = LockState.of(_snapshot(rested, lock))
    return Drift(state.held == Held.HELD, state.max_change_mm, limit_mm)


def _snapshot(base: Part, lock: Lock | None) -> Snapshot:
    return Snapshot(name=base.name, parts=(base,), lock=lock)
