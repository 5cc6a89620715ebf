"""What a scene shows: whatever has a surface and a role is measured, everything else that is seen is named."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from ..geometry.areas import areas_mm2
from ..geometry.sampling import spread_samples
from ..model.arrays import FloatArray, IntArray
from ..model.brief import Brief
from ..model.snapshot import Role
from ..model.unmeasured import Unmeasured
from .blender import BlenderData, BlenderObject, BlenderScene, BlenderViewLayer, Depsgraph
from .instances import InstanceGroup, Key, instance_groups, instanced_only, shows_others
from .meshes import WITH_SURFACE, WITHOUT_SURFACE, evaluated_mesh, placed, triangles, world_matrix, world_vertices_mm
from .roles import Played, StatedRoles, is_own, role_of

KINDS: Mapping[str, str] = MappingProxyType(
    {
        "MESH": "mesh", "CURVE": "curve", "SURFACE": "surface", "META": "metaball", "FONT": "text",
        "CURVES": "hair", "POINTCLOUD": "point cloud", "VOLUME": "volume", "GPENCIL": "drawing",
        "GREASEPENCIL": "drawing",
    }
)  # fmt: skip
"""Blender's types of object that are seen -> what they are in a word."""
OUTLINED = ("WIRE", "BOUNDS")
"""Ways of display of objects that are tools: cutters and cages, which are seen as lines alone."""
NO_ROLE = "it has no role; give it one, or the role ignore"
NO_SURFACE = "it has no surface that could be measured; turn it into a mesh, or give it the role ignore"
STRANDS = "its strands are no surface that could be measured; or name '{name}' under [roles] ignore"
SAMPLES = 2000
"""So many places on a thing tell how near the face it comes."""
GRID = 12
"""Places along each edge of the box round what has no surface."""


@dataclass(frozen=True)
class InstancedPart:
    """Instances that are measured: what one object shows of one source; ``key`` tells the group in any later turn."""

    name: str
    role: Role
    group: InstanceGroup
    own: bool
    key: Key


@dataclass(frozen=True)
class SeenBeside:
    """What is seen beside the objects that have a role themselves; ``sources`` is all that instances show."""

    instanced: tuple[InstancedPart, ...]
    unmeasured: tuple[Unmeasured, ...]
    sources: tuple[BlenderObject, ...]


def seen_objects(scene: BlenderScene, layer: BlenderViewLayer, brief: Brief) -> list[BlenderObject]:
    """Return the objects of a scene that a view layer shows as more than lines, or as others, and that may count.

    Raises
    ------
    UnknownRole, TwoRoles
    """
    stated = StatedRoles(brief)
    return [
        item
        for item in scene.objects
        if (item.type in KINDS or shows_others(item))
        and (role := role_of(item, stated)) is not Role.IGNORE
        and (role is not None or (item.display_type not in OUTLINED and item.visible_get(view_layer=layer)))
    ]


def shown(
    seen: Iterable[BlenderObject], played: Iterable[Played], brief: Brief, depsgraph: Depsgraph, mm_per_unit: float
) -> SeenBeside:
    """Return what an evaluated stage shows beside the objects that have a role themselves.

    Raises
    ------
    UnknownRole, TwoRoles
    """
    survey = _Survey(StatedRoles(brief), brief, depsgraph, mm_per_unit)
    parts: list[InstancedPart] = []
    unmeasured: list[Unmeasured] = []
    groups = [group for group in instance_groups(depsgraph) if group.kinds & {*KINDS}]
    for group in groups:
        role = survey.role_of_group(group)
        if role is None or group.kinds <= {*WITHOUT_SURFACE}:
            unmeasured += survey.unmeasured_group(group, role)
        elif role is not Role.IGNORE:
            parts.append(InstancedPart(group.name, role, group, is_own(group.source, role, brief), group.key))
    with_role = {each.object.session_uid: each.role for each in played}
    for item in seen:
        unmeasured += survey.unmeasured_object(item, item.session_uid in with_role)
        unmeasured += survey.unmeasured_strands(item, with_role.get(item.session_uid))
    by_name = tuple(sorted(parts, key=lambda part: part.name))
    return SeenBeside(by_name, tuple(unmeasured), tuple(group.source for group in groups))


def hidden_inside(objects: Sequence[BlenderObject], sources: Iterable[BlenderObject], brief: Brief) -> tuple[str, ...]:
    """Tell which pieces within instanced collections have a role and are seen nowhere.

    An object of the scene with a role is measured although it is hidden; what is hidden within an instance is not
    there to be measured.
    """
    stated, seen = StatedRoles(brief), {item.session_uid for item in sources}
    lost = [
        f"{item.name} in {shower.name}"
        for shower, item in instanced_only([each for each in objects if role_of(each, stated) is not Role.IGNORE])
        if item.type in WITH_SURFACE and item.session_uid not in seen
        if role_of(item, stated) not in (None, Role.IGNORE) and role_of(shower, stated) is not Role.IGNORE
    ]
    return (f"Hidden within instances, so not measured: {', '.join(lost)}.",) if lost else ()


