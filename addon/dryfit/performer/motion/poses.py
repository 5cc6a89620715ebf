"""Where every part is at any t of a motion: keyed parts by their keys, everything else rides the base."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy

import numpy as np

from ...geometry.binding import Binding, Rider, bind
from ...geometry.rigid import RigidMotion
from ...model.arrays import FloatArray, IntArray
from ...model.snapshot import Part, Role
from ..posable import PosableDesign
from .base_motion import JAW, BaseMotion, base_motion, keyed_vertices
from .bones import Bones, turning_on
from .posed import Posed

TOOTH_REACH_MM = 2.0
"""Hardware nearer to teeth than this, and nearer than to the skin, is worn on the teeth."""
SKULL_ROLES = (Role.UPPER_TEETH, Role.EYE_LEFT, Role.EYE_RIGHT)


class Poses:
    """One motion of one fitting.

    Tissue without keys is bound to the base's skin, beside the mouth to the lip it is on. Teeth follow the bones:
    upper ones the skull, lower ones the mandible. Hardware follows, as one rigid body, the skin it is fixed to, or the
    teeth where it is worn on them.
    Below t = 0 soft parts go on straight along their last key segment and rigid ones turn on the way they came.

    Parameters
    ----------
    fitting
        The design.
    motion_name
        One of ``fitting.motion_names``.

    Raises
    ------
    NoMotion
        When there is no such motion and none can be made from landmarks.
    """

    def __init__(self, fitting: PosableDesign, motion_name: str) -> None:
        self.fitting = fitting
        self.name = motion_name
        self.source: BaseMotion = base_motion(fitting, motion_name)
        self.bones = Bones(fitting.snapshot, self.source, fitting.mandible, motion_name == JAW)
        self._whole: dict[str, Posed] = {}
        self._rigid: dict[str, Callable[[float], RigidMotion]] = {}

    def vertices(self, part_name: str, t: float) -> FloatArray:
        """Return the part's vertices ``(n, 3)``, mm, at ``t``.

        Raises
        ------
        KeyError
            When no part has that name.
        """
        if part_name not in self._whole:
            part = self.fitting.snapshot.part(part_name)
            self._whole[part_name] = self.following(part_name, np.arange(len(part.vertices_mm)))
        return self._whole[part_name](t)

    def following(self, part_name: str, ids: IntArray) -> Posed:
        """Return where some vertices of a part are at any t; costs what those vertices cost.

        Raises
        ------
        KeyError
            When no part has that name.
        """
        part = self.fitting.snapshot.part(part_name)
        keyed = self.source.keyed
        if part.role == Role.BASE:
            return self.source.following(ids)
        if keyed is not None and keyed.moves(part_name):
            return keyed_vertices(keyed, part_name, ids)
        if part.role == Role.APPLIANCE:
            return self._riding(self.fitting.binding(part).taking(ids))
        rest_mm = part.vertices_mm[ids]
        return lambda t: self.rigid(part, t).apply(rest_mm)

    def points(self, points_mm: FloatArray) -> Posed:
        """Return where points ``(k, 3)``, mm, given at rest, are at any t when the base's skin carries them."""
        return self._riding(bind(self.fitting.base_surface, points_mm))

    def rigid(self, part: Part, t: float) -> RigidMotion:
        """Return how a rigid part without keys has moved from rest at ``t``."""
        if part.name not in self._rigid:
            self._rigid[part.name] = self._rigid_motion(part)
        return self._rigid[part.name](t)

    def jaw_angle_deg(self, t: float) -> float:
        """Return how far the mandible is turned from t = 0, degrees, positive when open."""
        turned = self.bones.jaw(t).after(self.bones.jaw(0.0).inverse).angle_deg
        return turned if t >= 0.0 else -turned

    def on(self, source: BaseMotion) -> Poses:
        """Return the same parts on another motion of the base; what rides where is not looked for again."""
        other = copy(self)
        other.source = source
        other.bones = Bones(self.fitting.snapshot, source, self.fitting.mandible, self.name == JAW)
        other._whole, other._rigid = {}, {}
        return other

    def _riding(self, binding: Binding) -> Posed:
        base = self.fitting.base
        rider = Rider.on(base.vertices_mm, np.asarray(self.fitting.base_surface.faces), binding)
        piece = self.source.following(rider.vertex_ids)
        return lambda t: rider.carried(piece(t))

    def _rigid_motion(self, part: Part) -> Callable[[float], RigidMotion]:
        if part.role in SKULL_ROLES:
            return self.bones.skull
        if part.role == Role.LOWER_TEETH:
            return self.bones.jaw
        worn_on = self._worn_on(part)
        if worn_on is None:
            return self._with_skin(part)
        keyed = self.source.keyed
        if keyed is not None and keyed.moves(worn_on.name):
            return turning_on(keyed_vertices(keyed, worn_on.name), worn_on.vertices_mm)
        return self._rigid_motion(worn_on)

    def _worn_on(self, part: Part) -> Part | None:
        """Return the teeth a piece of hardware is worn on, or None."""
        to_skin_mm = float(self.fitting.binding(part).distance_mm.min())
        teeth = self.fitting.snapshot.with_role(Role.UPPER_TEETH, Role.LOWER_TEETH)
        reach = [(self.fitting.gap_mm(part, row), row) for row in teeth]
        near = min(reach, key=lambda entry: entry[0], default=None)
        return near[1] if near is not None and near[0] < min(TOOTH_REACH_MM, to_skin_mm) else None

    def _with_skin(self, part: Part) -> Callable[[float], RigidMotion]:
        """Return one rigid motion fitted to the skin under a piece, nearer skin counting more."""
        base, binding = self.fitting.base, self.fitting.binding(part)
        rider = Rider.on(base.vertices_mm, np.asarray(self.fitting.base_surface.faces), binding)
        piece = self.source.following(rider.vertex_ids)
        near_mm = binding.distance_mm.min() + 1.0
        return turning_on(
            lambda t: rider.feet_mm(piece(t)),
            rider.feet_mm(base.vertices_mm[rider.vertex_ids]),
            1.0 / (near_mm + binding.distance_mm) ** 2,
        )
