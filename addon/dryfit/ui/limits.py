"""The limits' panel: every figure the measures are held against, from the brief, with its unit."""

from typing import Any

import bpy

from ..checks.registry import CHECKS
from ..model.brief_file import BRIEF_NAME
from ..model.limits import ENTRIES
from ..scene.own_figures import own_limits, store_own_limits
from ..sitting.brief_beside import brief_path, brief_trouble
from ..sitting.limits_state import limit_label
from .naming import REGION, SPACE, TAB
from .wording import BRIEF_ICON, NUMBER, labelled, paragraph


class DRYFIT_PT_limits(bpy.types.Panel):
    """What the measures are held against."""

    bl_label = "Limits"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_parent_id = "DRYFIT_PT_setup"
    bl_order = 3
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: Any) -> None:
        """Show the limits under the check that uses them first."""
        layout = self.layout
        layout.use_property_decorate = False
        own = own_limits(context.scene)
        paragraph(layout, context, _where_from(), BRIEF_ICON)
        row = layout.row()
        row.enabled = bool(own)
        row.operator("dryfit.reset_limits", text=f"Reset {len(own)} Changed" if own else "None Changed")
        shown: set[str] = set()
        for check in CHECKS:
            names = [name for name in check.limits if name in ENTRIES and name not in shown]
            shown.update(names)
            if names:
                _draw_group(layout, context, check.id, names, own)
        rest = [name for name in ENTRIES if name not in shown]
        if rest:
            _draw_group(layout, context, "other", rest, own)


def _where_from() -> str:
    """Return where the limits come from that the sidebar's own go over."""
    if brief_path() is None:
        return f"No {BRIEF_NAME} beside the file: defaults."
    return f"{BRIEF_NAME} cannot be read: defaults." if brief_trouble() else f"From {BRIEF_NAME} beside the file."


def _draw_group(layout: Any, context: Any, title: str, names: list[str], own: dict[str, float]) -> None:
    header, body = layout.panel(f"dryfit_limits_{title}", default_closed=True)
    changed = sum(name in own for name in names)
    header.label(text=title.replace("_", " ").capitalize() + (f" · {changed} changed" if changed else ""))
    if body is None:
        return
    column = body.column()
    for name in names:
        place = labelled(column, context, ("* " if name in own else "") + limit_label(ENTRIES[name]), NUMBER)
        place.prop(context.scene.dryfit.limits, name, text="")


class DRYFIT_OT_reset_limits(bpy.types.Operator):
    """Go back to the limits of the brief, or to the defaults where there is none"""

    bl_idname = "dryfit.reset_limits"
    bl_label = "Reset Limits"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: Any) -> set[str]:
        """Forget what was changed in the sidebar."""
        store_own_limits(context.scene, {})
        return {"FINISHED"}


CLASSES = (DRYFIT_OT_reset_limits, DRYFIT_PT_limits)