def render_notes(played: Iterable[Played]) -> Iterator[str]:
    """Tell which pieces look otherwise in a render: what is measured is what the viewport shows."""
    for each in played:
        names = [modifier.name for modifier in each.object.modifiers if _differs_in_renders(modifier)]
        if names:
            word = "modifiers" if len(names) > 1 else "modifier"
            yield f"'{each.name}' looks otherwise in renders ({word} {', '.join(names)}); measured as in the viewport."


def _differs_in_renders(modifier: BlenderData) -> bool:
    if modifier.show_viewport != modifier.show_render:
        return True
    levels = getattr(modifier, "levels", None), getattr(modifier, "render_levels", None)
    return bool(modifier.show_render and None not in levels and levels[0] != levels[1])


@dataclass(frozen=True)
class _Survey:
    stated: StatedRoles
    brief: Brief
    depsgraph: Depsgraph
    mm_per_unit: float

    def role_of_group(self, group: InstanceGroup) -> Role | None:
        """Return the role of instances: their source's, else that of what shows them, whose ``ignore`` comes first."""
        shower = role_of(group.instancer, self.stated)
        return Role.IGNORE if shower is Role.IGNORE else role_of(group.source, self.stated) or shower

    def unmeasured_group(self, group: InstanceGroup, role: Role | None) -> Iterator[Unmeasured]:
        """Yield instances of what has no role, or no surface."""
        if role is Role.IGNORE:
            return
        standing = group.standing(self.depsgraph)
        kind = KINDS[min(group.kinds & {*KINDS})]
        if len(standing.faces):
            points = _points_on(standing.vertices * self.mm_per_unit, standing.faces)
            yield Unmeasured(group.name, kind, NO_ROLE, points)
        elif group.kinds & {*WITHOUT_SURFACE}:
            boxes = [self._box_mm(group.source, matrix) for matrix in group.places]
            yield Unmeasured(group.name, kind, NO_SURFACE, np.concatenate([np.zeros((0, 3)), *boxes]))

    def unmeasured_object(self, item: BlenderObject, has_role: bool) -> Iterator[Unmeasured]:
        """Yield an object that is seen and no part."""
        evaluated = item.evaluated_get(self.depsgraph)
        if item.type in WITHOUT_SURFACE:
            yield Unmeasured(item.name, KINDS[item.type], NO_SURFACE, self._box_mm(evaluated, world_matrix(evaluated)))
        if has_role or item.type not in WITH_SURFACE:
            return
        with evaluated_mesh(item, self.depsgraph) as (evaluated, mesh):
            vertices_mm, faces = world_vertices_mm(evaluated, mesh, self.mm_per_unit), triangles(mesh)
        if len(faces):
            yield Unmeasured(item.name, KINDS[item.type], NO_ROLE, _points_on(vertices_mm, faces))

    def unmeasured_strands(self, item: BlenderObject, role: Role | None) -> Iterator[Unmeasured]:
        """Yield the particle hair of an object; the performer's own is a matter of the scan, not of the design."""
        for system in item.particle_systems if item.type == "MESH" and role is not Role.BASE else ():
            if not _is_hair(item, system) or self.stated.role_of_name(system.name) is Role.IGNORE:
                continue
            evaluated = item.evaluated_get(self.depsgraph)
            box = self._box_mm(evaluated, world_matrix(evaluated))
            yield Unmeasured(f"{system.name} on {item.name}", "hair", STRANDS.format(name=system.name), box)

    def _box_mm(self, item: BlenderObject, matrix: FloatArray) -> FloatArray:
        """Return places throughout an object's box, mm, world space."""
        corners = np.array(item.bound_box, dtype=np.float64)
        steps = np.linspace(0.0, 1.0, GRID)
        share = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3)
        low, high = corners.min(axis=0), corners.max(axis=0)
        return placed(low + share * (high - low), matrix) * self.mm_per_unit


def _is_hair(item: BlenderObject, system: object) -> bool:
    shows = any(each.show_viewport for each in item.modifiers if getattr(each, "particle_system", None) == system)
    settings = system.settings  # type: ignore[attr-defined]
    return bool(shows and settings.type == "HAIR" and settings.render_type == "PATH")


def _points_on(vertices_mm: FloatArray, faces: IntArray) -> FloatArray:
    """Return places all over some triangles; their corners where they have no area."""
    area_mm2 = float(areas_mm2(vertices_mm[faces]).sum())
    if not area_mm2 > 0.0 or not np.isfinite(area_mm2):
        return vertices_mm[:SAMPLES]
    return spread_samples(vertices_mm, faces, np.sqrt(area_mm2 / SAMPLES)).points(vertices_mm, faces)
