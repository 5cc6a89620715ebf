"""How the base itself moves: by its keys, or by a hinge found from landmarks."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from ...geometry.rigid import IDENTITY, RigidMotion
from ...model.arrays import FloatArray, IntArray
from ...model.brief import EXCURSIONS, Brief, ExcursionBrief, HingeBrief
from ...model.errors import DryfitError
from ...model.snapshot import Motion, Role, Snapshot
from ..head_frame import OPEN_MM, HeadFrame
from ..posable import PosableDesign
from .excursion import Excursion
from .hinge import Hinge, head_axes, missing_for_hinge
from .jaw_field import JawField, Parting, jaw_field
from .posed import Posed

JAW = "jaw"
EDGE_MM = 0.5
"""Places no lower than this belong to the edge of the front teeth."""


class NoMotion(DryfitError):
    """A motion that is neither keyed nor can be made from landmarks."""

    def __init__(self, name: str, why: str) -> None:
        super().__init__(f"there is no motion '{name}': {why}")


@dataclass(frozen=True)
class BaseMotion:
    """How the base moves.

    Attributes
    ----------
    following
        From some vertices of the base to where they are at any t.
    keyed
        The keyed motion, or None.
    jaw
        The mandible's motion from rest at any t where it is known outright (a hinge, an excursion), or None.
    hinge
        The hinge that moves it, or None.
    weights
        Each vertex's share of the hinge's turn, ``(n,)``, or None.
    sealed
        Whether the lips are one skin in the scan and were parted to open the mouth.
    """

    following: Callable[[IntArray], Posed]
    keyed: Motion | None = None
    jaw: Callable[[float], RigidMotion] | None = None
    hinge: Hinge | None = None
    weights: FloatArray | None = None
    sealed: bool = False

    @property
    def rest_t(self) -> float:
        """Where on the motion the scan was taken: over 0 on an open mouth that a hinge shuts."""
        return self.hinge.rest_t if self.hinge is not None else 0.0


def base_motion(fitting: PosableDesign, name: str) -> BaseMotion:
    """Return how the base moves in the named motion; a hinge in the brief goes before keys.

    Raises
    ------
    NoMotion
        When there is none of that name, and what to add.
    """
    hinge = stated_hinge(fitting.snapshot, fitting.brief, name)
    if hinge is not None:
        return _hinged(fitting, hinge, name)
    excursion = stated_excursion(fitting.snapshot, fitting.brief, name)
    if excursion is not None:
        return _excursion(fitting, excursion, name)
    if name in fitting.snapshot.motions:
        return _keyed(fitting, fitting.snapshot.motions[name])
    if name in fitting.snapshot.lost_motions:
        raise NoMotion(name, fitting.snapshot.lost_motions[name])
    raise NoMotion(name, f"no shape keys are named under [motions.{name}] in the brief")


def stated_hinge(snapshot: Snapshot, brief: Brief, name: str) -> HingeBrief | None:
    """Return the hinge a motion is made with: the brief's, or for a jaw without keys the usual one; else None."""
    stated = brief.motions.get(name)
    if stated is not None and stated.hinge is not None:
        return stated.hinge
    return HingeBrief() if name == JAW and name not in {*snapshot.motions, *snapshot.lost_motions} else None


def stated_excursion(snapshot: Snapshot, brief: Brief, name: str) -> ExcursionBrief | None:
    """Return the excursion a motion is: the brief's, or for a name that says it the usual one; else None."""
    stated = brief.motions.get(name)
    if stated is not None and stated.excursion is not None:
        return stated.excursion
    known = {*snapshot.motions, *snapshot.lost_motions}
    return ExcursionBrief(EXCURSIONS[name]) if name in EXCURSIONS and name not in known else None


def motion_names(snapshot: Snapshot, brief: Brief) -> tuple[str, ...]:
    """Return the names of the motions that are looked at, ascending.

    The jaw's ways to the sides and forward are among them where the brief names them: they are the ends of what a jaw
    can do. Speech goes there little to the sides (so a review of Edwards & Harris 1990, whose two-dimensional model can
    show no sideways motion); forward it does go, and the hinge slides as it opens.
    """
    made = (name for name, motion in brief.motions.items() if motion.hinge or motion.excursion)
    named = {*snapshot.motions, *made}
    if not missing_for_hinge(snapshot.landmarks):
        named.add(JAW)
    return tuple(sorted(named))


def _hinged(fitting: PosableDesign, stated: HingeBrief, name: str) -> BaseMotion:
    hinge = _hinge_of(fitting, stated, name)
    field = fitting.jaw_field(stated)
    return hinged(fitting.base.vertices_mm, hinge, field.weights, field.sealed)


