"""Designs that try to run code or to write files, one a folder; a script for Blender's own module, in four parts.

``build PLACE NAME...`` makes them, each with a head, a piece and a camera. ``spring`` opens, plays, renders and saves
them as a plain Blender would; ``allow`` opens them with their scripts allowed; ``care`` does with them what Dryfit does.
Each prints a line of JSON a design: its name, which files that made beside it, and what was said.
"""

import contextlib
import json
import os
import shutil
import sys
from functools import partial
from pathlib import Path

import bpy

SECRET = b"nobody was to read this"
OSL = "shader trap(output closure color Light = 0) { Light = emission(); }\n"
LENS = "shader lens(output point position = 0, output vector direction = 0, output color throughput = 1) {}\n"


def design(place):
    """Start a design: a base of 200 mm, a piece on it, a camera above."""
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    scene = bpy.context.scene
    bpy.ops.mesh.primitive_uv_sphere_add(radius=0.1, segments=32, ring_count=24)
    named("Head", "base")
    bpy.ops.mesh.primitive_grid_add(x_subdivisions=6, y_subdivisions=6, size=0.03, location=(0, 0, 0.101))
    named("Piece", "appliance")
    camera = bpy.data.objects.new("Cam", bpy.data.cameras.new("Cam"))
    scene.collection.objects.link(camera)
    camera.location = (0, 0, 1)
    scene.camera = camera
    scene.render.engine = "CYCLES"
    scene.cycles.samples = 1
    scene.render.resolution_x = scene.render.resolution_y = 16
    scene.render.filepath = str(place / "own-render.png")
    return scene


def named(name, role):
    bpy.context.object.name = name
    bpy.context.object["dryfit_role"] = role


def save(place, name="design"):
    bpy.ops.wm.save_as_mainfile(filepath=str(place / f"{name}.blend"))


def text(code, name="trap.py"):
    made = bpy.data.texts.new(name)
    made.write(code)
    return made


def leaving_a_trace(place):
    return f"open({str(place / 'trace')!r}, 'w').write('ran')"


def other_object(make=None):
    make = make or partial(bpy.ops.mesh.primitive_grid_add, x_subdivisions=4, y_subdivisions=4)
    make(size=0.05, location=(0.3, 0, 0))
    bpy.context.object.name = "Other"
    return bpy.context.object


def box():
    return other_object(bpy.ops.mesh.primitive_cube_add)


# what runs or writes as soon as the file is evaluated


def fluid(place):
    design(place)
    fluid_domain(place, box())


def fluid_domain(place, item):
    settings = item.modifiers.new("Fluid", "FLUID")
    settings.fluid_type = "DOMAIN"
    settings = settings.domain_settings
    settings.resolution_max, settings.cache_type = 6, "REPLAY"
    settings.cache_frame_start, settings.cache_frame_end = 1, 3
    settings.cache_directory = str(place / "trace")


def fluid_of_a_part(place):
    design(place)
    fluid_domain(place, bpy.data.objects["Piece"])


def fluid_switched_on_by_a_driver(place):
    design(place)
    item = box()
    fluid_domain(place, item)
    item.modifiers["Fluid"].show_viewport = False
    item.driver_add('modifiers["Fluid"].show_viewport').driver.expression = "1"


def fluid_in_a_library(place):
    in_a_library(place, lambda item: fluid_domain(place, item), box)


def in_a_library(place, trap, make=other_object):
    design(place)
    held = bpy.data.collections.new("Held")
    item = make()
    bpy.context.scene.collection.objects.unlink(item)
    bpy.context.scene.collection.children.link(held)
    held.objects.link(item)
    trap(item)
    save(place, "library")
    design(place)
    with bpy.data.libraries.load(str(place / "library.blend"), link=True) as (_, wanted):
        wanted.collections = ["Held"]
    bpy.context.scene.collection.children.link(bpy.data.collections["Held"])


def cloth(place):
    design(place)
    save(place)  # a cache on disk needs a file that has a name
    cloth_to_disk(other_object())


def written(cache):
    cache.name, cache.use_disk_cache = "trace", True


def cloth_in_a_library(place):
    in_a_library(place, lambda item: (save(place, "library"), cloth_to_disk(item)))


def cloth_to_disk(item):
    written(item.modifiers.new("Cloth", "CLOTH").point_cache)


def cloth_switched_to_disk_by_a_driver(place):
    design(place)
    save(place)
    cloth_on_a_driver(place, other_object())


