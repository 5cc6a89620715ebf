"""Measured values written onto the meshes to stay, and taken off again."""

from typing import Any

import bpy

from ..scene.field_attributes import erase_field_attributes, has_field_attributes
from ..sitting.paint_switch import refresh_paint
from ..sitting.stored_attributes import write_stored_attributes
from .needing import NeedsReport
from .refusals import MEANT_FOR_USERS


class DRYFIT_OT_write_attributes(NeedsReport, bpy.types.Operator):
    """Write every measured value onto the meshes as float attributes, for shaders, geometry nodes and scripts"""

    bl_idname = "dryfit.write_attributes"
    bl_label = "Write Attributes"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: Any) -> set[str]:
        """Write them, and say what was left out and why."""
        try:
            written = write_stored_attributes(context.scene)
        except MEANT_FOR_USERS as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        refresh_paint(context.scene)
        for line in written.left_out:
            self.report({"WARNING"}, f"Left out: {line}")
        if context.scene.dryfit.stale:
            self.report({"WARNING"}, "The design changed since it was measured; these are the figures from before")
        count = sum(len(names) for names in written.names.values()) // 2
        self.report({"INFO"}, f"{count} values with where they are known written on {len(written.names)} pieces")
        return {"FINISHED"}


class DRYFIT_OT_remove_attributes(bpy.types.Operator):
    """Take the measured values that were written onto the meshes off again"""

    bl_idname = "dryfit.remove_attributes"
    bl_label = "Remove Attributes"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need some."""
        if not has_field_attributes(context.scene):
            cls.poll_message_set("No mesh carries values that were written to stay")
            return False
        return True

    def execute(self, context: Any) -> set[str]:
        """Take them off; what is painted stays painted."""
        count = erase_field_attributes(context.scene)
        refresh_paint(context.scene)
        self.report({"INFO"}, f"{count} attributes removed")
        return {"FINISHED"}


CLASSES = (DRYFIT_OT_write_attributes, DRYFIT_OT_remove_attributes)
