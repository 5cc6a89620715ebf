"""Render measured values as passes of a multilayer EXR, for compositors to show over a shot.

Each field gives two passes: ``dryfit_clearance_mm`` holds the value, ``dryfit_clearance_known`` how much of the pixel
shows a place where it was measured. Both are averaged over the pixel, so that value divided by known is the figure
also along edges; where known is 0 nothing was measured. (Blender allows no dot in the name of a pass.)

The pieces are rendered as stand-ins: copies of the evaluated meshes that were measured, which carry the values as
float attributes. Where some lie below the base, which would hide the very places that fail, the base is drawn that
much deeper. No mesh, material or setting of the scene is different afterwards.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ..model.arrays import FloatArray
from ..model.brief import Brief
from ..model.errors import InputError, UnwritableOutput
from ..model.gate import AT_RENDER
from ..model.interrupt import ended_by_stop
from ..model.part_files import part_beside, sweep_parts
from ..model.snapshot import Role
from ..model.stamp import Stamp
from .blender import BlenderScene, blender
from .borrowing import Borrowed
from .float_attributes import KNOWN, write_known
from .reasons import one_line
from .roles import played_roles
from .units import mm_per_unit

PREFIX = "dryfit_"
STAND_IN = "dryfit_shown_"
"""Before the names of a stand-in's attributes: no mesh of the scene has these, also where values are kept on it."""
NAME = "dryfit passes"
FORMAT = ("media_type", "file_format", "color_mode", "color_depth", "exr_codec", "use_exr_interleave")
GREY = (0.18, 0.18, 0.18, 1.0)
DEFAULT_SAMPLES = 16
HEIGHT = "clearance"
"""The field that tells how far a piece is above the base."""
DEEPER_MM = 0.5
"""The base is drawn so much deeper than the deepest place of a piece."""


class NoCamera(InputError):
    """The scene has no camera to render through."""

    def __init__(self, scene: str, have: Sequence[str]) -> None:
        found = f"Cameras in it: {', '.join(have)}; name one with --camera." if have else "Add one and aim it."
        super().__init__(f"Scene '{scene}' has no camera to render its passes through. {found}")


class NothingToRender(InputError):
    """No measured values, or none that fit the pieces in the scene."""

    def __init__(self, scene: str, left_out: Sequence[str]) -> None:
        why = f" ({'; '.join(left_out)})" if left_out else ""
        super().__init__(f"Scene '{scene}' holds no piece that measured values fit{why}. Check the design first.")


@dataclass(frozen=True)
class PassField:
    """Values ``(n,)`` on the vertices of one part, nan where not measured; ``name`` says what, ``unit`` in what."""

    name: str
    part: str
    unit: str
    values: FloatArray

    @property
    def pass_name(self) -> str:
        """Name of the pass that holds the value."""
        return PREFIX + self.name + (f"_{self.unit}" if self.unit.isalpha() and len(self.unit) <= 3 else "")

    @property
    def known_name(self) -> str:
        """Name of the pass that says where it was measured."""
        return f"{PREFIX}{self.name}_{KNOWN}"


@dataclass(frozen=True)
class ShotSettings:
    """How passes are rendered.

    Attributes
    ----------
    samples
        Rays a pixel; 1 gives each pixel one place of the surface, unmixed.
    camera
        Name of the camera; ``""`` is the scene's own.
    size
        Width and height in pixels; (0, 0) is the scene's own.
    """

    samples: int = DEFAULT_SAMPLES
    camera: str = ""
    size: tuple[int, int] = (0, 0)


@dataclass(frozen=True)
class PassesRendered:
    """The file, the names of its passes, what was left out of it, a sentence each, and how much deeper the base is."""

    path: Path
    passes: tuple[str, ...]
    left_out: tuple[str, ...]
    base_deeper_mm: float


def render_passes(
    scene: BlenderScene,
    brief: Brief,
    fields: Sequence[PassField],
    path: str | Path,
    shot: ShotSettings = ShotSettings(),
    stamp: Stamp | None = None,
) -> PassesRendered:
    """Render the scene's frame with its measured values as passes, and leave the scene as it was.

    Parameters
    ----------
    scene, brief
        The open scene; the brief may name parts.
    fields
        What was measured.
    path
        The EXR file; it appears whole or not at all.
    shot
        How it is rendered.
    stamp
        What the file's metadata says about the design.

    Raises
    ------
    NoCamera, NothingToRender, UnwritableOutput
    """
    path = Path(path).resolve()
    camera = _camera(scene, shot.camera)
    with Borrowed() as borrowed, stand_ins(scene, brief, fields, borrowed) as left_out:
        names = _pass_names(fields, left_out)
        if not names:
            raise NothingToRender(scene.name, left_out)
        layer = next((each for each in scene.view_layers if each.use), scene.view_layers[0])
        borrowed.enter_context(_value_passes(layer, names, borrowed))
        borrowed.enter_context(_exr(scene.render.image_settings))
        _plain_look(scene, layer, camera, shot, borrowed)
        _stamped(scene, stamp, borrowed)
        _write(scene, path, borrowed)
    return PassesRendered(path, tuple(names), tuple(left_out), depth_mm(fields))


