"""The parts' panel: roles by selection, and a list of what is assigned."""

from typing import Any

import bpy

from ..sitting.parts import ListedPart, listed_parts, role_counts
from .naming import REGION, SPACE, TAB
from .wording import (
    BRIEF_ICON,
    ICON,
    ROLE_ICONS,
    draw_from_brief,
    letters_across,
    paragraph,
    role_word,
)


class DRYFIT_PT_parts(bpy.types.Panel):
    """What each object is in the design."""

    bl_label = "Parts"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_parent_id = "DRYFIT_PT_setup"
    bl_order = 1

    def draw(self, context: Any) -> None:
        """Show the menu of roles."""
        layout = self.layout
        counts = role_counts(context.scene)
        if not any(counts[role] for role in counts if role not in ("base", "ignore")):
            paragraph(layout, context, "Nothing is worn yet. Select the sculpted pieces and give them a role.", "INFO")
        layout.menu("DRYFIT_MT_roles", text="Role of Selected", icon="SURFACE_DATA")


class DRYFIT_PT_assigned(bpy.types.Panel):
    """Every object with a role."""

    bl_label = "Assigned"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_parent_id = "DRYFIT_PT_parts"
    bl_options = {"DEFAULT_CLOSED"}

    def draw_header_preset(self, context: Any) -> None:
        """Tell how many."""
        count = sum(role_counts(context.scene).values())
        self.layout.label(text=f"{count} object{'s' * (count != 1)}")

    def draw(self, context: Any) -> None:
        """List them; a click on the name selects, the cross takes the role away."""
        layout = self.layout
        parts = listed_parts(context.scene)
        if not parts:
            layout.label(text="No object has a role")
        stated = sum(part.briefed for part in parts)
        draw_from_brief(layout, context, f"{stated} role{'s' * (stated != 1)}" if stated else "")
        column = layout.column(align=True)
        for part in parts:
            _draw_part(column, context, part)


def _draw_part(column: Any, context: Any, part: ListedPart) -> None:
    """Draw one object's row: its name, its role, and where that can be taken away."""
    row = column.row(align=True)
    name = row.row(align=True)
    name.alignment = "LEFT"
    pick = name.operator("dryfit.select_part", text=part.item.name, icon=ROLE_ICONS[part.role], emboss=False)
    pick.part = part.item.name
    word = row.row(align=True)
    word.alignment = "RIGHT"
    beside = len(part.item.name) + len(role_word(part.role)) + 2 * ICON <= letters_across(context)
    if beside:
        word.label(text=role_word(part.role))
    else:
        column.label(text=role_word(part.role), icon="BLANK1")
    if part.briefed:
        word.label(text="", icon=BRIEF_ICON)
    else:
        word.operator("dryfit.clear_role", text="", icon="X", emboss=False).part = part.item.name
    if part.ownable:
        _draw_own(column, part)


def _draw_own(column: Any, part: ListedPart) -> None:
    """Draw the checkbox of teeth and eyes, or what the brief says of them."""
    icon = "CHECKBOX_HLT" if part.own else "CHECKBOX_DEHLT"
    row = column.row(align=True)
    row.label(text="", icon="BLANK1")
    if part.own_briefed:
        row.label(text="Performer's own" if part.own else "Part of the design", icon=icon)
        row.label(text="", icon=BRIEF_ICON)
        return
    mark = row.operator("dryfit.mark_own", text="Performer's own", icon=icon, emboss=False)
    mark.part, mark.own = part.item.name, not part.own


CLASSES = (DRYFIT_PT_parts, DRYFIT_PT_assigned)
