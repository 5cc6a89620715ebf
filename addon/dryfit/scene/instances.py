"""What is seen as an instance: of a collection, of geometry nodes, of particles, of an object under another.

Whatever one object shows of one source belongs together: a thousand scales on a cheek are one thing.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .blender import BlenderObject, Depsgraph
from .meshes import WITH_SURFACE, Topology, areas, evaluated_mesh, local_vertices, placed, topology, triangles

Key = tuple[int, int]
"""Blender's numbers for a source and for what shows it."""


@dataclass(frozen=True)
class StandingMesh:
    """Triangles as they stand in the scene: ``(n, 3)`` vertices in Blender units, world space, and ``(m, 3)`` faces."""

    vertices: FloatArray
    faces: IntArray
    topology: Topology


@dataclass
class InstanceGroup:
    """All that one object shows of one source.

    Attributes
    ----------
    source, instancer
        What is shown, and what shows it; the same object where geometry nodes make what they instance.
    kinds
        Blender's types of what was seen.
    places
        World matrices ``(4, 4)`` at which the source itself is seen.
    made
        What geometry nodes made, as it stands.
    """

    source: BlenderObject
    instancer: BlenderObject
    kinds: set[str] = field(default_factory=set)
    places: list[FloatArray] = field(default_factory=list)
    made: list[StandingMesh] = field(default_factory=list)

    @property
    def key(self) -> Key:
        """What tells it from others, in every pose."""
        return self.source.session_uid, self.instancer.session_uid

    @property
    def name(self) -> str:
        """Its name in words: ``Scale in Cheek``."""
        own = self.source == self.instancer
        return f"instances on {self.source.name}" if own else f"{self.source.name} in {self.instancer.name}"

    def standing(self, depsgraph: Depsgraph) -> StandingMesh:
        """Return all of it as one mesh, in the order in which Blender shows it."""
        return _joined([*self._of_source(depsgraph), *self.made])

    def areas(self, depsgraph: Depsgraph) -> dict[str, FloatArray]:
        """Return the marked areas of the source as weights ``(n,)`` of ``standing``; what nodes made has none."""
        if not self.source.vertex_groups:
            return {}
        with evaluated_mesh(self.source, depsgraph) as (_, mesh):
            found = areas(self.source, mesh)
        made = np.zeros(sum(len(each.vertices) for each in self.made))
        return {name: np.concatenate([np.tile(weights, len(self.places)), made]) for name, weights in found.items()}

    def _of_source(self, depsgraph: Depsgraph) -> Iterator[StandingMesh]:
        if not self.places:
            return
        with evaluated_mesh(self.source, depsgraph) as (_, mesh):
            points, found = local_vertices(mesh), topology(mesh)
            faces = triangles(mesh)
        yield from (_standing(points, faces, found, matrix) for matrix in self.places)


def instance_groups(depsgraph: Depsgraph) -> list[InstanceGroup]:
    """Return what is seen as an instance in an evaluated scene."""
    groups: dict[Key, InstanceGroup] = {}
    seen_at: dict[int, FloatArray] = {}
    for entry in depsgraph.object_instances:
        item, matrix = entry.object, np.array(entry.matrix_world, dtype=np.float64)
        source = item.original
        own = _is_itself(item, source, depsgraph)
        component = not own and source.type != "MESH" and _same(seen_at.get(source.session_uid), matrix)
        if own:
            seen_at[source.session_uid] = matrix
        if not entry.is_instance or component or entry.parent is None:
            continue
        new = InstanceGroup(source, entry.parent.original)
        _add(groups.setdefault(new.key, new), item, matrix, own)
    return list(groups.values())


def _add(group: InstanceGroup, item: BlenderObject, matrix: FloatArray, own: bool) -> None:
    group.kinds.add(item.type)
    if own:
        group.places.append(matrix)
    elif item.type == "MESH":
        mesh = item.data
        group.made.append(_standing(local_vertices(mesh), triangles(mesh), topology(mesh), matrix))
    else:
        group.places.append(matrix)


def _is_itself(item: BlenderObject, source: BlenderObject, depsgraph: Depsgraph) -> bool:
    """Tell whether an entry is its object, not a mesh that the object's curves, text or nodes made."""
    return bool(item.type == source.type and item.data == source.evaluated_get(depsgraph).data)


def _same(one: FloatArray | None, other: FloatArray) -> bool:
    return one is not None and np.array_equal(one, other)


def _standing(points: FloatArray, faces: IntArray, found: Topology, matrix: FloatArray) -> StandingMesh:
    mirrored = np.linalg.det(matrix[:3, :3]) < 0.0
    return StandingMesh(placed(points, matrix), faces[:, ::-1] if mirrored else faces, found)


def _joined(meshes: list[StandingMesh]) -> StandingMesh:
    counts = [len(each.vertices) for each in meshes]
    starts = np.cumsum([0, *counts])[:-1]
    faces = [each.faces + start for each, start in zip(meshes, starts, strict=True)]
    return StandingMesh(
        np.concatenate([np.zeros((0, 3)), *(each.vertices for each in meshes)]),
        np.concatenate([np.zeros((0, 3), np.int64), *faces]),
        Topology(sum(counts), np.concatenate([np.zeros(0, np.int64), *(each.topology.corners for each in meshes)])),
    )


def with_instanced(objects: Iterable[BlenderObject]) -> list[BlenderObject]:
    """Return objects with those of the collections that they instance, each once, however deep."""
    found: dict[int, BlenderObject] = {}
    todo = list(objects)
    while todo:
        item = todo.pop(0)
        if item.session_uid not in found:
            found[item.session_uid] = item
            if item.instance_type == "COLLECTION" and item.instance_collection is not None:
                todo += item.instance_collection.all_objects
    return list(found.values())


def instanced_only(objects: Iterable[BlenderObject]) -> Iterator[tuple[BlenderObject, BlenderObject]]:
    """Yield who instances a collection, and what stands in it and not among the objects themselves."""
    direct = {item.session_uid for item in objects}
    for shower in with_instanced(objects):
        if shower.instance_type == "COLLECTION" and shower.instance_collection is not None:
            inside = shower.instance_collection.all_objects
            yield from ((shower, item) for item in inside if item.session_uid not in direct)


def shows_others(item: BlenderObject) -> bool:
    """Tell whether an object without a surface shows others in its place: an Empty that instances a collection."""
    return item.type not in WITH_SURFACE and item.instance_type != "NONE"