def depth_mm(fields: Iterable[PassField]) -> float:
    """Return how much deeper the base is drawn, so that it hides no piece that dips below it; 0 where none does."""
    lowest = [float(np.nanmin(each.values, initial=0.0)) for each in fields if each.name == HEIGHT]
    return DEEPER_MM - min(lowest) if min(lowest, default=0.0) < 0.0 else 0.0


def _camera(scene: BlenderScene, name: str) -> Any:
    have = [item.name for item in scene.objects if item.type == "CAMERA"]
    if name and name not in have:
        raise NoCamera(scene.name, have)
    camera = scene.objects[name] if name else scene.camera
    if camera is None:
        raise NoCamera(scene.name, have)
    return camera


def _pass_names(fields: Sequence[PassField], left_out: Sequence[str]) -> dict[str, None]:
    """Return the names of all passes in order, without those of fields that no piece carries."""
    carried = [
        each for each in fields if not any(line.startswith(f"{each.name} on '{each.part}'") for line in left_out)
    ]
    return {name: None for each in carried for name in (each.pass_name, each.known_name)}


@contextmanager
def stand_ins(
    scene: BlenderScene, brief: Brief, fields: Sequence[PassField], borrowed: Borrowed
) -> Iterator[list[str]]:
    """Put copies of the evaluated pieces, values as attributes, in their places; yield what was left out."""
    data, left_out, made = blender().data, list[str](), list[Any]()
    played = {each.name: each for each in played_roles(scene.objects, brief)}
    deeper = depth_mm(fields) / mm_per_unit(scene)
    bases = [name for name, each in played.items() if each.role == Role.BASE and deeper]
    depsgraph = blender().context.evaluated_depsgraph_get()
    try:
        for part in dict.fromkeys([*(each.part for each in fields), *bases]):
            own = [each for each in fields if each.part == part]
            if part not in played:
                left_out += [f"{each.name} on '{part}': no such part in the scene" for each in own]
                continue
            item = played[part].object
            mesh = data.meshes.new_from_object(item.evaluated_get(depsgraph), depsgraph=depsgraph)
            made.append(data.objects.new(NAME, mesh))
            left_out += _carry(mesh, own)
            _take_place(item, made[-1], depsgraph, borrowed)
            if part in bases:
                _shrink(mesh, deeper / np.cbrt(abs(np.linalg.det(np.array(made[-1].matrix_world)[:3, :3]))))
        yield left_out
    finally:
        for mesh in [each.data for each in made]:
            data.meshes.remove(mesh)


def _take_place(item: Any, stand_in: Any, depsgraph: Any, borrowed: Borrowed) -> None:
    """Show a stand-in where its piece is, and hide the piece from renders."""
    stand_in.matrix_world = item.evaluated_get(depsgraph).matrix_world
    stand_in.hide_render = item.hide_render
    for collection in item.users_collection:
        if collection.library is None:
            collection.objects.link(stand_in)
    borrowed.set(item, "hide_render", True)


def _shrink(mesh: Any, depth: float) -> None:
    """Move a mesh's vertices inward along their normals, in its own units."""
    places, normals = (np.empty(len(mesh.vertices) * 3, np.float32) for _ in range(2))
    mesh.vertices.foreach_get("co", places)
    mesh.vertices.foreach_get("normal", normals)
    mesh.vertices.foreach_set("co", places - np.float32(depth) * normals)
    mesh.update()


def _carry(mesh: Any, fields: Sequence[PassField]) -> list[str]:
    """Write values as attributes of a mesh; return what does not fit it."""
    left_out = []
    for each in fields:
        if len(each.values) != len(mesh.vertices):
            left_out.append(
                f"{each.name} on '{each.part}': {len(each.values)} values for {len(mesh.vertices)} vertices; "
                "it changed since it was measured"
            )
            continue
        write_known(mesh, STAND_IN + each.pass_name, STAND_IN + each.known_name, each.values)
    return left_out


