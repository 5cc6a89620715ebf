"""The cage: the skin at the height that forms may reach, as an object that is looked at and never measured."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from ..model.arrays import FloatArray, IntArray
from ..model.errors import DryfitError
from ..model.snapshot import Role
from .blender import MODULE, BlenderMaterial, BlenderMesh, BlenderObject, BlenderScene, blender
from .float_attributes import write_floats
from .roles import CAGE, ROLE
from .units import mm_per_unit

NAME = "Room Cage"
SUGGESTED = "dryfit_suggested_rim"
"""On a line that was suggested: the name of the rim that was drawn."""
HEIGHT = "dryfit_room_mm"
"""The room at each vertex of the cage, as a float attribute."""
COLOUR = (0.16, 0.52, 0.78, 0.22)
"""Seen through: what stands below it stays in sight, what breaks through it is plain."""
STEEPEST = 3.0
"""A cage rises by no more than so many times a face's longest edge; what is steeper is a leap."""
MM_SCALE = 0.001
PACKAGE = __name__.rpartition(".scene.")[0]
START = "import sys; sys.path[:] = {path!r}; from {package}.scene.cage import answer_blend; answer_blend()"
LIMIT_S = 120.0


class CageNotWritten(DryfitError):
    """Blender did not write the cage."""

    def __init__(self, why: str) -> None:
        super().__init__(f"The cage could not be written as a .blend file: {why}; cage.ply holds the same surface.")


@dataclass(frozen=True)
class Cage:
    """A skin at the height that forms may reach.

    Attributes
    ----------
    vertices_mm, faces
        World space, ``(n, 3)`` and ``(m, 3)``.
    room_mm
        The room at its vertices, ``(n,)``.
    """

    vertices_mm: FloatArray
    faces: IntArray
    room_mm: FloatArray

    @classmethod
    def over(
        cls, skin_mm: FloatArray, faces: IntArray, outward: FloatArray, room_mm: FloatArray, most_mm: float
    ) -> Cage:
        """Return the cage over a skin where something stops a form: nothing stands where nothing does, or none knows.

        Where the room leaps from one place to the next there is no wall between: it would hide what stands below.

        Parameters
        ----------
        skin_mm, faces, outward
            The skin ``(n, 3)``, its faces ``(m, 3)``, and the unit directions that forms grow along ``(n, 3)``.
        room_mm
            The room at its vertices, ``(n,)``; nan where it is not known.
        most_mm
            From here on nothing stops a form.
        """
        corners, heights = skin_mm[faces], room_mm[faces]
        longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
        stopped = (heights < most_mm).all(axis=1)  # not a number is less than nothing
        kept = np.flatnonzero(stopped & (np.ptp(heights, axis=1) <= STEEPEST * longest))
        used, compact = np.unique(faces[kept], return_inverse=True)
        standing = skin_mm[used] + room_mm[used, None] * outward[used]
        return cls(standing, compact.reshape(-1, 3), room_mm[used])


def place_cage(scene: BlenderScene, cage: Cage, item: BlenderObject | None = None) -> BlenderObject:
    """Let a cage stand in a scene; nobody selects, renders or measures it.

    Parameters
    ----------
    scene, cage
        Where, and what.
    item
        The object that shows an earlier one: it gets the new surface and is put back where it belongs. None, or one
        that a tool holds, makes another.
    """
    mesh = _mesh_of(cage, mm_per_unit(scene))
    if item is None or item.type != "MESH" or item.mode != "OBJECT" or item.library is not None:
        mesh.materials.append(_seen_through())
        return _new_object(scene, mesh)
    for material in item.data.materials:
        mesh.materials.append(material)
    before, item.data = item.data, mesh
    if not before.users:
        blender().data.meshes.remove(before)
    item.parent = None
    item.matrix_world = np.eye(4)
    _keep_apart(item)
    return item


def place_lines(scene: BlenderScene, lines: Mapping[str, FloatArray]) -> list[BlenderObject]:
    """Let suggested rims stand in a scene, in place of earlier ones; nobody selects, renders or measures them.

    Parameters
    ----------
    scene
        Where.
    lines
        Name -> points ``(k, 3)``, mm, world space; where one is nan the line is broken.
    """
    data = blender().data
    for item in [each for each in scene.objects if each.get(SUGGESTED)]:
        mesh = item.data
        data.objects.remove(item)
        if not mesh.users:
            data.meshes.remove(mesh)
    return [_new_line(scene, name, points) for name, points in lines.items()]


