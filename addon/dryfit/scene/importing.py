"""Import mesh files with Blender's own importers, in the unit they carry or the one the brief states.

Axes are those of Blender's importers with their usual settings: OBJ, glTF and FBX turn Y-up files upright
(+Z), PLY and STL are taken as they are. World space is Blender's, after that.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from ..model.brief import MM_PER_UNIT, Brief
from ..model.errors import UnitsNotStated, UnreadableFile
from .blender import Blender, BlenderObject, blender
from .mesh_bytes import ends_in_a_line, faces_stated, require_whole, vertices_stated
from .meshes import WITH_SURFACE
from .opening import open_empty
from .quiet import quiet_output
from .reasons import why_unreadable
from .roles import ROLE
from .units import MM_PER_METRE
from .usd_units import blender_applies_usd_unit, require_stored, require_usd, usd_metres_per_unit

Importer = Callable[[Blender, str], set[str]]


def _import_obj(bpy: Blender, path: str) -> set[str]:
    answer: set[str] = bpy.ops.wm.obj_import(filepath=path, validate_meshes=True)
    return answer


def _import_ply(bpy: Blender, path: str) -> set[str]:
    answer: set[str] = bpy.ops.wm.ply_import(filepath=path)
    return answer


def _import_stl(bpy: Blender, path: str) -> set[str]:
    answer: set[str] = bpy.ops.wm.stl_import(filepath=path)
    return answer


def _import_gltf(bpy: Blender, path: str) -> set[str]:
    _enable("io_scene_gltf2")
    answer: set[str] = bpy.ops.import_scene.gltf(filepath=path)
    return answer


def _import_fbx(bpy: Blender, path: str) -> set[str]:
    if "fbx_import" in dir(bpy.ops.wm):
        answer: set[str] = bpy.ops.wm.fbx_import(filepath=path)
        return answer
    _enable("io_scene_fbx")
    answer = bpy.ops.import_scene.fbx(filepath=path)
    return answer


def _import_usd(bpy: Blender, path: str) -> set[str]:
    unit = {"apply_unit_conversion_scale": True} if blender_applies_usd_unit() else {}
    answer: set[str] = bpy.ops.wm.usd_import(filepath=path, **unit)
    return answer


IMPORTERS: Mapping[str, Importer] = {
    ".obj": _import_obj,
    ".ply": _import_ply,
    ".stl": _import_stl,
    ".glb": _import_gltf,
    ".gltf": _import_gltf,
    ".fbx": _import_fbx,
    ".usd": _import_usd,
    ".usda": _import_usd,
    ".usdc": _import_usd,
    ".usdz": _import_usd,
}
UNITLESS = (".obj", ".ply", ".stl")
"""Kinds of file that carry no unit."""
LOOSE_SHARE = 0.01
"""Share of an OBJ's vertices in no face beyond which its list of faces is taken as cut short."""
MARK = "dryfit_"
SPLIT = (".glb", ".gltf", ".ply")
"""Kinds of file that may split vertices where normals or texture coordinates differ."""


def import_mesh_file(path: Path, brief: Brief) -> float:
    """Import a mesh file into an empty scene and return the millimetres in one Blender unit of it.

    Raises
    ------
    UnitsNotStated
        When the file carries no unit and the brief states none.
    UnreadableFile
        When Blender cannot read it or finds no surface in it.
    OpenFileAtRisk, BlenderMissing
    """
    suffix = path.suffix.lower()
    factor = mm_per_imported_unit(path, brief)
    try:
        require_whole(path)
    except OSError as error:
        raise UnreadableFile(str(path), error.strerror or str(error)) from error
    open_empty(path)
    bpy = blender()
    try:
        with quiet_output():
            answer = IMPORTERS[suffix](bpy, str(path.resolve()))
    except (RuntimeError, ValueError, OSError) as error:
        raise UnreadableFile(str(path), why_unreadable(path, error)) from error
    if answer != {"FINISHED"} or not any(map(holds_something, bpy.context.scene.objects)):
        raise UnreadableFile(str(path), f"Blender finds no mesh in it; it may be damaged or no {suffix} file")
    if suffix == ".obj":
        _require_used_vertices(path)
    hand_down_marks(bpy.context.scene.objects)
    return factor


def hand_down_marks(objects: Iterable[BlenderObject]) -> None:
    """Give the marks of what stands over a mesh to the mesh, where that has none: USD keeps them on the transform.

    A mesh whose name Blender numbered, because its transform has it, gets it back.
    """
    for item in list(objects):
        marks = {name: value for name, value in item.items() if name.startswith(MARK)}
        if item.type in WITH_SURFACE or ROLE not in marks:
            continue
        for child in item.children_recursive:
            if child.type in WITH_SURFACE and ROLE not in child:
                for name, value in marks.items():
                    child[name] = value
                if re.fullmatch(rf"{re.escape(item.name)}\.\d{{3}}", child.name):
                    child.name, item.name = "dryfit meanwhile", child.name
                    child.name = item.name.rpartition(".")[0]


def _require_used_vertices(path: Path) -> None:
    """Raise when vertices of an OBJ are in no face, as they are where its list of faces was cut short.

    Blender leaves such vertices out without a word, unless there are no faces at all.

    Raises
    ------
    UnreadableFile
    """
    meshes = [item.data for item in blender().context.scene.objects if item.type == "MESH" and item.data.polygons]
    total = vertices_stated(path)
    loose = total - sum(len(mesh.vertices) for mesh in meshes) if meshes else 0
    if loose > LOOSE_SHARE * total or (loose and not ends_in_a_line(path)):
        raise UnreadableFile(
            str(path),
            f"{loose} of {total} vertices are in no face: its list of faces was probably cut short. "
            "Export it again; delete loose vertices first if they are meant",
        )


def left_out_notes(path: Path) -> tuple[str, ...]:
    """Tell how many faces of an OBJ the importer left out."""
    stated = faces_stated(path)
    read = sum(len(item.data.polygons) for item in blender().context.scene.objects if item.type == "MESH")
    if read >= stated:
        return ()
    return (f"{stated - read} of {stated} faces name vertices that are not there or repeat, and were left out.",)


def holds_something(item: BlenderObject) -> bool:
    """Tell whether an object has vertices, or is a curve or the like that may give some."""
    return item.type in WITH_SURFACE and (item.type != "MESH" or len(item.data.vertices) > 0)


def mm_per_imported_unit(path: Path, brief: Brief) -> float:
    """Return the millimetres in one unit of a mesh file.

    Raises
    ------
    UnitsNotStated
        When the file carries no unit and the brief states none.
    UnreadableFile
        When it is USD, and this Blender reads none or does not tell the unit of a binary one.
    """
    suffix = path.suffix.lower()
    if IMPORTERS[suffix] is _import_usd:
        require_usd(path)
        if suffix == ".usdz":
            require_stored(path)
        return MM_PER_METRE if blender_applies_usd_unit() else usd_metres_per_unit(path) * MM_PER_METRE
    if suffix not in UNITLESS:
        return MM_PER_METRE
    if not brief.units.mesh_files:
        raise UnitsNotStated(str(path))
    return MM_PER_UNIT[brief.units.mesh_files]


def _enable(module: str) -> None:
    import addon_utils  # type: ignore[import-not-found,unused-ignore]

    if not addon_utils.check(module)[1]:
        addon_utils.enable(module)
