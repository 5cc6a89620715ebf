"""The materials' panel: what each part is made of, and the figures the checks take from it."""

from typing import Any

import bpy
from bpy.props import EnumProperty, StringProperty

from ..model.adopting import FIGURES
from ..model.materials import MATERIALS
from ..scene.own_figures import own_materials, store_own_materials
from ..sitting.brief_beside import brief_beside
from ..sitting.materials_state import (
    SHOWN,
    assign_material,
    material_items,
    material_of,
    material_word,
    shown_material,
    worn_parts,
)
from .naming import REGION, SPACE, TAB
from .wording import ICON, NUMBER, ROLE_ICONS, draw_from_brief, labelled, paragraph


class DRYFIT_OT_assign_material(bpy.types.Operator):
    """Say what this part is made of: its weight, stretch, shrinkage and walls are judged by it"""

    bl_idname = "dryfit.assign_material"
    bl_label = "Assign Material"
    bl_options = {"REGISTER", "UNDO"}

    part: StringProperty(name="Object", options={"HIDDEN"})
    material: EnumProperty(name="Material", items=material_items)

    def execute(self, context: Any) -> set[str]:
        """Store the name on the object."""
        item = context.scene.objects.get(self.part) or context.active_object
        if item is None:
            self.report({"ERROR"}, f"'{self.part}' is not in this scene")
            return {"CANCELLED"}
        why = assign_material(item, self.material)
        if why:
            self.report({"ERROR"}, f"{item.name}: {why}")
            return {"CANCELLED"}
        context.scene.dryfit.shown_material = self.material
        self.report({"INFO"}, f"{item.name}: {material_word(self.material)}")
        return {"FINISHED"}


class DRYFIT_OT_reset_material(bpy.types.Operator):
    """Go back to this material's figures in the brief, or to the defaults where there is none"""

    bl_idname = "dryfit.reset_material"
    bl_label = "Reset Material"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: Any) -> set[str]:
        """Forget what was changed in the sidebar."""
        own = own_materials(context.scene)
        own.pop(shown_material(context.scene), None)
        store_own_materials(context.scene, own)
        return {"FINISHED"}


class DRYFIT_PT_materials(bpy.types.Panel):
    """What each part is made of."""

    bl_label = "Materials"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_parent_id = "DRYFIT_PT_setup"
    bl_options = {"DEFAULT_CLOSED"}

    def draw_header_preset(self, context: Any) -> None:
        """Tell how many parts have none."""
        without = sum(not material_of(part.item) for part in worn_parts(context.scene))
        if without:
            self.layout.label(text=f"{without} without", icon="ERROR")

    def draw(self, context: Any) -> None:
        """List the worn parts with their material, then the figures of one."""
        layout = self.layout
        parts = worn_parts(context.scene)
        if not parts:
            paragraph(layout, context, "Parts that are worn get a material here. Give them a role first.", "INFO")
            return
        column = layout.column(align=True)
        for part in parts:
            name = material_of(part.item)
            words = material_word(name) if name else "Choose"
            place = labelled(column, context, part.item.name, len(words) + ICON, ROLE_ICONS[part.role])
            place.operator_menu_enum("dryfit.assign_material", "material", text=words).part = part.item.name
        _draw_figures(layout, context)


def _draw_figures(layout: Any, context: Any) -> None:
    shown = context.scene.dryfit.material
    own = own_materials(context.scene).get(shown_material(context.scene), {})
    layout.prop(shown, "material", text="")
    stated = brief_beside(quiet=True).materials.get(shown_material(context.scene))
    draw_from_brief(layout, context, "" if stated == MATERIALS.get(shown_material(context.scene)) else "Figures")
    column = layout.column(align=True)
    for figure in FIGURES:
        place = labelled(column, context, SHOWN[figure].label + (" *" if figure in own else ""), NUMBER)
        place.prop(shown, figure, text="")
    row = layout.row()
    row.enabled = bool(own)
    row.operator("dryfit.reset_material", text=f"Reset {len(own)} Changed" if own else "None Changed")


CLASSES = (DRYFIT_OT_assign_material, DRYFIT_OT_reset_material, DRYFIT_PT_materials)
