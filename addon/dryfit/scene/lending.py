"""A scene lent for a turn at a time: between two turns it is as the user left it, and Blender may draw and be used.

A scene that is posed shows another design than the user's, so it is never left that way while somebody else is at work.
What was read in earlier turns goes with what is read in later ones only where the scene stayed the same. Here only what
would end in an error is noticed; whoever reads in turns compares what the scene is made of before and after.
"""

import math
import time
from collections.abc import Mapping
from contextlib import ExitStack
from dataclasses import dataclass, field
from typing import TypeVar

from ..model.brief import Brief, MotionBrief
from ..model.errors import InputError
from ..model.progress import Job
from .blender import BlenderContext, BlenderObject, Depsgraph
from .cameras import camera_objects
from .instances import with_instanced
from .landmarks import landmark_objects
from .meshes import Topology
from .motions import motions_here, posed_motions
from .posable_scene import PosableScene, posable_scene
from .posing import key_names
from .rigs import rig_faults
from .roles import Played, played_roles
from .shown import InstancedPart, seen_objects

Answer = TypeVar("Answer")
SHARE, LONGEST_SECONDS = 0.3, 0.2
"""A turn may take this share of the time that the interface took since the one before, and no longer than that."""


class ChangedMeanwhile(InputError):
    """The scene became another one between two turns of reading it."""

    def __init__(self, name: str) -> None:
        super().__init__(f"The scene '{name}' changed while it was read; read it again.")


@dataclass(frozen=True)
class Cast:
    """What of a scene is read.

    Attributes
    ----------
    objects, played, marks, cameras
        All objects, those with a role, the landmarks' and the cameras.
    seen
        Those that are seen, with a role or without.
    asked, keys, faults
        The motions that Blender is to pose, the shape keys that there are, and why a rig has none of a motion.
    """

    objects: list[BlenderObject]
    played: tuple[Played, ...]
    marks: Mapping[str, BlenderObject]
    cameras: list[BlenderObject]
    seen: list[BlenderObject]
    asked: Mapping[str, MotionBrief]
    keys: tuple[str, ...]
    faults: Mapping[str, InputError]

    @property
    def motions(self) -> Mapping[str, MotionBrief]:
        """The motions that this scene can play."""
        here = motions_here(self.asked, self.keys)
        return {name: motion for name, motion in here.items() if name not in self.faults}


def cast_of(context: BlenderContext, brief: Brief) -> Cast:
    """Return what of the context's scene is read.

    Raises
    ------
    InputError
        When roles or motions that it states cannot be read.
    """
    objects = list(context.scene.objects)
    everything, asked = with_instanced(objects), posed_motions(context.scene, brief)
    return Cast(
        objects=objects,
        played=played_roles(objects, brief),
        marks=landmark_objects(objects),
        cameras=list(camera_objects(objects)),
        seen=seen_objects(context.scene, context.view_layer, brief),
        asked=asked,
        keys=tuple(key_names(everything)),
        faults=rig_faults(asked, everything),
    )


@dataclass
class Lent:
    """Lends the context's scene, taken up again after every turn.

    Attributes
    ----------
    context, brief, mm_per_unit
        What is read, and with which brief.
    turn_seconds
        A turn ends when it took so long; infinite: the scene is read in one. Where drawing takes much longer than that,
        turns are longer too: each one is followed by a drawing.
    """

    context: BlenderContext
    brief: Brief
    mm_per_unit: float
    turn_seconds: float
    _open: ExitStack = field(default_factory=ExitStack)
    _scene: PosableScene | None = None
    _cast: Cast | None = None
    _seen: object = None
    _since: float = 0.0
    _gave: float = math.inf
    _at_rest: dict[str, Topology] = field(default_factory=dict)
    _instanced: list[InstancedPart] = field(default_factory=list)

    def scene(self) -> PosableScene:
        """Return the scene, ready to be posed; not to be kept beyond the turn.

        Raises
        ------
        ChangedMeanwhile
            When objects, roles or the frame are not those of the turn before.
        InputError
        """
        if self._scene is None:
            self._take()
        assert self._scene is not None
        return self._scene

    def at_rest(self) -> tuple[PosableScene, Depsgraph]:
        """Return the scene and its evaluation, every motion key at rest.

        Raises
        ------
        InputError
        """
        scene = self.scene()
        return scene, scene.pose()

    @property
    def cast(self) -> Cast:
        """What of the scene is read, as it was found for this turn."""
        self.scene()
        assert self._cast is not None
        return self._cast

    def _take(self) -> None:
        self._cast = cast = cast_of(self.context, self.brief)
        seen = _identity(self.context, cast)
        if self._seen not in (None, seen):
            raise ChangedMeanwhile(self.context.scene.name)
        self._seen, self._since = seen, time.perf_counter()
        waited = max(self._since - self._gave, 0.0)
        self.turn_seconds = max(self.turn_seconds, min(SHARE * waited, LONGEST_SECONDS))
        others, kept = (*cast.marks.values(), *cast.cameras, *cast.seen), (self._at_rest, self._instanced)
        lent = posable_scene(self.context, cast.played, others, cast.motions, self.mm_per_unit, *kept)
        self._scene = self._open.enter_context(lent)

    def give_back(self) -> None:
        """Leave the scene as it was."""
        self._scene = self._cast = None
        self._open.close()
        self._gave = time.perf_counter()

    def in_turns(self, job: Job[Answer]) -> Job[Answer]:
        """Run a job that reads the scene; whenever a turn is over the scene is given back and a step comes out.

        Raises
        ------
        InputError
            Whatever the job raises; the scene is given back then, also when the job is closed.
        """
        try:
            while True:
                step = next(job)
                if time.perf_counter() - self._since > self.turn_seconds:
                    self.give_back()
                    yield step
        except StopIteration as finished:
            answer: Answer = finished.value
            return answer
        finally:
            job.close()
            self.give_back()


def _identity(context: BlenderContext, cast: Cast) -> object:
    """Return what must stay the same from turn to turn."""
    scene = context.scene
    played = tuple((each.name, each.role) for each in cast.played)
    return scene.name, scene.frame_current, scene.frame_subframe, played, tuple(cast.marks), cast.keys
