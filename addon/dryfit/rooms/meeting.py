"""How high skin may stand before a motion brings it against other skin that was built up as high.

The inverse of the check of what runs into what, for two pieces. Only what a motion brings together counts: two walls
whose distance never changes by more than soft pieces give way are one crease, which may be filled.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..model.arrays import BoolArray, FloatArray, IntArray
from ..model.limits import Limits
from ..model.progress import Job, Progress
from ..model.snapshot import Role
from ..performer.fitting import Fitting
from ..performer.head_frame import HeadFrame
from ..performer.motion.base_motion import JAW, NoMotion
from .ball import touching_balls
from .skin import REACH_MM, Ground, smoothed_directions
from .stop import Stop, nowhere, untold

CHECK = "interference"
BALL_MM = 15.0
"""Larger balls are not looked for: what stands so far off is found by the line straight outward."""
JAW_T, OTHER_T = (0.25, 0.5, 0.75, 1.0), (0.5, 1.0)
LIFT_MM = 0.2
NO_JAW = (
    "What an opening mouth brings together is not known: nothing opens it. Name its shape keys under [motions.jaw], or "
    "add the landmarks tragion_left, tragion_right, exocanthion_left and exocanthion_right with those of the mouth."
)


@dataclass(frozen=True)
class PosedSkin:
    """The skin at one place of one motion."""

    motion: str
    t: float
    points_mm: FloatArray


@dataclass(frozen=True)
class Facing:
    """Points and what is on the other side of the way before them.

    Attributes
    ----------
    vertices
        Which points of the skin, ``(k,)``.
    radius_mm
        How high both may stand until they touch, ``(k,)``.
    face, barycentric
        The other side, ``(k,)`` and ``(k, 3)``.
    """

    vertices: IntArray
    radius_mm: FloatArray
    face: IntArray
    barycentric: FloatArray


def poses_of(fitting: Fitting) -> Job[tuple[list[PosedSkin], list[str]]]:
    """Return the skin at rest and in every motion, and why motions were left out."""
    poses, why = [PosedSkin("", 0.0, fitting.base.vertices_mm)], []
    names = fitting.motion_names
    for number, name in enumerate(names):
        yield Progress(number, len(names), f"posing {name.replace('_', ' ')}")
        try:
            motion = fitting.poses(name)
        except NoMotion as error:
            why.append(str(error))
            continue
        first = motion.vertices(fitting.base.name, 0.0)
        times = (0.0,) if not np.array_equal(first, fitting.base.vertices_mm) else ()
        for t in (*times, *(JAW_T if name == JAW else OTHER_T)):
            poses.append(PosedSkin(name, t, motion.vertices(fitting.base.name, t)))
    return poses, why


def meeting_stops(
    fitting: Fitting, skin: Ground, limits: Limits, poses: list[PosedSkin], below_mm: FloatArray
) -> Job[list[Stop]]:
    """Return what motions bring together.

    Parameters
    ----------
    fitting, skin, limits
        The head, its skin, and what is allowed.
    poses
        From ``poses_of``.
    below_mm
        Heights that something else stops a form at already, ``(n,)``: what is met beyond them is not looked for.
    """
    give_mm = limits.overlap_soft_review_mm
    height, other = nowhere(skin), np.full(len(skin.points_mm), -1)
    body = Surface(skin.points_mm, skin.faces, facing_out=True)
    for number, pose in enumerate(poses):
        where = "at rest" if not pose.motion else f"in {pose.motion.replace('_', ' ')}"
        yield Progress(number, len(poses), f"what meets {where}")
        body.refit(pose.points_mm)
        outward = smoothed_directions(body, skin.faces)
        for facing in _facing(body, skin, outward, np.minimum(below_mm, REACH_MM) - 0.5 * give_mm):
            kept = np.flatnonzero(_brought_together(facing, skin, poses, pose, give_mm))
            allowed = facing.radius_mm[kept] + 0.5 * give_mm
            kept = kept[allowed < height[facing.vertices[kept]]]
            height[facing.vertices[kept]] = facing.radius_mm[kept] + 0.5 * give_mm
            corner = facing.barycentric[kept].argmax(axis=1)
            other[facing.vertices[kept]] = skin.faces[facing.face[kept], corner]
    words = "skin that comes to meet it"
    stops = [Stop("meeting", CHECK, words, "overlap_soft_review_mm", height, other=other)]
    yield Progress(len(poses), len(poses) + 1, "what teeth meet")
    stops.append(_rigid(fitting, skin, limits, below_mm))
    if not any(pose.motion == JAW for pose in poses):
        stops.append(untold("meeting_jaw", CHECK, "an opening mouth", skin, NO_JAW, _lower_face(fitting, skin)))
    return stops


def _lower_face(fitting: Fitting, skin: Ground) -> BoolArray:
    """Tell which skin an opening mouth may move: all below the eyes, where that is known, else all."""
    frame, marks = HeadFrame.from_landmarks(fitting.snapshot.landmarks), fitting.snapshot.landmarks
    eyes = [marks[name] for name in ("pupil_left", "pupil_right", "sellion") if name in marks]
    if not eyes:
        return np.asarray(skin.sculpted)
    return np.asarray(skin.sculpted & (skin.points_mm @ frame.up < np.mean(eyes, axis=0) @ frame.up))


def _facing(body: Surface, skin: Ground, outward: FloatArray, most_mm: FloatArray) -> list[Facing]:
    """Return what lies before each sculpted vertex in a pose: about it, and straight outward, within some heights."""
    asked = np.flatnonzero(skin.sculpted & (most_mm > 0.0))
    points, ways = body.vertices_mm[asked], outward[asked]
    most = most_mm[asked]
    hit = body.first_hit(points + LIFT_MM * ways, ways, 2.0 * most)
    ahead = np.flatnonzero(hit.face >= 0)
    straight = Facing(asked[ahead], 0.5 * (hit.distance_mm[ahead] + LIFT_MM), hit.face[ahead], hit.barycentric[ahead])
    # every ball starts alike: from where it starts it depends what it meets on its way
    balls = touching_balls(body, points, ways, np.full(len(asked), BALL_MM))
    met = np.flatnonzero(balls.face >= 0)
    return [straight, Facing(asked[met], balls.radius_mm[met], balls.face[met], balls.barycentric[met])]


def _brought_together(
    facing: Facing, skin: Ground, poses: list[PosedSkin], here: PosedSkin, give_mm: float
) -> BoolArray:
    """Tell which pairs a motion brings nearer than they are elsewhere, by more than soft pieces give way, ``(k,)``."""
    corners = skin.faces[facing.face]

    def apart(pose: PosedSkin) -> FloatArray:
        other = np.einsum("kc,kcx->kx", facing.barycentric, pose.points_mm[corners])
        return np.asarray(np.linalg.norm(other - pose.points_mm[facing.vertices], axis=1))

    furthest = np.max([apart(pose) for pose in poses], axis=0) if len(facing.vertices) else np.zeros(0)
    return np.asarray(furthest - apart(here) > give_mm)


def _rigid(fitting: Fitting, skin: Ground, limits: Limits, below_mm: FloatArray) -> Stop:
    """Return what teeth and hardware leave: they don't give way, so all of the distance counts."""
    height = nowhere(skin)
    bodies = fitting.snapshot.with_role(Role.UPPER_TEETH, Role.LOWER_TEETH)
    for name in fitting.motion_names if bodies else ():
        try:
            motion = fitting.poses(name)
        except NoMotion:
            continue
        for t in (0.0, *(JAW_T if name == JAW else OTHER_T)):
            points = motion.vertices(fitting.base.name, t)
            for part in bodies:
                _before(height, skin, points, Surface(motion.vertices(part.name, t), part.faces), below_mm)
    height += limits.overlap_flesh_review_mm
    return Stop("teeth", CHECK, "teeth", "overlap_flesh_review_mm", height)


def _before(height: FloatArray, skin: Ground, points_mm: FloatArray, body: Surface, below_mm: FloatArray) -> None:
    low, high = body.vertices_mm.min(axis=0) - BALL_MM, body.vertices_mm.max(axis=0) + BALL_MM
    near = skin.sculpted & ((points_mm > low) & (points_mm < high)).all(axis=1)
    asked = np.flatnonzero(near)
    if not len(asked):
        return
    hit = body.first_hit(points_mm[asked], skin.outward[asked], np.minimum(below_mm[asked], BALL_MM))
    height[asked] = np.minimum(height[asked], hit.distance_mm)
