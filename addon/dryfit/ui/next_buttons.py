"""What to do next, as buttons: where a check could not answer, and before anything can be measured."""

from collections.abc import Iterable
from typing import Any

import bpy
from bpy.props import StringProperty

from ..model.brief import MotionBrief
from ..model.errors import DryfitError
from ..model.snapshot import Role
from ..scene.motions import store_motions, stored_motions
from ..sitting.next_steps import NextStep
from ..sitting.parts import role_counts, scene_base, select_part
from .needing import NeedsBase
from .roles_assigning import SelectsPart
from .wording import ROLE_ICONS, role_word

CLEAR = "none"


class DRYFIT_MT_roles(bpy.types.Menu):
    """What the selected objects are in the design"""

    bl_idname = "DRYFIT_MT_roles"
    bl_label = "Role"

    def draw(self, context: Any) -> None:
        """List the roles; the base, of which there is one, only while there is none."""
        counts = role_counts(context.scene)
        for role in Role:
            if role is Role.BASE and counts[Role.BASE]:
                continue
            self.layout.operator("dryfit.assign_role", text=role_word(role), icon=ROLE_ICONS[role]).role = role
        self.layout.separator()
        self.layout.operator("dryfit.assign_role", text="No Role", icon="PANEL_CLOSE").role = CLEAR


class DRYFIT_OT_show_part(SelectsPart, bpy.types.Operator):
    """Select this object and turn the view to it"""

    bl_idname = "dryfit.show_part"
    bl_label = "Show Part"

    def execute(self, context: Any) -> set[str]:
        """Select it and frame it, or say why not."""
        done = super().execute(context)
        if done == {"FINISHED"} and bpy.ops.view3d.view_selected.poll():
            bpy.ops.view3d.view_selected()
        return done


class DRYFIT_OT_sculpt_motion(NeedsBase, bpy.types.Operator):
    """Add a shape key to the base and sculpt it: what you sculpt is the end of the motion; the scan at rest stays"""

    bl_idname = "dryfit.sculpt_motion"
    bl_label = "Sculpt Motion"
    bl_options = {"REGISTER", "UNDO"}

    motion: StringProperty(name="Motion", default="blink", options={"HIDDEN"})

    def execute(self, context: Any) -> set[str]:
        """Add the key, name it as the motion's, and go into Sculpt Mode on it."""
        scene, base = context.scene, scene_base(context.scene)
        if base is None or base.type != "MESH" or base.library is not None or base.data.library is not None:
            self.report({"ERROR"}, "The base takes no shape key here: make it a mesh of this file first")
            return {"CANCELLED"}
        why = select_part(context, base.name)
        if why:
            self.report({"ERROR"}, why)
            return {"CANCELLED"}
        try:
            motions = stored_motions(scene)
        except DryfitError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        key = _key_for(base, self.motion)
        store_motions(scene, {**motions, self.motion: MotionBrief(keys={key.name: (0.0, 1.0)})})
        bpy.ops.object.mode_set(mode="SCULPT")
        self.report({"INFO"}, f"Sculpt the end of the motion on '{key.name}', then leave Sculpt Mode and check again")
        return {"FINISHED"}


def _key_for(base: Any, motion: str) -> Any:
    """Return the base's shape key of a motion, made where there is none, shown and active."""
    name = motion.replace("_", " ").title().replace(" ", "")
    if base.data.shape_keys is None:
        base.shape_key_add(name="Basis", from_mix=False)
    blocks = base.data.shape_keys.key_blocks
    key = blocks.get(name) or base.shape_key_add(name=name, from_mix=False)
    key.value = 1.0
    base.active_shape_key_index = blocks.find(key.name)
    return key


def draw_steps(layout: Any, steps: Iterable[NextStep]) -> None:
    """Draw each step as a button."""
    column = layout.column(align=True)
    column.operator_context = "INVOKE_DEFAULT"
    for step in steps:
        _draw_step(column, step)


def _draw_step(column: Any, step: NextStep) -> None:
    if step.menu and step.operator.startswith("DRYFIT_MT"):
        column.menu(step.operator, text=step.words, icon=step.icon)
        return
    if step.menu:
        button = column.operator_menu_enum(step.operator, "material", text=step.words, icon=step.icon)
    else:
        button = column.operator(step.operator, text=step.words, icon=step.icon)
    for name, value in step.settings:
        setattr(button, name, value)


CLASSES = (DRYFIT_MT_roles, DRYFIT_OT_show_part, DRYFIT_OT_sculpt_motion)
