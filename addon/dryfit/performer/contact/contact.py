"""What touches what first while the jaw closes, found by bracketing and bisection."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ...geometry import Surface
from ...geometry.rigid import fit_rigid
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.snapshot import Part, Role
from ..motion.posed import Posed, remembering
from ..mouth.lip_skin import LipSkin
from ..tooth_names import piece_at

if TYPE_CHECKING:
    from ..fitting import Fitting
    from ..motion.poses import Poses

PRECISION_T = 2e-5
"""Bisection stops when contact is known this closely."""
SWEEP_T = (-0.4, 0.0, 0.25, 0.5, 0.75, 1.0)
SWEEP_MARGIN_MM = 5.0
"""Bodies whose boxes at these poses stay further apart than this are never watched."""
APART_MM = 0.1
"""Rigid parts that shift against each other by less belong to the same bone."""


@dataclass(frozen=True)
class Touchable:
    """Something that can be touched: a rigid part or one lip.

    Attributes
    ----------
    name
        For sentences: the part's name, or "upper lip" and "lower lip".
    part
        The rigid part, or None for a lip.
    faces
        Triangles over the posed vertices, ``(m, 3)``.
    posed
        Where the vertices are at any t.
    """

    name: str
    part: Part | None
    faces: IntArray
    posed: Posed


@dataclass(frozen=True)
class MouthPair:
    """Two bodies that move against each other; ``first`` is always rigid."""

    first: Touchable
    second: Touchable

    @property
    def soft(self) -> bool:
        """Whether the second body is tissue, which gives way."""
        return self.second.part is None


@dataclass(frozen=True)
class Contact:
    """The first touch of a pair while the jaw closes.

    Attributes
    ----------
    pair
        Who touches.
    t
        When: rigid bodies are apart just above this t and cross just below; a lip is pressed deeper than it gives way.
    faces
        Crossing triangles of the first and the second body just below t, ``(p, 2)``.
    """

    pair: MouthPair
    t: float
    faces: IntArray

    @property
    def at_mm(self) -> tuple[float, float, float]:
        """The place: middle of the first body's crossing triangles that belong to the piece that touches."""
        first = self.pair.first
        corners = first.posed(self.t)[first.faces[self._touching]]
        x, y, z = corners.mean(axis=(0, 1))
        return float(x), float(y), float(z)

    @property
    def _touching(self) -> IntArray:
        """Crossing triangles of the first body on the piece that touches: two teeth may touch at once."""
        faces, part = self.faces[:, 0], self.pair.first.part
        if part is None:
            return faces
        names = np.array([piece_at(part, int(corner)) for corner in self.pair.first.faces[faces, 0]])
        return np.asarray(faces[names == self.piece])

    @property
    def vertices(self) -> IntArray:
        """Vertices of the first body at the place, ascending."""
        return np.unique(self.pair.first.faces[self.faces[:, 0]])

    @property
    def first_name(self) -> str:
        """Name of the first body's part."""
        return self.pair.first.name

    @property
    def piece(self) -> str:
        """Name of the piece of the first body that touches: a tooth, or the part."""
        return _piece(self.pair.first, self.faces[:, 0])

    @property
    def other_name(self) -> str:
        """Name of what it touches: a tooth, a part or a lip."""
        return _piece(self.pair.second, self.faces[:, 1])


def _piece(body: Touchable, faces: IntArray) -> str:
    """Return the name of the piece that most of the touching triangles belong to."""
    if body.part is None:
        return body.name
    names = [piece_at(body.part, int(body.faces[face, 0])) for face in faces]
    return max(sorted(set(names)), key=names.count)


def mouth_pairs(fitting: Fitting, poses: Poses, upper: LipSkin, lower: LipSkin) -> list[MouthPair]:
    """Return the pairs that can stop a closing mouth.

    Lower teeth against upper teeth and against the upper lip, upper teeth against the lower lip, and hardware
    against the teeth and lips it moves against. The lips against each other are not here: that is a seal.
    """
    lips = {Role.LOWER_TEETH: lip_body("upper lip", upper), Role.UPPER_TEETH: lip_body("lower lip", lower)}
    parts = [part for role in (*lips, Role.HARDWARE) for part in fitting.snapshot.with_role(role)]
    rigid = [rigid_body(poses, part) for part in parts]
    pairs = []
    for place, (part, first) in enumerate(zip(parts, rigid, strict=True)):
        pairs += [MouthPair(first, second) for second in rigid[place + 1 :] if move_apart(first, second)]
        opposite = [lips[part.role]] if part.role in lips else list(lips.values())
        pairs += [MouthPair(first, lip) for lip in opposite if len(lip.faces)]
    return pairs


