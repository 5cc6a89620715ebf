"""What each appliance and the skin under its rim go through over every motion."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ...geometry.areas import areas_mm2
from ...geometry.rim import RimSamples, walk_rim
from ...geometry.rows import row_highs, row_means
from ...geometry.stretch import Stretches, StretchGauge
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.progress import Job, Progress, within
from ...model.snapshot import Part, Role
from ...performer.fitting import Fitting
from ...performer.motion.base_motion import NoMotion
from ...performer.motion.posed import Posed
from ...performer.motion.poses import Poses
from ...performer.worn import worn_face_ids, worn_parts

POSES_T = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Parameters at which every motion is looked at."""
RIM_STEP_MM = 0.5


@dataclass(frozen=True)
class Pose:
    """One place in one motion."""

    motion: str
    t: float

    def __str__(self) -> str:
        """Say it as "jaw at t = 0.5"."""
        return f"{self.motion} at t = {self.t:g}"


@dataclass(frozen=True)
class Stretched:
    """What one appliance goes through.

    Attributes
    ----------
    face_ids, faces
        Which of the part's triangles are worn, ``(m,)``, and their corners ``(m, 3)``.
    areas_mm2, outer
        Area at rest of each worn triangle ``(m,)``, and whether it is outer skin.
    poses
        The poses looked at.
    largest, smallest
        Principal stretches of every triangle at every pose, ``(p, m)``; nan for slivers.
    skin_smallest
        The smallest of the bare skin beneath each triangle at every pose, ``(p, m)``; nan for slivers.
    thickness_mm
        How far each triangle stands over the base at rest, ``(m,)``.
    rim
        Steps along the rim.
    rim_longer, rim_shorter
        How much the skin under each step lengthens and shortens at every pose, ``(p, s)`` each, fraction.
    """

    part: Part
    face_ids: IntArray
    faces: IntArray
    areas_mm2: FloatArray
    outer: BoolArray
    poses: tuple[Pose, ...]
    largest: FloatArray
    smallest: FloatArray
    skin_smallest: FloatArray
    thickness_mm: FloatArray
    rim: RimSamples
    rim_longer: FloatArray
    rim_shorter: FloatArray

    @property
    def rim_strain(self) -> FloatArray:
        """Largest lengthening or shortening of the skin under each step at every pose, ``(p, s)``, fraction."""
        return np.fmax(self.rim_longer, self.rim_shorter)

    @property
    def slivers(self) -> int:
        """How many triangles were too thin to be read."""
        return int(np.isnan(self.largest[0]).sum())

    def worst_pose(self, faces: IntArray) -> Pose:
        """Return the pose at which some of the triangles stretch most."""
        return self.poses[int(_most(self.largest[:, faces]).argmax())]

    def most_folded_pose(self, faces: IntArray) -> Pose:
        """Return the pose at which some of the triangles shorten most."""
        return self.poses[int(_most(-self.smallest[:, faces]).argmax())]


def _most(values: FloatArray) -> FloatArray:
    most: FloatArray = row_highs(np.where(np.isnan(values), -np.inf, values))
    return most


def stretched_pieces(fitting: Fitting) -> Job[tuple[tuple[Stretched, ...], tuple[str, ...]]]:
    """Pose every appliance through every motion.

    Yields
    ------
    Progress

    Returns
    -------
    tuple
        What each appliance goes through, and why motions were left out, one sentence each.
    """
    motions, left_out = _motions(fitting)
    poses = [Pose(motion.name, t) for motion in motions for t in POSES_T if t > 0.0 or not _at_rest(motion, fitting)]
    worn = worn_parts(fitting, Role.APPLIANCE) if motions else []
    pieces = []
    for number, part in enumerate(worn):
        looking = fitting.kept.job(_stretched, part, fitting.alone(part), tuple(poses))
        pieces.append((yield from within(looking, number, len(worn))))
    return tuple(pieces), left_out


