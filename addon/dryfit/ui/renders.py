"""What the stored verdict does to renders: nothing, a stamp, or a refusal."""

from typing import Any

import bpy
from bpy.props import EnumProperty

from ..model.gate import AT_RENDER
from .naming import REGION, SPACE, TAB
from .needing import is_linked
from .wording import paragraph

OFF = "off"
CHOICES = (
    (OFF, "Leave Alone", "Renders know nothing of the verdict"),
    ("stamp", "Stamp Verdict", "Every render carries the verdict in its stamp note and metadata"),
    ("refuse_fail", "Refuse Fails", "A design that fails, or changed since it was measured, is not rendered"),
    ("refuse_review", "Refuse Reviews", "The same, and nor is a design that needs a person's eye"),
)


class DRYFIT_OT_gate_renders(bpy.types.Operator):
    """Choose what the stored verdict does to renders of this scene, here and on a farm"""

    bl_idname = "dryfit.gate_renders"
    bl_label = "Gate Renders"
    bl_options = {"REGISTER", "UNDO"}

    choice: EnumProperty(name="Renders", items=CHOICES, default=OFF)

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a scene of this file."""
        return not is_linked(cls, context.scene)

    def execute(self, context: Any) -> set[str]:
        """Keep the choice with the scene."""
        if self.choice != OFF:
            context.scene[AT_RENDER] = self.choice
        elif AT_RENDER in context.scene:
            del context.scene[AT_RENDER]
        return {"FINISHED"}


class DRYFIT_PT_renders(bpy.types.Panel):
    """Renders and the verdict."""

    bl_label = "Renders"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_parent_id = "DRYFIT_PT_handouts"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: Any) -> None:
        """Show the choice and what it means."""
        wanted = str(context.scene.get(AT_RENDER) or OFF)
        label, words = next(
            ((label, words) for name, label, words in CHOICES if name == wanted),
            (f"'{wanted}'", "Nobody knows this word, so every render is refused; choose again"),
        )
        self.layout.operator_menu_enum("dryfit.gate_renders", "choice", text=label, icon="RENDER_STILL")
        paragraph(self.layout, context, words)


CLASSES = (DRYFIT_OT_gate_renders, DRYFIT_PT_renders)
