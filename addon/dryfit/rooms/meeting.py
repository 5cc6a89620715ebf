"""How high skin may stand before a motion brings it against other skin that was built up as high.

The inverse of the check of what runs into what, for two pieces. Only what a motion brings together counts: two walls
whose distance never changes by more than soft pieces give way are one crease, which may be filled.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..geometry.rows import highs, lows, row_all, row_norms
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
from .taken import taken_skin

CHECK, LIMIT = "interference", "overlap_soft_review_mm"
WORDS, TAKEN_WORDS = "skin that comes to meet it", "skin that comes to meet it and is taken"
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
    meeting = _Meeting(skin, poses, below_mm, limits.overlap_soft_review_mm, taken_skin(fitting, skin))
    stops = yield from meeting.stops()
    yield Progress(len(poses), len(poses) + 1, "what teeth meet")
    stops.append(_rigid(fitting, skin, limits, below_mm))
    if not any(pose.motion == JAW for pose in poses):
        stops.append(untold("meeting_jaw", CHECK, "an opening mouth", skin, NO_JAW, _lower_face(fitting, skin)))
    return stops


class _Least:
    """The least height at each vertex that any pair allows so far, ``(n,)``, and the vertex on its other side."""

    def __init__(self, skin: Ground) -> None:
        self.height_mm, self.other = nowhere(skin), np.full(len(skin.points_mm), -1)

    def note(self, vertices: IntArray, allowed_mm: FloatArray, other: IntArray) -> None:
        """Take up what some pairs allow, ``(k,)`` each."""
        less = np.flatnonzero(allowed_mm < self.height_mm[vertices])
        self.height_mm[vertices[less]], self.other[vertices[less]] = allowed_mm[less], other[less]


@dataclass(frozen=True)
class _Meeting:
    """The skin in every pose, and which of it is taken.

    Two sides share the space between them evenly. Where one is taken, all of it is that side's: as far as the ball
    that touches it and holds no skin is wide. The other side gets none before it, and about it no more than the way
    to what stands on the taken side.
    """

    skin: Ground
    poses: list[PosedSkin]
    below_mm: FloatArray
    give_mm: float
    taken: BoolArray

    def stops(self) -> Job[list[Stop]]:
        """Return what skin meets skin, and what meets skin that is taken where any is."""
        shared, beside = _Least(self.skin), _Least(self.skin)
        body = Surface(self.skin.points_mm, self.skin.faces, facing_out=True)
        for number, pose in enumerate(self.poses):
            yield Progress(number, len(self.poses), f"what meets {_where(pose)}")
            body.refit(pose.points_mm)
            self._share(pose, body, shared, beside)
        stops = [Stop("meeting", CHECK, WORDS, LIMIT, shared.height_mm, other=shared.other)]
        if not self.taken.any():
            return stops
        standing = np.where(self.taken, np.minimum(shared.height_mm, self.below_mm), 0.0)
        for number, pose in enumerate(self.poses):
            yield Progress(number, len(self.poses), f"what meets what is taken {_where(pose)}")
            self._keep_off(pose, np.minimum(standing, REACH_MM), beside)
        return [*stops, Stop("taken", CHECK, TAKEN_WORDS, LIMIT, beside.height_mm, other=beside.other)]

    def _share(self, pose: PosedSkin, body: Surface, shared: _Least, beside: _Least) -> None:
        outward = smoothed_directions(body, self.skin.faces)
        most = np.minimum(self.below_mm, REACH_MM) - 0.5 * self.give_mm
        for facing in _facing(body, self.skin, outward, most):
            vertices, other, radius = self._met(facing, pose)
            mine, theirs = self.taken[vertices], self.taken[other]
            lost = theirs & ~mine
            share = np.where(mine & ~theirs, 2.0, 1.0)
            allowed = share * radius + 0.5 * self.give_mm
            shared.note(vertices[~lost], allowed[~lost], other[~lost])
            beside.note(vertices[lost], np.zeros(int(lost.sum())), other[lost])

    def _keep_off(self, pose: PosedSkin, standing_mm: FloatArray, beside: _Least) -> None:
        """Keep what is not taken off the forms that stand on what is."""
        bare = Surface(pose.points_mm, self.skin.faces, facing_out=True)
        outward = smoothed_directions(bare, self.skin.faces)
        grown = Surface(pose.points_mm + standing_mm[:, None] * outward, self.skin.faces, facing_out=True)
        most = np.where(self.taken, 0.0, np.minimum(self.below_mm, REACH_MM))
        for facing in _facing(grown, self.skin, outward, most):
            vertices, other, radius = self._met(facing, pose)
            own = self.taken[other]
            beside.note(vertices[own], 2.0 * radius[own], other[own])

    def _met(self, facing: Facing, pose: PosedSkin) -> tuple[IntArray, IntArray, FloatArray]:
        """Return the vertices of pairs that a motion brings together, the nearest on the other side, and radii."""
        kept = np.flatnonzero(_brought_together(facing, self.skin, self.poses, pose, self.give_mm))
        other = self.skin.faces[facing.face[kept], facing.barycentric[kept].argmax(axis=1)]
        return facing.vertices[kept], other, facing.radius_mm[kept]


def _where(pose: PosedSkin) -> str:
    return f"in {pose.motion.replace('_', ' ')}" if pose.motion else "at rest"


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
        return np.asarray(row_norms(other - pose.points_mm[facing.vertices]))

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
    low, high = lows(body.vertices_mm) - BALL_MM, highs(body.vertices_mm) + BALL_MM
    near = skin.sculpted & row_all((points_mm > low) & (points_mm < high))
    asked = np.flatnonzero(near)
    if not len(asked):
        return
    hit = body.first_hit(points_mm[asked], skin.outward[asked], np.minimum(below_mm[asked], BALL_MM))
    height[asked] = np.minimum(height[asked], hit.distance_mm)