def _stretched(part: Part, fitting: Fitting, poses: tuple[Pose, ...]) -> Job[Stretched]:
    """Return what one appliance goes through in some poses.

    Yields
    ------
    Progress
    """
    watch = _Watch(part, fitting, poses)
    for number, pose in enumerate(poses):
        yield Progress(number, len(poses), f"stretch of {part.name} in {pose}")
        skin = fitting.head.kept.of(_of_skin, fitting.head, pose)
        watch.look(number, fitting.poses(pose.motion), skin)
    return watch.seen()


def _of_skin(head: Fitting, pose: Pose) -> Stretches:
    """Return what the bare skin goes through in one pose."""
    gauge = head.found(StretchGauge, lambda: StretchGauge(head.base.vertices_mm, head.base.faces))
    return gauge.read(head.poses(pose.motion).vertices(head.base.name, pose.t))


def _motions(fitting: Fitting) -> tuple[list[Poses], tuple[str, ...]]:
    motions, left_out = [], []
    for name in fitting.motion_names:
        try:
            motions.append(fitting.poses(name))
        except NoMotion as error:
            left_out.append(str(error))
    return motions, tuple(left_out)


def _at_rest(motion: Poses, fitting: Fitting) -> bool:
    """Tell whether a motion starts from the rest shape, so that nothing is stretched there."""
    keyed = fitting.snapshot.motions.get(motion.name)
    own = [part for part in fitting.snapshot.with_role(Role.APPLIANCE) if keyed is not None and keyed.moves(part.name)]
    return all(np.array_equal(motion.vertices(part.name, 0.0), part.vertices_mm) for part in (fitting.base, *own))


class _Watch:
    """One appliance being watched pose by pose."""

    def __init__(self, part: Part, fitting: Fitting, poses: tuple[Pose, ...]) -> None:
        self.part, self.poses = part, poses
        self.face_ids = worn_face_ids(part, fitting)
        self.faces = part.faces[self.face_ids]
        self.used, compact = np.unique(self.faces, return_inverse=True)
        self.gauge = StretchGauge(part.vertices_mm[self.used], compact.reshape(-1, 3))
        skin = fitting.skin(part)
        self.outer = skin.outer[self.face_ids]
        self.rim = walk_rim(part.vertices_mm, skin.rim_edges, RIM_STEP_MM)
        points = self.rim.points_mm
        self.under = fitting.base_surface.closest(points).face if len(points) else np.zeros(0, np.int64)
        self.beneath = fitting.base_surface.closest(row_means(part.vertices_mm[self.faces]))
        self._motion = ""
        self._posed: Posed = lambda t: part.vertices_mm
        # each an array of its own, so that it can be frozen for good
        self.largest, self.smallest, self.skin_smallest = (np.empty((len(poses), len(self.faces))) for _ in range(3))
        self.longer, self.shorter = (np.empty((len(poses), len(points))) for _ in range(2))

    def following(self, motion: Poses) -> Posed:
        if self._motion != motion.name:
            self._motion, self._posed = motion.name, motion.following(self.part.name, self.used)
        return self._posed

    def look(self, number: int, motion: Poses, skin: Stretches) -> None:
        moved_mm = self.following(motion)(self.poses[number].t)
        stretch = self.gauge.read(moved_mm)
        self.largest[number], self.smallest[number] = stretch.largest, stretch.smallest
        self.skin_smallest[number] = skin.smallest[self.beneath.face]
        self.longer[number], self.shorter[number] = skin.largest[self.under] - 1.0, 1.0 - skin.smallest[self.under]

    def seen(self) -> Stretched:
        return Stretched(
            part=self.part,
            face_ids=self.face_ids,
            faces=self.faces,
            areas_mm2=areas_mm2(self.part.vertices_mm[self.faces]),
            outer=self.outer,
            poses=self.poses,
            largest=self.largest,
            smallest=self.smallest,
            skin_smallest=self.skin_smallest,
            thickness_mm=np.asarray(self.beneath.distance_mm),
            rim=self.rim,
            rim_longer=self.longer,
            rim_shorter=self.shorter,
        )


def by_motion(poses: Sequence[Pose]) -> Iterator[tuple[str, IntArray]]:
    """Yield each motion's name and the rows of its poses."""
    names = [pose.motion for pose in poses]
    for name in dict.fromkeys(names):
        yield name, np.flatnonzero([other == name for other in names])