def cloth_in_a_library_switched_to_disk(place):
    in_a_library(place, lambda item: (save(place, "library"), cloth_on_a_driver(place, item)))


def cloth_on_a_driver(place, item):
    item.modifiers.new("Cloth", "CLOTH").point_cache.name = "trace"
    item.driver_add('modifiers["Cloth"].point_cache.use_disk_cache').driver.expression = "1"


def cloth_switched_to_disk_by_keys(place):
    design(place)
    save(place)
    item = other_object()
    cache = item.modifiers.new("Cloth", "CLOTH").point_cache
    cache.name = "trace"
    cache.use_disk_cache = True
    item.keyframe_insert('modifiers["Cloth"].point_cache.use_disk_cache', frame=1)
    cache.use_disk_cache = False


def soft_body(place):
    design(place)
    save(place)
    written(other_object().modifiers.new("Soft", "SOFT_BODY").point_cache)


def particles(place):
    design(place)
    save(place)
    item = other_object()
    item.modifiers.new("Dust", "PARTICLE_SYSTEM")
    item.particle_systems[0].settings.count = 10
    written(item.particle_systems[0].point_cache)


def dynamic_paint(place):
    design(place)
    save(place)
    item = other_object()
    modifier = item.modifiers.new("Paint", "DYNAMIC_PAINT")
    bpy.ops.dpaint.type_toggle(type="CANVAS")
    surface = modifier.canvas_settings.canvas_surfaces[0]
    surface.surface_type = "WAVE"
    written(surface.point_cache)


def rigid_bodies(place):
    scene = design(place)
    save(place)
    bpy.ops.rigidbody.world_add()
    other_object()
    bpy.ops.rigidbody.object_add()
    written(scene.rigidbody_world.point_cache)


def simulation_nodes(place):
    """A simulation in nodes whose bakes go to disk: it is kept in memory until somebody asks for a bake."""
    design(place)
    modifier = other_object().modifiers.new("Nodes", "NODES")
    tree = bpy.data.node_groups.new("Nodes", "GeometryNodeTree")
    tree.interface.new_socket("Geometry", in_out="INPUT", socket_type="NodeSocketGeometry")
    tree.interface.new_socket("Geometry", in_out="OUTPUT", socket_type="NodeSocketGeometry")
    start, end = (tree.nodes.new(f"GeometryNodeSimulation{side}") for side in ("Input", "Output"))
    start.pair_with_output(end)
    took, gave = tree.nodes.new("NodeGroupInput"), tree.nodes.new("NodeGroupOutput")
    tree.links.new(took.outputs[0], start.inputs[0])
    tree.links.new(start.outputs["Geometry"], end.inputs["Geometry"])
    tree.links.new(end.outputs["Geometry"], gave.inputs[0])
    modifier.node_group = tree
    modifier.bake_directory = str(place / "trace")


# what a render runs or writes


def style_module(place):
    styled(design(place), text(leaving_a_trace(place)))


def styled(scene, script):
    scene.render.use_freestyle = True
    for layer in scene.view_layers:
        layer.use_freestyle = True
        layer.freestyle_settings.mode = "SCRIPT"
        module = layer.freestyle_settings.modules.new()
        module.script, module.use = script, True


def style_module_switched_on_by_a_driver(place):
    scene = design(place)
    styled(scene, text(leaving_a_trace(place)))
    scene.view_layers[0].use_freestyle = False
    scene.driver_add("view_layers[0].use_freestyle").driver.expression = "1"


def style_module_of_another_scene(place):
    scene = design(place)
    composed(scene, other_scene(scene, place))


def other_scene(scene, place):
    made = bpy.data.scenes.new("Second")
    for item in scene.objects:
        made.collection.objects.link(item)
    made.camera, made.render.engine = scene.camera, "CYCLES"
    made.render.resolution_x = made.render.resolution_y = 16
    styled(made, text(leaving_a_trace(place)))
    return made


def composed(scene, shown):
    tree = compositor(scene)
    layers = tree.nodes.new("CompositorNodeRLayers")
    layers.scene = shown
    tree.links.new(layers.outputs["Image"], whole_picture(tree))


def compositor(scene):
    scene.render.use_compositing = True
    if hasattr(scene, "compositing_node_group"):
        scene.compositing_node_group = bpy.data.node_groups.new("Compositing", "CompositorNodeTree")
        return scene.compositing_node_group
    scene.use_nodes = True
    scene.node_tree.nodes.clear()
    return scene.node_tree


