"""A stage: a throw-away scene that shows the wanted objects, whatever is hidden in the user's own.

Blender evaluates what a view layer shows. Instead of unhiding things in the user's view layers, the objects
are linked into a scene of our own, evaluated there, and the scene is removed. Parents, armatures, drivers
and whatever else the objects depend on come along by themselves. The stage's dependency graph is never made
the active one, so nothing that it evaluates (animation, drivers, world matrices) is written back to the
originals: ``Scene.frame_set`` creates such a graph; ``ViewLayer.update`` would make it active.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass

from .blender import BlenderContext, BlenderObject, BlenderScene, Depsgraph, blender
from .borrowing import Borrowed
from .roles import Played

STAGE = "dryfit stage"
BUSY_MODES = ("EDIT", "SCULPT")
"""Modes in which the mesh lives in a tool's own copy, or its modifiers are held back."""


@dataclass(frozen=True)
class StageScene:
    """A scene of our own."""

    scene: BlenderScene

    def evaluate(self) -> Depsgraph:
        """Return the stage's dependency graph, brought up to date."""
        depsgraph = self.scene.view_layers[0].depsgraph
        depsgraph.update()
        return depsgraph


@contextmanager
def staged(scene: BlenderScene, objects: Iterable[BlenderObject]) -> Iterator[StageScene]:
    """Lend a stage with these objects on it, at the scene's frame; afterwards it is gone."""
    scenes = blender().data.scenes
    stage = scenes.new(STAGE)
    try:
        _match(stage, scene)
        with Borrowed() as borrowed:
            for item in objects:
                stage.collection.objects.link(item)
                borrowed.set(item, "hide_viewport", False)
            yield StageScene(stage)
    finally:
        scenes.remove(stage)


def is_stage(scene: BlenderScene) -> bool:
    """Tell whether a scene is one of our own."""
    return scene.name.startswith(STAGE)


def _match(stage: BlenderScene, scene: BlenderScene) -> None:
    for name, value in scene.items():
        with suppress(TypeError):
            stage[name] = value
    stage.unit_settings.scale_length = scene.unit_settings.scale_length
    stage.frame_set(scene.frame_current, subframe=scene.frame_subframe)


def hiding_notes(context: BlenderContext, played: Iterable[Played]) -> Iterator[str]:
    """Tell which objects with a role are measured although they are hidden or left out of the view layer."""
    layer = context.view_layer
    hidden = [each.name for each in played if not each.object.visible_get(view_layer=layer)]
    if hidden:
        yield f"Hidden or excluded in the scene, but measured: {', '.join(hidden)}."


@contextmanager
def object_mode(context: BlenderContext) -> Iterator[None]:
    """Leave Edit and Sculpt mode for a while, so that the meshes are whole, and go back."""
    active = context.view_layer.objects.active
    mode = active.mode if active else "OBJECT"
    if mode not in BUSY_MODES:
        yield
        return
    blender().ops.object.mode_set(mode="OBJECT")
    try:
        yield
    finally:
        blender().ops.object.mode_set(mode=mode)