def _new_line(scene: BlenderScene, name: str, points_mm: FloatArray) -> BlenderObject:
    known = np.asarray(np.isfinite(points_mm).all(axis=1))
    place = np.cumsum(known) - 1
    both = np.flatnonzero(known[:-1] & known[1:])
    mesh = blender().data.meshes.new(f"Suggested {name}")
    points = points_mm[known] / mm_per_unit(scene)
    mesh.from_pydata(points.tolist(), np.stack([place[both], place[both + 1]], axis=1).tolist(), [])
    item = _new_object(scene, mesh)
    item[SUGGESTED] = name
    item.show_in_front = True
    return item


def cage_blend(cage: Cage) -> bytes:
    """Return the cage as a .blend file, in millimetres: to be opened, or appended to a design."""
    data = blender().data
    scene = data.scenes.new(NAME)
    scene.unit_settings.scale_length, scene.unit_settings.length_unit = MM_SCALE, "MILLIMETERS"
    item = place_cage(scene, cage)
    made = (item, item.data, *item.data.materials)
    scene.view_layers[0].update()  # Blender 5.2 crashes over a scene that was never looked at
    try:
        with TemporaryDirectory() as folder:
            path = Path(folder) / "cage.blend"
            data.libraries.write(str(path), {scene}, fake_user=False)
            return path.read_bytes()
    finally:
        data.batch_remove((scene, *made))


def cage_blend_apart(cage: Cage) -> bytes | None:
    """Return the cage as a .blend file, or None where no Blender is there.

    Where Blender does not run in this process yet, another one writes it: some versions crash when they end.

    Raises
    ------
    CageNotWritten
        When Blender is there and does not write it.
    """
    if MODULE in sys.modules:
        return cage_blend(cage)
    if find_spec(MODULE) is None:
        return None
    command = [sys.executable, "-c", START.format(path=sys.path, package=PACKAGE)]
    question = pickle.dumps((cage.vertices_mm, cage.faces, cage.room_mm))
    try:
        done = subprocess.run(command, input=question, capture_output=True, timeout=LIMIT_S, check=False)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise CageNotWritten(str(error)) from error
    if done.returncode or not done.stdout:
        said = done.stderr.decode(errors="replace").strip().splitlines()
        raise CageNotWritten(said[-1] if said else f"it ended with {done.returncode}")
    return done.stdout


def answer_blend() -> None:
    """Write the cage that comes over standard input to standard output, as the other process."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever Blender says must not stand in the file
    blender()
    with out:
        out.write(cage_blend(Cage(*pickle.load(sys.stdin.buffer))))
    os._exit(0)


def _new_object(scene: BlenderScene, mesh: BlenderMesh) -> BlenderObject:
    item = blender().data.objects.new(mesh.name, mesh)
    scene.collection.objects.link(item)
    _keep_apart(item)
    return item


def _keep_apart(item: BlenderObject) -> None:
    item[ROLE], item[CAGE] = str(Role.IGNORE), True
    item.hide_select = item.hide_render = True
    item.visible_shadow = False
    item.color = COLOUR


def _mesh_of(cage: Cage, mm: float) -> BlenderMesh:
    mesh = blender().data.meshes.new(NAME)
    count = len(cage.faces)
    mesh.vertices.add(len(cage.vertices_mm))
    mesh.vertices.foreach_set("co", np.ascontiguousarray(cage.vertices_mm / mm, np.float32).ravel())
    mesh.loops.add(3 * count)
    mesh.loops.foreach_set("vertex_index", np.ascontiguousarray(cage.faces, np.int32).ravel())
    mesh.polygons.add(count)
    mesh.polygons.foreach_set("loop_start", np.arange(0, 3 * count, 3, dtype=np.int32))
    mesh.update(calc_edges=True)
    mesh.polygons.foreach_set("use_smooth", np.ones(count, dtype=bool))
    write_floats(mesh, HEIGHT, cage.room_mm)
    return mesh


def _seen_through() -> BlenderMaterial:
    material = blender().data.materials.new(NAME)
    material.diffuse_color = COLOUR
    return material