def whole_picture(tree):
    if hasattr(bpy.types, "CompositorNodeComposite"):
        return tree.nodes.new("CompositorNodeComposite").inputs["Image"]
    tree.interface.new_socket("Image", in_out="OUTPUT", socket_type="NodeSocketColor")
    return tree.nodes.new("NodeGroupOutput").inputs["Image"]


def style_module_of_a_strip(place):
    scene = design(place)
    editor = scene.sequence_editor_create()
    strips = editor.strips if hasattr(editor, "strips") else editor.sequences
    strips.new_scene("Second", other_scene(scene, place), 1, 1)
    scene.render.use_sequencer = True


def file_output(place):
    scene = design(place)
    outputs(compositor(scene), place)


def outputs(tree, place):
    shape, output = tree.nodes.new("CompositorNodeBokehImage"), tree.nodes.new("CompositorNodeOutputFile")
    if hasattr(output, "base_path"):
        output.base_path = str(place)
        output.file_slots[0].path = "trace"
    else:
        output.directory, output.file_name = str(place), "trace"
        output.file_output_items.new("RGBA", "Image")
        output.format.media_type = "IMAGE"
    tree.links.new(shape.outputs[0], output.inputs[0])


def file_output_in_a_group(place):
    scene = design(place)
    group = bpy.data.node_groups.new("Deep", "CompositorNodeTree")
    outputs(group, place)
    tree = compositor(scene)
    tree.nodes.new("CompositorNodeGroup").node_tree = group


def shader_program_beside(place):
    """An OSL file beside the design, which is compiled and written there."""
    scene = design(place)
    scene.cycles.shading_system = True
    (place / "trap.osl").write_text(OSL)
    node = script_node(scene)
    node.mode, node.filepath = "EXTERNAL", str(place / "trap.osl")
    linked_to_world(node)
    (place / "trap.oso").unlink(missing_ok=True)


def script_node(scene):
    scene.world = bpy.data.worlds.new("World")
    scene.world.use_nodes = True
    return scene.world.node_tree.nodes.new("ShaderNodeScript")


def linked_to_world(node):
    tree = node.id_data
    output = next(each for each in tree.nodes if each.type == "OUTPUT_WORLD")
    if node.outputs:
        tree.links.new(node.outputs[0], output.inputs["Surface"])


def shader_program_inside(place):
    scene = design(place)
    scene.cycles.shading_system = True
    node = script_node(scene)
    node.script = text(OSL, "trap.osl")
    linked_to_world(node)


def camera_program(place):
    camera = design(place).camera.data
    if hasattr(camera, "custom_shader"):
        (place / "lens.osl").write_text(LENS)
        camera.type, camera.custom_mode = "CUSTOM", "EXTERNAL"
        camera.custom_filepath = str(place / "lens.osl")
        (place / "lens.oso").unlink(missing_ok=True)


def several_views(place):
    scene = design(place)
    scene.render.use_multiview = True
    scene.render.image_settings.views_format = "INDIVIDUAL"


def own_path(place):
    """The design's own picture: Dryfit never writes where the design says."""
    scene = design(place)
    scene.render.use_file_extension = False
    scene.render.filepath = str(place / "trace")


def texture_cache(place):
    scene = design(place)
    picture = bpy.data.images.new("Skin", 64, 64)
    picture.filepath_raw, picture.file_format = str(place / "skin.png"), "PNG"
    picture.save()
    material = bpy.data.materials.new("Skin")
    material.use_nodes = True
    node = material.node_tree.nodes.new("ShaderNodeTexImage")
    node.image = picture
    shader = next(each for each in material.node_tree.nodes if each.type == "BSDF_PRINCIPLED")
    material.node_tree.links.new(node.outputs["Color"], shader.inputs["Base Color"])
    bpy.data.objects["Piece"].data.materials.append(material)
    if hasattr(scene.render, "use_auto_generate_texture_cache"):
        scene.render.use_texture_cache = scene.render.use_auto_generate_texture_cache = True


# what saving writes


def packing(place):
    """Whatever the design names is packed into it when it is saved, and goes to whoever gets it next."""
    design(place)
    picture = bpy.data.images.new("Secret", 4, 4)
    picture.source, picture.filepath, picture.use_fake_user = "FILE", str(place / "secret.png"), True
    bpy.data.use_autopack = True
    with contextlib.suppress(RuntimeError):  # it is saved, and says what it could not pack
        save(place)
    (place / "secret.png").write_bytes(SECRET)


