"""How the base itself moves: by its keys, or by a hinge found from landmarks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

from ..geometry.rigid import RigidMotion
from ..model.arrays import FloatArray, IntArray
from ..model.errors import DryfitError
from ..model.snapshot import Motion

if TYPE_CHECKING:
    from .fitting import Fitting

Posed = Callable[[float], FloatArray]
"""``t -> (k, 3)`` mm."""


class NoMotion(DryfitError):
    """A motion that is neither keyed nor can be made from landmarks."""

    def __init__(self, name: str, why: str) -> None:
        super().__init__(f"there is no motion '{name}': {why}")


class Hinge(Protocol):
    """A jaw that turns."""

    def motion_at(self, t: float) -> RigidMotion:
        """Return the mandible's motion from rest at ``t``."""


@dataclass(frozen=True)
class BaseMotion:
    """How the base moves.

    Attributes
    ----------
    following
        From some vertices of the base to where they are at any t.
    keyed
        The keyed motion, or None.
    hinge
        The hinge, or None.
    """

    following: Callable[[IntArray], Posed]
    keyed: Motion | None = None
    hinge: Hinge | None = None


def base_motion(fitting: Fitting, name: str) -> BaseMotion:
    """Return how the base moves in the named motion; a hinge in the brief goes before keys.

    Raises
    ------
    NoMotion
        When there is none of that name, and what to add.
    """
    stated = fitting.brief.motions.get(name)
    keyed = fitting.snapshot.motions.get(name)
    if keyed is not None and (stated is None or stated.hinge is None):
        return _keyed(fitting, keyed)
    raise NoMotion(name, f"add shape keys under [motions.{name}] in the brief")


def _keyed(fitting: Fitting, motion: Motion) -> BaseMotion:
    base = fitting.base
    if motion.moves(base.name):
        return BaseMotion(lambda ids: keyed_vertices(motion, base.name, ids), keyed=motion)
    return BaseMotion(lambda ids: lambda t: base.vertices_mm[ids], keyed=motion)


def keyed_vertices(motion: Motion, part: str, ids: IntArray) -> Posed:
    """Return where some vertices of a keyed part are at any t."""
    frames = motion.frames_mm[part]
    if len(ids) != frames.shape[1] or not np.array_equal(ids, np.arange(len(ids))):
        motion = Motion(motion.name, motion.frames_t, {part: frames[:, ids]})
    return lambda t: motion.vertices_at(part, t)
