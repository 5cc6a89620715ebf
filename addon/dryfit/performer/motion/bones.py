"""The two bones of the face, read from how it moves: the skull stays, the mandible goes its own way or not at all."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property, lru_cache

import numpy as np

from ...geometry.consensus import agreed_motion
from ...geometry.rigid import IDENTITY, RigidMotion, fit_rigid, fit_rigid_majority
from ...geometry.rows import row_norms
from ...model.arrays import FloatArray, IntArray
from ...model.snapshot import Role, Snapshot
from .base_motion import BaseMotion, keyed_vertices
from .mandible import EXPLAINED_SHARE, Evidence, Mandible

MOTIONS_KEPT = 256
STILL_MM = 1e-6
STILL_SHARE = 0.3
"""Where at least this share of the base stays put to ``STILL_MM``, the skull has not moved at all."""
CHIN_REACH_MM = 35.0
"""Skin this near to gnathion is asked how the mandible moves: chin, its underside, lower lip and gum."""
MOVED_SHARE = 0.5
"""Of that skin, what moves at least this share of the most moved; less moves only by a share of the jaw's turn."""
ASKED = 400
"""So many vertices of the chin are asked where the jaw stands in a pose."""
WHOLE_SHARE = 0.98
"""Skin that takes at least this share of a hinge's turn goes with the bone."""
NO_SKIN = np.zeros(0, np.int64)


def find_mandible(snapshot: Snapshot, source: BaseMotion) -> Mandible | None:
    """Return the lower jaw's path from the motion that opens the mouth, or None where that shows none.

    The teeth's own keys go before the skin of the chin; a hinge or an excursion states the path outright.
    """
    if source.jaw is not None:
        whole = NO_SKIN if source.weights is None else np.flatnonzero(source.weights >= WHOLE_SHARE)
        return Mandible(source.jaw, Evidence.HINGE, 0.0, whole)
    skin = _of_the_skin(snapshot, source)
    keyed = source.keyed
    for teeth in snapshot.with_role(Role.LOWER_TEETH):
        if keyed is not None and keyed.moves(teeth.name):
            posed, rest_mm = keyed_vertices(keyed, teeth.name), teeth.vertices_mm
            path = turning_on(posed, rest_mm)
            left_mm = row_norms(path(1.0).apply(rest_mm) - posed(1.0))
            misfit_mm = float(np.sqrt(np.mean(left_mm**2)))
            turned = skin.skin_turn_deg if skin is not None else float("nan")
            return Mandible(path, Evidence.TEETH, misfit_mm, skin.skin if skin is not None else NO_SKIN, turned)
    return skin


def _of_the_skin(snapshot: Snapshot, source: BaseMotion) -> Mandible | None:
    rest_mm = snapshot.base.vertices_mm
    open_mm = source.following(np.arange(len(rest_mm)))(1.0)
    near = _chin(snapshot, row_norms(open_mm - rest_mm))
    if len(near) < 3:
        return None
    agreed = agreed_motion(rest_mm[near], open_mm[near])
    way_mm = row_norms(open_mm[near] - rest_mm[near])
    left_mm = row_norms(agreed.motion.apply(rest_mm[near]) - open_mm[near])
    if np.median(left_mm) > EXPLAINED_SHARE * np.median(way_mm):
        return None
    ids = near[agreed.kept]
    path = turning_on(source.following(ids), rest_mm[ids])
    return Mandible(path, Evidence.SKIN, agreed.misfit_mm, ids, path(1.0).after(path(0.0).inverse).angle_deg)


def _chin(snapshot: Snapshot, moved_mm: FloatArray) -> IntArray:
    """Return the vertices of the base that are asked: near gnathion, else all, those that move well."""
    near = np.arange(len(moved_mm))
    if "gnathion" in snapshot.landmarks:
        reach_mm = row_norms(snapshot.base.vertices_mm - snapshot.landmarks["gnathion"])
        near = np.flatnonzero(reach_mm <= max(CHIN_REACH_MM, reach_mm.min() + 5.0))
    most_mm = float(moved_mm[near].max(initial=0.0))
    return near[moved_mm[near] >= max(MOVED_SHARE * most_mm, STILL_MM)]


class Bones:
    """Skull and mandible of one base in one motion, as rigid motions from rest.

    Parameters
    ----------
    snapshot
        The design.
    source
        How the base moves.
    mandible
        The lower jaw's path on this head, or None where no motion shows one.
    opening
        Whether this is the motion that the path was read from.
    """

    def __init__(self, snapshot: Snapshot, source: BaseMotion, mandible: Mandible | None, opening: bool) -> None:
        self._snapshot = snapshot
        self._source = source
        self._mandible = mandible
        self._opening = opening
        self._jaw_at: dict[float, RigidMotion] = {}

    def skull(self, t: float) -> RigidMotion:
        """Return the skull's motion from rest: what the larger, stiller part of the base does."""
        return self._skull(t)

    def jaw(self, t: float) -> RigidMotion:
        """Return the mandible's motion from rest; below t = 0 it turns on along the way it came."""
        if t not in self._jaw_at:
            self._jaw_at[t] = self._jaw(t)
        return self._jaw_at[t]

    @cached_property
    def _rest(self) -> FloatArray:
        return self._snapshot.base.vertices_mm

    @cached_property
    def _ends(self) -> tuple[FloatArray, FloatArray]:
        everything = self._source.following(np.arange(len(self._rest)))
        return everything(0.0), everything(1.0)

    @cached_property
    def _skull(self) -> Callable[[float], RigidMotion]:
        shut_mm, open_mm = (row_norms(posed - self._rest) for posed in self._ends)
        if (np.maximum(shut_mm, open_mm) <= STILL_MM).mean() >= STILL_SHARE:
            return lambda t: IDENTITY
        _, kept = fit_rigid_majority(self._rest, self._ends[1], open_mm <= np.median(open_mm))
        ids = np.flatnonzero(kept)
        return turning_on(self._source.following(ids), self._rest[ids])

    @cached_property
    def _jaw(self) -> Callable[[float], RigidMotion]:
        if self._source.jaw is not None:
            return self._source.jaw
        if self._opening:
            return self._mandible.path if self._mandible is not None else self.skull
        keyed = self._source.keyed
        for teeth in self._snapshot.with_role(Role.LOWER_TEETH):
            if keyed is not None and keyed.moves(teeth.name):
                return turning_on(keyed_vertices(keyed, teeth.name), teeth.vertices_mm)
        return self._on_its_path() if self._mandible is not None else self.skull

    def _on_its_path(self) -> Callable[[float], RigidMotion]:
        """Return the mandible's motion in a motion that is not its own: along its path, carried with the skull."""
        mandible = self._mandible
        assert mandible is not None
        ids = mandible.skin[:: max(1, len(mandible.skin) // ASKED)]
        posed, rest_mm = self._source.following(ids), self._rest[ids]

        def jaw_at(t: float) -> RigidMotion:
            skull = self.skull(t)
            return skull.after(mandible.nearest(rest_mm, skull.inverse.apply(posed(t))))

        return jaw_at


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

    @lru_cache(maxsize=MOTIONS_KEPT)
    def motion_at(t: float) -> RigidMotion:
        if t < 0.0:
            closed = motion_at(0.0)
            return closed.after(motion_at(-t).inverse).after(closed)
        return fit_rigid(rest_mm, posed(t), weights)

    return motion_at
