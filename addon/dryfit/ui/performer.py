"""The performer's panel: which scan is the base, and is it locked."""

from typing import Any

import bpy

from ..model.errors import DryfitError
from ..model.snapshot import Role
from ..sitting.brief_beside import brief_beside
from ..sitting.freshness import look_at_lock
from ..sitting.padlock import lock_base_of, lock_words, release_lock
from ..sitting.parts import listed_parts, roles_trouble, scene_base
from .naming import REGION, SPACE, TAB
from .needing import NeedsBase, base_missing
from .roles_assigning import assign_icon
from .wording import draw_from_brief, paragraph


class DRYFIT_PT_performer(bpy.types.Panel):
    """The head scan everything is held against."""

    bl_label = "Performer"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_parent_id = "DRYFIT_PT_setup"
    bl_order = 0

    def draw(self, context: Any) -> None:
        """Show the base and its lock, or how to name one."""
        layout = self.layout
        trouble = roles_trouble(context.scene)
        if trouble:
            paragraph(layout, context, trouble, "ERROR")
        parts = listed_parts(context.scene)
        draw_from_brief(layout, context, "Roles" if any(part.briefed for part in parts) else "")
        base = next((part.item for part in parts if part.role is Role.BASE), None)
        if base is None:
            elsewhere = base_missing(context.scene) if brief_beside(quiet=True).base.file else ""
            paragraph(layout, context, elsewhere or "No base yet. Select the performer's head scan.", "INFO")
            row = layout.row()
            row.operator("dryfit.assign_role", text="Make Base", icon=assign_icon("base")).role = "base"
            return
        row = layout.row(align=True)
        row.label(text=base.name, icon=assign_icon("base"))
        row.operator("dryfit.select_part", text="", icon="RESTRICT_SELECT_OFF").part = base.name
        _draw_lock(layout, context, base)


def _draw_lock(layout: Any, context: Any, base: Any) -> None:
    lock = lock_words(base)
    if lock.locked:
        row = layout.row(align=True)
        paragraph(row.column(align=True), context, lock.words, "ERROR" if lock.drifted else "LOCKED")
        row.operator("dryfit.unlock_base", text="", icon="UNLOCKED")
        if lock.drifted:
            layout.operator("dryfit.show_drift", icon="VIEWZOOM")
        return
    paragraph(layout, context, "Not locked: a change of the scan would go unseen.", "UNLOCKED")
    layout.operator("dryfit.lock_base", icon="LOCKED")


class DRYFIT_OT_lock_base(NeedsBase, bpy.types.Operator):
    """Keep the scan's shape in the file, so that any later change of it shows in every report"""

    bl_idname = "dryfit.lock_base"
    bl_label = "Lock Base"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: Any) -> set[str]:
        """Lock it."""
        try:
            lock = lock_base_of(context)
        except DryfitError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        look_at_lock(context.scene)
        self.report({"INFO"}, f"Base locked: {lock.vertices} vertices, fingerprint {lock.fingerprint[:8]}")
        return {"FINISHED"}


class DRYFIT_OT_show_drift(NeedsBase, bpy.types.Operator):
    """Check the base against its lock and go to the place where it moved furthest"""

    bl_idname = "dryfit.show_drift"
    bl_label = "Show Me"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: Any) -> set[str]:
        """Run that one check, and pick its worst finding."""
        if bpy.ops.dryfit.check_fit("EXEC_DEFAULT", only="base_lock") != {"FINISHED"}:
            return {"CANCELLED"}
        bench = context.scene.dryfit
        places = [place for place, item in enumerate(bench.findings) if item.check == "base_lock"]
        if not places:
            self.report({"INFO"}, "The base is the one that was locked")
            return {"FINISHED"}
        bench.paint = True
        bench.picked = places[0]
        return {"FINISHED"}


class DRYFIT_OT_unlock_base(bpy.types.Operator):
    """Forget the locked shape of the scan; changes of it are then no longer noticed"""

    bl_idname = "dryfit.unlock_base"
    bl_label = "Unlock Base"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a locked base."""
        base = scene_base(context.scene)
        if base is None or not lock_words(base).locked:
            cls.poll_message_set("The base is not locked")
            return False
        return True

    def execute(self, context: Any) -> set[str]:
        """Unlock it."""
        release_lock(context.scene)
        return {"FINISHED"}


CLASSES = (DRYFIT_OT_lock_base, DRYFIT_OT_show_drift, DRYFIT_OT_unlock_base, DRYFIT_PT_performer)