def rigid_body(poses: Poses, part: Part) -> Touchable:
    """Return a rigid part as a body."""
    posed = poses.following(part.name, np.arange(len(part.vertices_mm)))
    return Touchable(part.name, part, part.faces, remembering(posed))


def lip_body(name: str, skin: LipSkin) -> Touchable:
    """Return a lip as a body."""
    return Touchable(name, None, skin.faces, remembering(skin.vertices))


def move_apart(first: Touchable, second: Touchable) -> bool:
    """Tell whether two rigid parts move against each other between closed and open, by more than ``APART_MM``."""
    motion = fit_rigid(first.posed(0.0), first.posed(1.0))
    shift_mm = np.linalg.norm(motion.apply(second.posed(0.0)) - second.posed(1.0), axis=1)
    return bool(shift_mm.max() > APART_MM)


class PairWatch:
    """Tells at which poses a pair crosses, leaving out what crosses already when the jaw is wide open.

    Roots in gums and mounts in skin cross at every pose; their triangles, and the ones next to them, are dropped
    from the first body.

    Parameters
    ----------
    pair
        Who is watched.
    """

    def __init__(self, pair: MouthPair) -> None:
        self.pair = pair
        self._first = Surface(pair.first.posed(1.0), pair.first.faces)
        self._second = Surface(pair.second.posed(1.0), pair.second.faces)
        self._kept = self._free_faces()

    @property
    def watching(self) -> bool:
        """Whether anything is left to watch."""
        return bool(self._kept.any())

    def crossings(self, t: float) -> IntArray:
        """Return crossing triangles of the first and the second body at ``t``, ``(p, 2)``."""
        first_mm, second_mm = self.pair.first.posed(t), self.pair.second.posed(t)
        if not boxes_meet(first_mm, second_mm):
            return np.zeros((0, 2), np.int64)
        found = np.asarray(self._first.refit(first_mm).crossings(self._second.refit(second_mm)), dtype=np.int64)
        return found[self._kept[found[:, 0]]]

    def contact(self, apart_t: float, touch_t: float, stops: Callable[[float], bool]) -> Contact:
        """Bisect between a pose where the pair crosses and ``stops`` says so, and one where not."""
        faces = self.crossings(touch_t)
        while abs(apart_t - touch_t) > PRECISION_T:
            middle = 0.5 * (apart_t + touch_t)
            found = self.crossings(middle)
            if len(found) and stops(middle):
                touch_t, faces = middle, found
            else:
                apart_t = middle
        return Contact(self.pair, touch_t, faces)

    def _free_faces(self) -> BoolArray:
        faces = self.pair.first.faces
        already = np.asarray(self._first.crossings(self._second), dtype=np.int64)[:, 0]
        touched = np.zeros(int(faces.max()) + 1, bool)
        touched[faces[already]] = True
        return np.asarray(~touched[faces].any(axis=1))


@dataclass(frozen=True)
class SweptBox:
    """The upright box that a body sweeps over the motion: its lowest and highest corner, ``(3,)`` each, mm."""

    low_mm: FloatArray
    high_mm: FloatArray

    @classmethod
    def of(cls, body: Touchable) -> SweptBox:
        """Look at the body at a few poses."""
        swept = [body.posed(t) for t in SWEEP_T]
        lowest, highest = [at.min(axis=0) for at in swept], [at.max(axis=0) for at in swept]
        return cls(np.min(lowest, axis=0), np.max(highest, axis=0))

    def meets(self, other: SweptBox) -> bool:
        """Tell whether two boxes, a little widened, overlap at all."""
        low, high = np.maximum(self.low_mm, other.low_mm), np.minimum(self.high_mm, other.high_mm)
        return bool((low <= high + SWEEP_MARGIN_MM).all())


def meeting_pairs(pairs: Sequence[MouthPair]) -> list[MouthPair]:
    """Return the pairs whose bodies can meet at all; each body is swept once."""
    bodies = {id(body): body for pair in pairs for body in (pair.first, pair.second)}
    boxes = {key: SweptBox.of(body) for key, body in bodies.items()}
    return [pair for pair in pairs if boxes[id(pair.first)].meets(boxes[id(pair.second)])]


def boxes_meet(first_mm: FloatArray, second_mm: FloatArray) -> bool:
    """Tell whether the upright boxes round two sets of points overlap."""
    low = np.maximum(first_mm.min(axis=0), second_mm.min(axis=0))
    high = np.minimum(first_mm.max(axis=0), second_mm.max(axis=0))
    return bool((low <= high).all())