def levels_in_a_file(place):
    design(place)
    item = other_object()
    item.modifiers.new("Levels", "MULTIRES")
    for _ in range(2):
        bpy.ops.object.multires_subdivide(modifier="Levels")
    save(place)
    bpy.ops.object.multires_external_save(filepath=str(place / "trace.btx"), modifier="Levels")
    save(place)
    (place / "trace.btx").unlink()


# what scripts disabled keep still


def module(place):
    design(place)
    text(leaving_a_trace(place)).use_module = True


def handler(place):
    design(place)
    code = f"import bpy\nbpy.app.handlers.load_post.append(lambda *_: {leaving_a_trace(place)})"
    text(
        code + f"\nbpy.app.handlers.depsgraph_update_post.append(lambda *_: {leaving_a_trace(place)})"
    ).use_module = True


def driver(place):
    design(place)
    bpy.data.objects["Piece"].driver_add("location", 0).driver.expression = f"({leaving_a_trace(place)}, 0.0)[1]"


def driver_of_a_key(place):
    design(place)
    item = bpy.data.objects["Piece"]
    item.shape_key_add(name="Basis")
    block = item.shape_key_add(name="Pulse")
    block.driver_add("value").driver.expression = f"({leaving_a_trace(place)}, 0.0)[1]"


def names_for_drivers(place):
    design(place)
    text(f"import bpy\nbpy.app.driver_namespace['trap'] = lambda: ({leaving_a_trace(place)}, 0.0)[1]").use_module = True
    bpy.data.objects["Piece"].driver_add("location", 0).driver.expression = "trap()"


def modules_beside(place):
    """Names of add-ons, key sets and templates, and modules of those names beside the design."""
    scene = design(place)
    for name in ("trap_addon", "bl_app_template_utils", "bpy", "numpy", "rigify", "sitecustomize", "freestyle"):
        (place / f"{name}.py").write_text(leaving_a_trace(place))
    for workspace in bpy.data.workspaces:
        workspace.use_filter_by_owner = True
        workspace.owner_ids.new("trap_addon")
    scene.keying_sets.new(idname="TRAP_KS_all", name="Trap")
    for owner in (scene, *bpy.data.objects):
        owner["trap"] = f"__import__('trap_addon') or {leaving_a_trace(place)}"
        owner["rig_id"] = "trap_addon"


def scene_in_a_library(place):
    """Everything that a scene can hold, in a library, its scene shown as the background of the design's own."""
    camera_program(place)
    scene = bpy.context.scene
    scene.name = "Linked"
    styled(scene, text(leaving_a_trace(place)))
    bpy.data.texts["trap.py"].use_module = True
    outputs(compositor(scene), place)
    scene.sequence_editor_create()
    linked_to_world(script_node(scene))
    save(place, "library")
    design(place)
    with bpy.data.libraries.load(str(place / "library.blend"), link=True) as (_, wanted):
        wanted.scenes = ["Linked"]
    bpy.context.scene.background_set = bpy.data.scenes["Linked"]


def preferences(place):
    """Preferences that allow scripts, saved into a file that is called a design."""
    design(place)
    bpy.context.preferences.filepaths.use_scripts_auto_execute = True
    text(leaving_a_trace(place)).use_module = True
    save(place)
    bpy.ops.wm.save_homefile()
    found = [*Path(bpy.utils.user_resource("CONFIG")).glob("startup.blend")]
    shutil.copy(found[0], place / "design.blend")
    bpy.context.preferences.filepaths.use_scripts_auto_execute = False


ALWAYS = (
    fluid, fluid_switched_on_by_a_driver, fluid_in_a_library, cloth, cloth_in_a_library,
    cloth_switched_to_disk_by_a_driver, cloth_in_a_library_switched_to_disk, cloth_switched_to_disk_by_keys, soft_body,
    particles, dynamic_paint, file_output, file_output_in_a_group, several_views, own_path, packing,
)  # fmt: skip
"""What springs in every plain Blender."""
SOMETIMES = (
    style_module, style_module_switched_on_by_a_driver, style_module_of_another_scene, style_module_of_a_strip,
    shader_program_beside, camera_program, texture_cache,
)  # fmt: skip
"""What springs in some versions."""
SCRIPTS = (module, handler, driver, driver_of_a_key, names_for_drivers)
"""What springs where scripts are allowed."""
NEVER = (
    fluid_of_a_part, rigid_bodies, simulation_nodes, shader_program_inside, levels_in_a_file, modules_beside,
    preferences, scene_in_a_library,
)  # fmt: skip
"""What was never seen to spring; rigid bodies with a cache on disk crash a plain Blender instead."""
TRAPS = {trap.__name__: trap for trap in (*ALWAYS, *SOMETIMES, *SCRIPTS, *NEVER)}
OURS = ("design.blend", "library.blend", "plain.blend", "secret.png", "skin.png", "trap.osl", "lens.osl")


