"""The way from the bench to the guide: a button, and Blender's own *Online Manual* on every button of Dryfit."""

from typing import Any

import bpy
from bpy.props import StringProperty

from ..guide.pages import START, GuideNotBuilt, guide_address, open_guide

CHAPTER_OF = (
    ("bpy.ops.dryfit.*attribute*", "pipeline"),
    ("bpy.ops.dryfit.*report*", "reading"),
    ("bpy.ops.dryfit.*limit*", "brief"),
    ("bpy.ops.dryfit.*material*", "brief"),
    ("bpy.ops.dryfit.*", "first-fit"),
)
"""Patterns of Blender's names -> the chapter that tells of them; the first that fits counts."""


class DRYFIT_OT_open_guide(bpy.types.Operator):
    """Open the guide in the browser; it is on this disk and needs no network"""

    bl_idname = "dryfit.open_guide"
    bl_label = "Open Guide"
    bl_options = {"REGISTER"}

    chapter: StringProperty(name="Chapter", default=START, options={"HIDDEN"})

    def execute(self, context: Any) -> set[str]:
        """Open it, or say that this copy has none."""
        try:
            self.report({"INFO"}, open_guide(self.chapter))
        except GuideNotBuilt as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        return {"FINISHED"}


def draw_guide_button(layout: Any) -> None:
    """Draw the question mark that opens the guide."""
    layout.operator("dryfit.open_guide", text="", icon="HELP", emboss=False).chapter = "first-fit"


def chapters_by_name() -> tuple[str, tuple[tuple[str, str], ...]]:
    """Return where the pages lie and which of them tells of what, as Blender asks for it; nothing without them."""
    try:
        folder = guide_address().rpartition("/")[0] + "/"
    except GuideNotBuilt:
        return "", ()
    return folder, tuple((pattern, f"{chapter}.html") for pattern, chapter in CHAPTER_OF)


def add_manual() -> None:
    """Let *Online Manual* on a button of Dryfit lead to the guide."""
    bpy.utils.register_manual_map(chapters_by_name)


def remove_manual() -> None:
    """Take that away again."""
    bpy.utils.unregister_manual_map(chapters_by_name)


CLASSES = (DRYFIT_OT_open_guide,)
