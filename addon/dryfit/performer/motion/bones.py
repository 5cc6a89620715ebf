"""The two bones of the face, read from how its skin moves: the skull stays, the mandible turns."""

from collections.abc import Callable
from functools import cached_property

import numpy as np

from ...geometry.rigid import IDENTITY, RigidMotion, fit_rigid, fit_rigid_majority
from ...model.arrays import FloatArray, IntArray
from ...model.snapshot import Role, Snapshot
from .base_motion import BaseMotion, keyed_vertices

STILL_MM = 1e-6
STILL_SHARE = 0.3
"""Where at least this share of the base stays put to ``STILL_MM``, the skull has not moved at all."""
CHIN_REACH_MM = 35.0
"""Skin this near to gnathion is asked how the mandible moves: chin, its underside, lower lip and gum."""
MOVED_SHARE = 0.6
"""Without gnathion: skin that moves at least this share of the largest movement."""
UNEXPLAINED_SHARE = 0.5
"""Where one rigid motion leaves this share of the chin's movement unexplained, skin slides over a still bone; on a
real head an opening jaw leaves 0.08, a smile 0.7, a pucker 1.0."""


class Bones:
    """Skull and mandible of one base in one motion, as rigid motions from rest.

    Parameters
    ----------
    snapshot
        The design.
    source
        How the base moves.
    """

    def __init__(self, snapshot: Snapshot, source: BaseMotion) -> None:
        self._snapshot = snapshot
        self._source = source
        self._jaw: Callable[[float], RigidMotion] | None = None
        self._skull: Callable[[float], RigidMotion] | None = None

    def skull(self, t: float) -> RigidMotion:
        """Return the skull's motion from rest: what the larger, stiller part of the base does."""
        if self._skull is None:
            self._skull = self._find_skull()
        return self._skull(t)

    def jaw(self, t: float) -> RigidMotion:
        """Return the mandible's motion from rest; below t = 0 it turns on along the way it came."""
        if self._jaw is None:
            self._jaw = self._find_jaw()
        return self._jaw(t)

    @cached_property
    def _rest(self) -> FloatArray:
        return self._snapshot.base.vertices_mm

    @cached_property
    def _ends(self) -> tuple[FloatArray, FloatArray]:
        everything = self._source.following(np.arange(len(self._rest)))
        return everything(0.0), everything(1.0)

    def _find_skull(self) -> Callable[[float], RigidMotion]:
        shut_mm, open_mm = (np.linalg.norm(posed - self._rest, axis=1) for posed in self._ends)
        if (np.maximum(shut_mm, open_mm) <= STILL_MM).mean() >= STILL_SHARE:
            return lambda t: IDENTITY
        _, kept = fit_rigid_majority(self._rest, self._ends[1], open_mm <= np.median(open_mm))
        return self._with(np.flatnonzero(kept))

    def _with(self, ids: IntArray) -> Callable[[float], RigidMotion]:
        return turning_on(self._source.following(ids), self._rest[ids])

    def _find_jaw(self) -> Callable[[float], RigidMotion]:
        if self._source.jaw is not None:
            return self._source.jaw
        keyed = self._source.keyed
        for teeth in self._snapshot.with_role(Role.LOWER_TEETH):
            if keyed is not None and keyed.moves(teeth.name):
                return turning_on(keyed_vertices(keyed, teeth.name), teeth.vertices_mm)
        near, kept = self._chin()
        return self._with(kept) if self._turns(near, kept) else self.skull

    def _turns(self, near: IntArray, kept: IntArray) -> bool:
        """Tell whether one rigid motion explains how the skin of the chin moves.

        In a smile or a pucker muscles pull that skin over a bone that stays where it is.
        """
        motion = fit_rigid(self._rest[kept], self._ends[1][kept])
        left_mm = np.linalg.norm(motion.apply(self._rest[near]) - self._ends[1][near], axis=1)
        moved_mm = np.linalg.norm(self._ends[1][near] - self._rest[near], axis=1)
        return bool(np.median(left_mm) < UNEXPLAINED_SHARE * np.median(moved_mm))

    def _chin(self) -> tuple[IntArray, IntArray]:
        """Return the vertices of the base on the mandible, and of those the ones that move most alike."""
        rest_mm, open_mm = self._rest, self._ends[1]
        far_mm = np.linalg.norm(open_mm - rest_mm, axis=1)
        if "gnathion" in self._snapshot.landmarks:
            reach_mm = np.linalg.norm(rest_mm - self._snapshot.landmarks["gnathion"], axis=1)
            near = np.flatnonzero(reach_mm <= max(CHIN_REACH_MM, reach_mm.min() + 5.0))
        else:
            near = np.flatnonzero(far_mm >= MOVED_SHARE * far_mm.max())
        moving = far_mm[near] >= np.median(far_mm[near])
        _, kept = fit_rigid_majority(rest_mm[near], open_mm[near], moving)
        return near, near[kept]


def turning_on(
    posed: Callable[[float], FloatArray], rest_mm: FloatArray, weights: FloatArray | None = None
) -> Callable[[float], RigidMotion]:
    """Return the rigid motion from rest that follows posed points; below t = 0 it turns on the way it came.

    Parameters
    ----------
    posed
        ``t -> (k, 3)`` mm.
    rest_mm
        The same points at rest.
    weights
        ``(k,)``, how much each point counts; None means equally.
    """

    def motion_at(t: float) -> RigidMotion:
        if t < 0.0:
            closed = motion_at(0.0)
            return closed.after(motion_at(-t).inverse).after(closed)
        return fit_rigid(rest_mm, posed(t), weights)

    return motion_at