@contextmanager
def _value_passes(layer: Any, names: Mapping[str, None], borrowed: Borrowed) -> Iterator[None]:
    """Add a value pass for each attribute to a view layer, filled by an override material."""
    material = blender().data.materials.new(NAME)
    if material.node_tree is None:
        material.use_nodes = True
    added = []
    try:
        material.node_tree.nodes.clear()
        for name in names:
            made = layer.aovs.add()
            made.name, made.type = name, "VALUE"
            added.append(made.name)
            _pass_nodes(material.node_tree, STAND_IN + name, made.name)
        _grey(material.node_tree)
        borrowed.set(layer, "material_override", material)
        yield
    finally:
        for name in added:
            layer.aovs.remove(layer.aovs[name])
        blender().data.materials.remove(material)


def _pass_nodes(tree: Any, attribute: str, pass_name: str) -> None:
    source, target = tree.nodes.new("ShaderNodeAttribute"), tree.nodes.new("ShaderNodeOutputAOV")
    source.attribute_type, source.attribute_name = "GEOMETRY", attribute
    target.aov_name = pass_name
    tree.links.new(source.outputs["Fac"], target.inputs["Value"])


def _grey(tree: Any) -> None:
    """Let the beauty pass show a flat grey, so that its alpha is the coverage."""
    light, output = tree.nodes.new("ShaderNodeEmission"), tree.nodes.new("ShaderNodeOutputMaterial")
    light.inputs["Color"].default_value = GREY
    tree.links.new(light.outputs["Emission"], output.inputs["Surface"])


@contextmanager
def _exr(image: Any) -> Iterator[None]:
    """Set the output to a 32-bit multilayer EXR; afterwards the format is as it was.

    Each setting allows only values that fit the ones before it, so they are put back in that order too.
    """
    before = {name: getattr(image, name) for name in FORMAT if hasattr(image, name)}
    wanted = ("MULTI_LAYER_IMAGE", "OPEN_EXR_MULTILAYER", "RGBA", "32", "ZIP", False)
    try:
        for name, value in zip(FORMAT, wanted, strict=True):
            if name in before:
                setattr(image, name, value)
        yield
    finally:
        for name, value in before.items():
            with suppress(TypeError):  # a codec or depth that the user's format does not have
                setattr(image, name, value)


def _plain_look(scene: Any, layer: Any, camera: Any, shot: ShotSettings, borrowed: Borrowed) -> None:
    """Let one view layer be rendered by Cycles with nothing that would blur or mix values beyond a pixel.

    Nor with what would only take time, draw over them or run code: the world, Freestyle, several views.
    """
    render = scene.render
    for other in scene.view_layers:
        borrowed.set(other, "use", other == layer)
    if hasattr(layer, "world_override"):
        borrowed.set(layer, "world_override", None)
    width, height = shot.size if all(shot.size) else (render.resolution_x, render.resolution_y)
    settings = {
        scene: {"camera": camera, "world": None},
        render: {
            "use_freestyle": False, "use_multiview": False,
            "engine": "CYCLES", "film_transparent": True, "use_motion_blur": False, "use_compositing": False,
            "use_sequencer": False, "resolution_x": width, "resolution_y": height, "use_file_extension": True,
        } | ({"resolution_percentage": 100} if all(shot.size) else {}),
        camera.data.dof: {"use_dof": False},
    }  # fmt: skip
    for owner, values in settings.items():
        for name, value in values.items():
            borrowed.set(owner, name, value)
    look = {
        "samples": shot.samples, "use_adaptive_sampling": False, "use_denoising": False, "max_bounces": 0,
        "pixel_filter_type": "BOX", "device": "CPU",
    }  # fmt: skip
    for name, value in look.items():
        borrowed.set(scene.cycles, name, value)


def _stamped(scene: Any, stamp: Stamp | None, borrowed: Borrowed) -> None:
    """Say in the metadata what the stamp says; a gate on renders does not hold back the passes that show why."""
    gate = scene.get(AT_RENDER)
    if gate is not None:
        del scene[AT_RENDER]
        borrowed.callback(scene.__setitem__, AT_RENDER, gate)
    if stamp is not None:
        borrowed.set(scene.render, "use_stamp_note", True)
        borrowed.set(scene.render, "stamp_note_text", stamp.line())


def _write(scene: Any, path: Path, borrowed: Borrowed) -> None:
    part = part_beside(path.with_suffix(".exr"))
    borrowed.set(scene.render, "filepath", str(part))
    sweep_parts([path.parent])
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.touch()
        with ended_by_stop(part, Path(blender().app.tempdir)):
            blender().ops.render.render(write_still=True, scene=scene.name)
        part.replace(path)
    except OSError as error:
        raise UnwritableOutput(str(path), error.strerror or str(error)) from error
    except RuntimeError as error:
        raise UnwritableOutput(str(path), one_line(error)) from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)
