"""A scene whose motion keys can be set: what is on stage, and how to read it in any pose."""

import math
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field

from ..model.arrays import FloatArray
from ..model.brief import MotionBrief
from ..model.snapshot import Part
from .blender import BlenderContext, BlenderObject, Depsgraph
from .controls import BoneTurn
from .errors import HeldBack, TopologyChanges
from .instances import instance_groups, with_instanced
from .meshes import Topology, areas, evaluated_mesh, outward_triangles, topology, world_vertices_mm
from .motions import PosedAt, rest_values, values_at
from .posing import Posable, posable_again, posables, posing_notes, require_posed, require_relative, set_keys
from .rigs import Rigs, rigs_of, rigs_to_pose
from .roles import Played
from .shown import InstancedPart
from .staging import StageScene, object_mode, staged

MATERIAL = "dryfit_material"
HELD_DEG = 0.5
"""A bone that turns by this much more or less than it was asked for is held by something."""


@dataclass(frozen=True)
class PosableScene:
    """The objects with a role on a stage, their motion keys free to be set.

    Attributes
    ----------
    stage
        Where they are evaluated.
    played
        The objects with a role.
    posable
        The shape keys that the motions name.
    motions
        The motions that are posed here, of shape keys or a rig.
    mm_per_unit
        Millimetres in one Blender unit.
    notes
        What had to be overruled to set the keys.
    at_rest
        Each part's topology at rest, filled when the parts are read.
    instanced
        Instances that are measured too, filled by whoever looked what the stage shows at rest.
    rigs
        What motions pose of rigs.
    """

    stage: StageScene
    played: tuple[Played, ...]
    posable: tuple[Posable, ...]
    motions: Mapping[str, MotionBrief]
    mm_per_unit: float
    notes: tuple[str, ...] = ()
    at_rest: dict[str, Topology] = field(default_factory=dict)
    instanced: list[InstancedPart] = field(default_factory=list)
    rigs: Rigs = field(default_factory=Rigs)

    @property
    def rest(self) -> dict[str, float]:
        """Every motion key's value at rest."""
        return rest_values(self.motions)

    def pose(self, motion: str = "", t: float = 0.0) -> Depsgraph:
        """Pose everything for t of one motion, all others at their start, and return the evaluated scene.

        Raises
        ------
        KeyNotPosed, ControlNotPosed
            When a key or a control does not take its value.
        """
        values = values_at(self.motions[motion], t, self.rest) if motion else self.rest
        set_keys(self.posable, values)
        self.rigs.pose(self.stage, motion, t)
        depsgraph = self.stage.evaluate()
        require_posed(self.posable, values, depsgraph, self.motions)
        self.rigs.require_posed(depsgraph, motion, t)
        return depsgraph

    def held(self, motion: str) -> HeldBack | None:
        """Return why a bone does not turn as a motion asks; None where it does, or no bone makes it.

        Raises
        ------
        KeyNotPosed, ControlNotPosed
        """
        bone = self.rigs.controls.get(motion)
        if not isinstance(bone, BoneTurn):
            return None
        ends = [bone.stands(bone.owner.evaluated_get(self.pose(motion, t))).copy() for t in (0.0, 1.0)]
        turned_deg = math.degrees(ends[0].rotation_difference(ends[1]).angle)
        start, end = bone.ends
        if abs(_shorter_deg(turned_deg) - _shorter_deg(end - start)) <= HELD_DEG:
            return None
        return HeldBack(motion, bone.brief.name, abs(end - start), turned_deg, bone.constraints())

    def parts(self) -> tuple[Part, ...]:
        """Return every part at rest.

        Raises
        ------
        KeyNotPosed
        """
        depsgraph = self.pose()
        return self.visible((self.part_of(each, depsgraph) for each in self.played), depsgraph)

    def posed_at(self, motion: str) -> PosedAt:
        """Return the function that gives every part's vertices ``(n, 3)``, mm, at t of one motion."""

        def pose(t: float) -> dict[str, FloatArray]:
            depsgraph = self.pose(motion, t)
            own = {each.name: self._posed_vertices(each, depsgraph, motion, t) for each in self.played}
            return {**own, **self._posed_instances(depsgraph, motion, t)}

        return pose

    def visible(self, own: Iterable[Part], depsgraph: Depsgraph) -> tuple[Part, ...]:
        """Return the parts seen at rest: objects' own, without those seen through others alone, and instances."""
        shown = [self._instanced_part(each, depsgraph) for each in self.instanced]
        return (*(part for part in own if len(part.faces) or not self._shows_others(part.name)), *shown)

    def _shows_others(self, name: str) -> bool:
        """Tell whether an object with a role is seen through others alone: its instances, or its family's metaball."""
        item = next(each.object for each in self.played if each.name == name)
        shows = {each.group.instancer.session_uid for each in self.instanced}
        return item.type == "META" or item.session_uid in shows

    def _instanced_part(self, each: InstancedPart, depsgraph: Depsgraph) -> Part:
        standing = each.group.standing(depsgraph)
        self.at_rest[each.name] = standing.topology
        stated = each.group.source.get(MATERIAL) or each.group.instancer.get(MATERIAL, "")
        vertices_mm = standing.vertices * self.mm_per_unit
        marked = each.group.areas(depsgraph)
        return Part(each.name, each.role, vertices_mm, standing.faces, str(stated), marked, own=each.own)

    def _posed_instances(self, depsgraph: Depsgraph, motion: str, t: float) -> dict[str, FloatArray]:
        if not self.instanced:
            return {}
        groups = {group.key: group for group in instance_groups(depsgraph)}
        posed = {}
        for each in self.instanced:
            group = groups.get(each.key)
            found, rest = group.standing(depsgraph) if group else None, self.at_rest[each.name]
            if found is None or not found.topology.same_as(rest):
                count = found.topology.vertices if found else 0
                raise TopologyChanges(each.name, motion, t, rest.vertices, count)
            posed[each.name] = found.vertices * self.mm_per_unit
        return posed

    def part_of(self, each: Played, depsgraph: Depsgraph) -> Part:
        """Return one part as it is evaluated now, which is at rest."""
        with evaluated_mesh(each.object, depsgraph) as (evaluated, mesh):
            self.at_rest[each.name] = topology(mesh)
            return Part(
                name=each.name,
                role=each.role,
                vertices_mm=world_vertices_mm(evaluated, mesh, self.mm_per_unit),
                faces=outward_triangles(evaluated, mesh),
                material=str(each.object.get(MATERIAL, "")),
                areas=areas(each.object, mesh),
                own=each.own,
            )

    def _posed_vertices(self, each: Played, depsgraph: Depsgraph, motion: str, t: float) -> FloatArray:
        with evaluated_mesh(each.object, depsgraph) as (evaluated, mesh):
            found, rest = topology(mesh), self.at_rest[each.name]
            vertices_mm = world_vertices_mm(evaluated, mesh, self.mm_per_unit)
        if not found.same_as(rest):
            raise TopologyChanges(each.name, motion, t, rest.vertices, found.vertices)
        return vertices_mm


