"""Is this base still the locked one: held, changed or unlocked, and how far it moved."""

from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

import numpy as np

from ..geometry import Surface
from ..geometry.rigid_fit import RigidFit, rigid_fit
from ..geometry.rows import row_norms
from ..model.arrays import FloatArray
from ..model.fingerprint import fingerprint
from ..model.snapshot import Snapshot

RENUMBERED_MM = 1.0
"""Vertices that seem to have moved less than this are taken to have moved, not to have changed their numbers."""


class Held(StrEnum):
    """What became of the locked base."""

    HELD = "held"
    CHANGED = "changed"
    UNLOCKED = "unlocked"


@dataclass(frozen=True)
class LockState:
    """The base against its lock. Distances are worked out when first asked for.

    Attributes
    ----------
    fingerprint
        The base's fingerprint now.
    held
        Whether it is the locked one's.
    """

    snapshot: Snapshot
    fingerprint: str
    held: Held

    @classmethod
    def of(cls, snapshot: Snapshot) -> "LockState":
        """Compare the base's fingerprint with the lock's."""
        base, lock = snapshot.base, snapshot.lock
        now = fingerprint(base.vertices_mm, base.faces)
        if lock is None:
            return cls(snapshot, now, Held.UNLOCKED)
        return cls(snapshot, now, Held.HELD if lock.fingerprint == now else Held.CHANGED)

    @property
    def locked_mm(self) -> FloatArray:
        """The locked vertices ``(n, 3)``; empty where only a fingerprint was kept or nothing is locked."""
        lock = self.snapshot.lock
        return lock.vertices_mm if lock is not None else np.zeros((0, 3))

    @property
    def kept(self) -> bool:
        """Whether the locked vertices themselves were kept."""
        return bool(len(self.locked_mm))

    @property
    def same_count(self) -> bool:
        """Whether the base has as many vertices as when it was locked."""
        return len(self.locked_mm) == len(self.snapshot.base.vertices_mm)

    @cached_property
    def off_surface_mm(self) -> FloatArray:
        """Distance ``(n,)`` of each locked vertex from the base as it is now, whatever became of its mesh."""
        base = self.snapshot.base
        return Surface(base.vertices_mm, base.faces).closest(self.locked_mm).distance_mm

    @cached_property
    def moved_mm(self) -> FloatArray:
        """How far each locked vertex moved, ``(n,)``: vertex by vertex, or off the surface where the mesh is "
        "another."""
        return self._step_mm if self.by_vertex else self.off_surface_mm

    @cached_property
    def _step_mm(self) -> FloatArray:
        step: FloatArray = row_norms(self.snapshot.base.vertices_mm - self.locked_mm)
        return step

    @cached_property
    def by_vertex(self) -> bool:
        """Whether ``moved_mm`` follows each vertex, so that it can say which way it went.

        Not so where the count differs, or where vertices only changed their numbers: far apart one by one, yet on
        the same surface.
        """
        if not self.same_count:
            return False
        far_mm = float(self._step_mm.max(initial=0.0))
        return far_mm <= RENUMBERED_MM or float(self.off_surface_mm.max(initial=0.0)) >= 0.01 * far_mm

    @property
    def max_change_mm(self) -> float:
        """The largest move; 0 where held or unlocked, nan where the locked vertices weren't kept."""
        if self.held != Held.CHANGED:
            return 0.0
        return float(self.moved_mm.max()) if self.kept else float("nan")

    @cached_property
    def as_a_whole(self) -> RigidFit | None:
        """The rigid motion of the whole base, where it moved without changing its shape."""
        if not self.by_vertex:
            return None
        fit = rigid_fit(self.locked_mm, self.snapshot.base.vertices_mm)
        return fit if fit.residual_mm < 0.01 and self.max_change_mm > 0.0 else None
