"""Landmarks, Empties that carry a name, and drawn rims, lines that carry one; a brief overrides both."""

import difflib
import math
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry.chains import chain_order
from ..model.arrays import FloatArray
from ..model.snapshot import LANDMARKS
from .blender import BlenderObject, Depsgraph
from .errors import TwoLandmarks
from .instances import instanced_only, with_instanced
from .meshes import evaluated_mesh, world_matrix, world_vertices_mm

LANDMARK = "dryfit_landmark"
RIM = "dryfit_rim"
"""On a curve, or a mesh of edges: the name of the rim that it draws."""
DRAWN = ("CURVE", "MESH")
PROPOSED = "dryfit_landmark_proposed"
"""On an Empty that was proposed and not confirmed: the error to reckon with, mm."""
SAME_MM = 0.001
"""Two marks of one landmark no further apart are one."""


@dataclass(frozen=True)
class SeenLandmark:
    """What marks a landmark: its name in words, the object, and where it stands ``(3,)``, mm, world space."""

    name: str
    object: BlenderObject
    point_mm: FloatArray


def landmark_objects(objects: Iterable[BlenderObject]) -> dict[str, BlenderObject]:
    """Return the objects that mark a known landmark, by its name.

    Raises
    ------
    TwoLandmarks
        When two objects claim the same one.
    """
    marked: dict[str, list[BlenderObject]] = {}
    for item in objects:
        name = item.get(LANDMARK)
        if name in LANDMARKS:
            marked.setdefault(name, []).append(item)
    for name, items in marked.items():
        if len(items) > 1:
            raise TwoLandmarks(name, [item.name for item in items])
    return {name: items[0] for name, items in marked.items()}


def seen_landmarks(
    marked: Mapping[str, BlenderObject], depsgraph: Depsgraph, mm_per_unit: float
) -> dict[str, SeenLandmark]:
    """Return the landmarks by name: those that objects of the scene mark, and those within what instances show.

    Parameters
    ----------
    marked
        The objects of the scene that mark one; an instance does not count beside them.
    depsgraph
        The scene, evaluated.
    mm_per_unit
        Millimetres in one Blender unit.

    Raises
    ------
    TwoLandmarks
        When one is marked at two places, both within instances.
    """
    own = {
        name: SeenLandmark(item.name, item, world_matrix(item.evaluated_get(depsgraph))[:3, 3] * mm_per_unit)
        for name, item in marked.items()
    }
    return {**_instanced_landmarks(depsgraph, mm_per_unit, own), **own}


def _instanced_landmarks(depsgraph: Depsgraph, mm_per_unit: float, own: Container[str]) -> dict[str, SeenLandmark]:
    found: dict[str, SeenLandmark] = {}
    for entry in depsgraph.object_instances:
        name = entry.object.get(LANDMARK) if entry.is_instance and entry.parent is not None else None
        if name not in LANDMARKS or name in own:
            continue
        matrix = np.array(entry.matrix_world, dtype=np.float64)
        shower = f"{entry.object.name} in {entry.parent.name}"
        new = SeenLandmark(shower, entry.object.original, matrix[:3, 3] * mm_per_unit)
        if np.linalg.norm(found.setdefault(name, new).point_mm - new.point_mm) > SAME_MM:
            raise TwoLandmarks(name, [found[name].name, new.name])
    return found


def hidden_marks(objects: Sequence[BlenderObject], seen: Container[str]) -> Iterator[str]:
    """Tell which landmarks are marked within instanced collections and hidden there, so that nobody has them."""
    lost = {
        f"{item[LANDMARK]} ('{item.name}' in '{shower.name}')"
        for shower, item in instanced_only(objects)
        if item.get(LANDMARK) in LANDMARKS and item[LANDMARK] not in seen
    }
    if lost:
        yield f"Landmarks hidden within instances, so not read: {', '.join(sorted(lost))}."


def rim_objects(objects: Iterable[BlenderObject]) -> list[BlenderObject]:
    """Return the objects that draw a rim, by name."""
    return sorted((item for item in objects if item.get(RIM) and item.type in DRAWN), key=lambda item: str(item.name))


def drawn_rims(items: Iterable[BlenderObject], depsgraph: Depsgraph, mm_per_unit: float) -> dict[str, FloatArray]:
    """Return the lines that objects draw, ``(k, 3)``, mm, world space, by the names of their rims.

    What has faces, as a curve with a bevel has, is no line, and draws none.
    """
    lines = {}
    for item in items:
        with evaluated_mesh(item, depsgraph) as (evaluated, mesh):
            if mesh is None or not len(mesh.edges) or len(mesh.polygons):
                continue
            ends = np.empty(2 * len(mesh.edges), np.int32)
            mesh.edges.foreach_get("vertices", ends)
            points = world_vertices_mm(evaluated, mesh, mm_per_unit)
            lines[str(item[RIM]) if isinstance(item[RIM], str) else item.name] = points[
                chain_order(ends.reshape(-1, 2))
            ]
    return lines


def rim_notes(items: Iterable[BlenderObject], lines: Mapping[str, FloatArray]) -> Iterator[str]:
    """Tell which objects are to draw a rim and draw no line."""
    for item in items:
        if (str(item[RIM]) if isinstance(item[RIM], str) else item.name) not in lines:
            yield f"'{item.name}' is to draw a rim and is no line: it needs edges and no faces, a curve no bevel."


def landmark_errors(marked: Mapping[str, BlenderObject]) -> dict[str, float]:
    """Return the error to reckon with of those that nobody confirmed, mm; inf where the mark is no such number."""
    return {name: _error_mm(item[PROPOSED]) for name, item in marked.items() if PROPOSED in item}


def _error_mm(stored: object) -> float:
    number = float(stored) if isinstance(stored, int | float) else math.inf
    return number if number >= 0.0 else math.inf


def landmark_notes(objects: Iterable[BlenderObject]) -> tuple[str, ...]:
    """Tell which objects carry a landmark name that does not exist; those in instanced collections too."""
    return tuple(
        f"'{item.name}' marks '{item[LANDMARK]}', which is no known landmark{_nearest(item[LANDMARK])}."
        for item in with_instanced(objects)
        if item.get(LANDMARK) not in (None, "", *LANDMARKS)
    )


def _nearest(name: object) -> str:
    near = difflib.get_close_matches(str(name), LANDMARKS, 1, cutoff=0.5)
    return f" (nearest: '{near[0]}')" if near else ""
