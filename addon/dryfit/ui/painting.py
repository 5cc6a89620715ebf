"""The paint's panel: measured values on the pieces, with a legend in the viewport."""

from typing import Any

import bpy

from ..scene.painting import fields_named
from ..scene.state import PAINTED
from .naming import REGION, SPACE, TAB
from .wording import paragraph

MEASURED_BY = {"clearance": "Additive", "thickness": "Edge", "stretch": "Strain", "exposure": "Coverage"}


class DRYFIT_PT_paint(bpy.types.Panel):
    """Measured values on the pieces."""

    bl_label = "Paint"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_order = 6

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
        fields = fields_named(context.scene, bench.painted)
        if not fields:
            word = next(label for name, label, _ in PAINTED if name == bench.painted)
            by = MEASURED_BY[bench.painted]
            paragraph(layout, context, f"{word} is not measured yet: run the check {by}.", "INFO")
            return
        layout.prop(bench, "opacity", slider=True)
        if not context.space_data.overlay.show_overlays:
            paragraph(layout, context, "The viewport's overlays are off; the paint is one of them.", "HIDE_ON")


CLASSES = (DRYFIT_PT_paint,)