def _shorter_deg(angle_deg: float) -> float:
    """Return a turn as the shorter way round, 0 to 180."""
    once = abs(angle_deg) % 360.0
    return min(once, 360.0 - once)


@contextmanager
def posable_scene(
    context: BlenderContext,
    played: tuple[Played, ...],
    others: Iterable[BlenderObject],
    motions: Mapping[str, MotionBrief],
    mm_per_unit: float,
    at_rest: dict[str, Topology] | None = None,
    instanced: list[InstancedPart] | None = None,
) -> Iterator[PosableScene]:
    """Lend the context's scene ready to be posed; afterwards, and also on error, it is as it was.

    Parameters
    ----------
    context
        Where the scene and the mode of the active object come from.
    played, others
        The objects with a role, and others whose place is asked for.
    motions
        Motions made of shape keys, or of a rig that is there.
    mm_per_unit
        Millimetres in one Blender unit.
    at_rest
        Each part's topology at rest, where some were read when the scene was lent before.
    instanced
        Instances that are measured too, where they were found then.

    Raises
    ------
    AbsoluteKeys
        When a motion names a key that has no value.
    NoSuchControl, NoNumber
        When a motion names a bone or property that is not there, or cannot be set.
    """
    objects = with_instanced(context.scene.objects)
    named = {key for motion in motions.values() for key in motion.keys}
    shown = {item.as_pointer(): item for item in (*(each.object for each in played), *others)}
    with object_mode(context):
        posable = posables(objects, named)
        require_relative(posable, motions)
        rigs = rigs_of(motions, objects)
        notes = (*posing_notes(objects, posable), *rigs.notes())
        with (
            staged(context.scene, shown.values()) as stage,
            posable_again(context, objects, posable, animated=bool(rigs.frames)),
            rigs_to_pose(context, rigs),
        ):
            known, beside = {} if at_rest is None else at_rest, [] if instanced is None else instanced
            yield PosableScene(stage, played, posable, motions, mm_per_unit, notes, known, beside, rigs)