def build(place, names):
    for name in names:
        folder = place / name
        folder.mkdir(parents=True)
        TRAPS[name](folder)
        if name not in ("preferences", "packing"):
            save(folder)
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    for name in names:
        for path in [path for path in (place / name).iterdir() if path.name not in OURS and path.suffix != ".py"]:
            shutil.rmtree(path) if path.is_dir() else path.unlink()


def spring(place, names):
    """Do with each what a plain Blender would do that nobody told to be careful; fluids are only opened: they crash."""
    for name in names:
        folder = place / name
        os.chdir(folder)
        there = {*folder.iterdir()}
        bpy.ops.wm.open_mainfile(filepath=str(folder / "design.blend"), load_ui=False, use_scripts=False)
        if not name.startswith("fluid"):
            play(folder)
        new = {path.name for path in {*folder.iterdir()} - there} - {"plain.blend", "own-render.png"}
        say(name, sorted(new | ({"secret"} if is_packed(folder / "plain.blend") else set())))


def play(folder):
    for frame in (1, 2, 3):
        bpy.context.scene.frame_set(frame)
    with contextlib.suppress(RuntimeError):
        bpy.ops.render.render(write_still=True)
    bpy.ops.wm.save_as_mainfile(filepath=str(folder / "plain.blend"), copy=True, compress=False)


def is_packed(path):
    return path.exists() and SECRET in path.read_bytes()


def allow(place, names):
    """Open each with its scripts allowed."""
    for name in names:
        there = {*(place / name).iterdir()}
        bpy.ops.wm.open_mainfile(filepath=str(place / name / "design.blend"), load_ui=False, use_scripts=True)
        bpy.context.scene.frame_set(2)
        say(name, sorted(path.name for path in {*(place / name).iterdir()} - there))
        bpy.app.handlers.load_post.clear()
        bpy.app.handlers.depsgraph_update_post.clear()


def care(place, names):
    """Do with each all that Dryfit does with a .blend, in a Blender whose user allowed scripts for files of their own.

    Say which files that made, and what Dryfit said.
    """
    import dryfit
    from dryfit.model.brief import Brief
    from dryfit.model.stamp import stamp_of
    from dryfit.scene.attributes_file import write_file_attributes
    from dryfit.scene.locking_file import lock_file
    from dryfit.scene.passes_file import PassesWanted, render_file_passes
    from dryfit.scene.render_passes import ShotSettings

    bpy.context.preferences.filepaths.use_scripts_auto_execute = True
    for name in names:
        folder = place / name
        os.chdir(folder)
        there, file, said = {*folder.rglob("*")}, folder / "design.blend", []
        snapshot = dryfit.load_snapshot(file)
        said += [*snapshot.notes, *dryfit.load_base(file).notes]
        report = dryfit.check(snapshot, only=["additive"])
        shown = PassesWanted(file, place / f"{name}.exr", ShotSettings(samples=1), frame=3)
        stamp = stamp_of(report.to_dict(), 1)
        for work in (
            lambda: render_file_passes(shown, Brief(), report, stamp),  # noqa: B023 (called at once)
            lambda: write_file_attributes(file, place / f"{name}-copy.blend", Brief(), report),  # noqa: B023
            lambda: said.extend(lock_file(file).notes),  # noqa: B023
        ):
            try:
                work()
            except dryfit.DryfitError as refusal:
                said.append(f"{type(refusal).__name__}: {refusal}")
        new = {str(path.relative_to(folder)) for path in {*folder.rglob("*")} - there}
        packed = is_packed(file) or is_packed(place / f"{name}-copy.blend")
        say(name, sorted(new | ({"secret"} if packed else set())), said)


def say(*words):
    print("\n" + json.dumps(words), flush=True)


if __name__ == "__main__":
    {part.__name__: part for part in (build, spring, allow, care)}[sys.argv[1]](Path(sys.argv[2]), sys.argv[3:])
    sys.stdout.flush()
    os._exit(0)  # some versions crash over what they would free now