def _hinge_of(fitting: PosableDesign, stated: HingeBrief, name: str) -> Hinge:
    missing = missing_for_hinge(fitting.snapshot.landmarks)
    if missing:
        raise NoMotion(name, f"a hinge needs these landmarks too: {', '.join(missing)}")
    return placed_hinge(fitting.snapshot.landmarks, stated, np.zeros(3))


def field_on(fitting: PosableDesign, stated: HingeBrief) -> JawField:
    """Return how the base takes part in a hinge's turn; ``PosableDesign.jaw_field`` keeps it."""
    hinge = placed_hinge(fitting.snapshot.landmarks, stated, np.zeros(3))
    landmarks, faces = fitting.snapshot.landmarks, np.asarray(fitting.base_surface.faces, dtype=np.int64)
    return jaw_field(fitting.base.vertices_mm, faces, Parting.of(landmarks, head_axes(landmarks), hinge), hinge)


def _excursion(fitting: PosableDesign, stated: ExcursionBrief, name: str) -> BaseMotion:
    """Return how the base moves in an excursion, on the jaw's own hinge where the brief states one."""
    jaw = fitting.brief.motions.get(JAW)
    on = (jaw.hinge if jaw else None) or HingeBrief()
    hinge, frame = _hinge_of(fitting, on, name), head_axes(fitting.snapshot.landmarks)
    field = fitting.jaw_field(on)
    path = Excursion.of(hinge, frame, lower_incisal_mm(fitting.snapshot, frame, hinge.motion_at(0.0)), stated)
    return BaseMotion(
        lambda ids: path.following(fitting.base.vertices_mm, field.weights, ids),
        jaw=path.motion_at,
        weights=field.weights,
        sealed=field.sealed,
    )


def lower_incisal_mm(snapshot: Snapshot, frame: HeadFrame, jaw: RigidMotion = IDENTITY) -> FloatArray:
    """Return the edge of the lower front teeth at the midline, ``(3,)``, mm, once the jaw has moved so from the scan.

    The foremost of the highest places near the midline; without teeth, the lower lip's margin.
    """
    margin_mm = jaw.apply(snapshot.landmarks["stomion_inferius"])
    teeth = snapshot.with_role(Role.LOWER_TEETH)
    if not teeth:
        return margin_mm
    places = frame.coordinates(jaw.apply(teeth[0].vertices_mm[np.unique(teeth[0].faces)]))
    middle = float(margin_mm @ frame.left)
    height = places[:, 2] - np.abs(places[:, 0] - middle)
    edge = places[height >= height.max() - EDGE_MM]
    _, front, up = edge[int(edge[:, 1].argmax())]
    return frame.points(np.array([middle, front, up]))


def hinged(vertices_mm: FloatArray, hinge: Hinge, weights: FloatArray, sealed: bool) -> BaseMotion:
    """Return how vertices ``(n, 3)``, mm, with jaw weights ``(n,)`` move on a hinge."""
    return BaseMotion(
        lambda ids: hinge.following(vertices_mm, weights, ids),
        jaw=hinge.motion_at,
        hinge=hinge,
        weights=weights,
        sealed=sealed,
    )


def placed_hinge(landmarks: Mapping[str, FloatArray], stated: HingeBrief, offset_mm: FloatArray) -> Hinge:
    """Return the hinge of a face, its axis moved by ``offset_mm`` ``(3,)``, with rest where the mouth is at rest.

    Rest is what the brief states; else, with lips further apart than ``OPEN_MM``, where the hinge has to turn back
    to until the margins of the lips are level at the midline; else closed.
    """
    hinge = Hinge.from_landmarks(landmarks, stated).moved(offset_mm)
    if stated.rest_deg is not None:
        return hinge.resting_at(float(np.radians(stated.rest_deg)))
    upper, lower = landmarks["stomion_superius"], landmarks["stomion_inferius"]
    up = head_axes(landmarks).up
    return hinge.found_open(upper, lower, up) if (upper - lower) @ up > OPEN_MM else hinge


def _keyed(fitting: PosableDesign, motion: Motion) -> BaseMotion:
    base = fitting.base
    if motion.moves(base.name):
        return BaseMotion(lambda ids: keyed_vertices(motion, base.name, ids), keyed=motion)
    return BaseMotion(lambda ids: lambda t: base.vertices_mm[ids], keyed=motion)


def keyed_vertices(motion: Motion, part: str, ids: IntArray | None = None) -> Posed:
    """Return where the vertices of a keyed part, or some of them, are at any t."""
    frames = motion.frames_mm[part]
    if ids is not None and not np.array_equal(ids, np.arange(frames.shape[1])):
        motion = Motion(motion.name, motion.frames_t, {part: frames[:, ids]})
    return lambda t: motion.vertices_at(part, t)
