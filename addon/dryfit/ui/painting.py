"""The paint's panel: measured values on the pieces, with a legend in the viewport."""

from typing import Any

import bpy

from ..sitting.paint_switch import refresh_paint
from ..sitting.paintable import field_label, measured_by
from ..sitting.painting import fields_named, painted_now
from ..sitting.preview import previewing, start_preview, stop_preview
from ..sitting.redraw import redraw_views
from ..sitting.room.room_names import LEFT, ROOM, STOPS
from ..sitting.value_probe import read_value, stop_reading
from .naming import REGION, SPACE, TAB
from .wording import ICON, check_word, paragraph, side_by_side


class DRYFIT_PT_paint(bpy.types.Panel):
    """Measured values on the pieces."""

    bl_label = "Paint"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_order = 3

    def draw_header(self, context: Any) -> None:
        """Switch it on and off."""
        self.layout.prop(context.scene.dryfit, "paint", text="")

    def draw(self, context: Any) -> None:
        """Choose the value."""
        layout = self.layout
        bench = context.scene.dryfit
        layout.active = bench.paint
        layout.use_property_split = True
        layout.use_property_decorate = False
        layout.prop(bench, "painted")
        if not painted_now(context.scene):
            paragraph(layout, context, _unmeasured(bench), "INFO")
            return
        layout.prop(bench, "opacity", slider=True)
        row = side_by_side(layout, context, len("Read Values In Renders") + 2 * ICON)
        row.operator("dryfit.read_values", icon="EYEDROPPER")
        row.operator("dryfit.preview_paint", icon="SHADING_RENDERED", depress=previewing(context.view_layer))
        if not context.space_data.overlay.show_overlays:
            paragraph(layout, context, "The viewport's overlays are off; the paint is one of them.", "HIDE_ON")


NO_ROOM = {
    ROOM: "Room is not measured yet: press Compute Room in the panel Room.",
    STOPS: "What stops a form is not measured yet: press Compute Room in the panel Room.",
    LEFT: "Room left is painted while strokes are followed: press Room Left in the panel Room.",
}


def _unmeasured(bench: Any) -> str:
    """Return why there is nothing to paint, and which check to run."""
    check = measured_by(bench.painted)
    if bench.painted in NO_ROOM:
        return NO_ROOM[bench.painted]
    if check is None:
        return "Pick a finding: the place where it was found is painted."
    if check.id in bench.checks:
        return f"{field_label(bench.painted)}: the check {check_word(check.id)} found none here."
    return f"{field_label(bench.painted)} is not measured yet: run the check {check_word(check.id)}."


class DRYFIT_OT_read_values(bpy.types.Operator):
    """Show the painted value under the cursor until Esc or a click of the right button"""

    bl_idname = "dryfit.read_values"
    bl_label = "Read Values"
    bl_options = {"REGISTER"}

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need paint in a viewport."""
        if not context.scene.dryfit.paint or not painted_now(context.scene):
            cls.poll_message_set("Nothing is painted; switch Paint on first")
            return False
        return context.area is not None and context.area.type == "VIEW_3D"

    def invoke(self, context: Any, event: Any) -> set[str]:
        """Follow the cursor."""
        context.window_manager.modal_handler_add(self)
        context.workspace.status_text_set("Move over the paint to read it · Esc: end")
        return {"RUNNING_MODAL"}

    def modal(self, context: Any, event: Any) -> set[str]:
        """Read at every move."""
        if event.type in {"ESC", "RIGHTMOUSE"} or not context.scene.dryfit.paint:
            stop_reading()
            context.workspace.status_text_set(None)
            redraw_views()
            return {"FINISHED"}
        if event.type != "MOUSEMOVE" or context.area is None:
            return {"PASS_THROUGH"}
        region = next((each for each in context.area.regions if each.type == "WINDOW"), None)
        if region is not None:
            with context.temp_override(region=region):
                read_value(bpy.context, event.mouse_x - region.x, event.mouse_y - region.y)
            redraw_views()
        return {"PASS_THROUGH"}


class DRYFIT_OT_preview_paint(bpy.types.Operator):
    """Show the paint in Material Preview and renders, as an override of this view layer; materials are not touched"""

    bl_idname = "dryfit.preview_paint"
    bl_label = "In Renders"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need measured values."""
        if not fields_named(context.scene, context.scene.dryfit.painted):
            cls.poll_message_set("This value is not measured yet")
            return False
        return True

    def execute(self, context: Any) -> set[str]:
        """Switch the preview on or off."""
        layer, bench = context.view_layer, context.scene.dryfit
        if previewing(layer):
            stop_preview(layer)
            return {"FINISHED"}
        bench.paint = True
        refused = refresh_paint(context.scene)
        start_preview(layer, fields_named(context.scene, bench.painted)[0])
        if refused:
            self.report({"WARNING"}, f"Not in renders, because modifiers rebuild them: {', '.join(refused)}")
        return {"FINISHED"}


CLASSES = (DRYFIT_OT_read_values, DRYFIT_OT_preview_paint, DRYFIT_PT_paint)
