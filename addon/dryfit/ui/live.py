"""Live: the clearance paint follows each stroke."""

from typing import Any

import bpy

from ..sitting.live import start_live, stop_live, watching
from ..sitting.live_values import live_words
from ..sitting.paintable import FIRST
from ..sitting.parts import role_counts
from . import errands
from .errands import Errand
from .modal_job import RunsJob, Work, is_busy
from .naming import REGION, SPACE, TAB
from .wording import paragraph


class DRYFIT_OT_follow_strokes(RunsJob, bpy.types.Operator):
    """Measure the clearance again after each stroke, only where the sculpt changed"""

    bl_idname = "dryfit.follow_strokes"
    bl_label = "Follow Strokes"
    bl_options = {"REGISTER"}

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a base and an appliance, and no other job."""
        if is_busy(cls):
            return False
        counts = role_counts(context.scene)
        if not (counts["base"] and counts["appliance"]):
            cls.poll_message_set("Live needs a base and an appliance")
            return False
        return True

    def invoke(self, context: Any, event: Any) -> set[str]:
        """Stop at once, or start with progress to look at."""
        return super().invoke(context, event) if watching() is None else self.execute(context)

    def work(self, context: Any) -> Work:
        """Read the scene once and follow from there; a second time stops."""
        if watching() is not None:
            stop_live("")
            return {"FINISHED"}
        design = yield from self.read(context, moving=False)
        followed = yield Errand(errands.follow, (design.snapshot, design.brief))
        watch = start_live(context, followed)
        bench = context.scene.dryfit
        bench.painted, bench.paint = FIRST, True
        if watch.left_out:
            names = ", ".join(watch.left_out)
            self.report({"WARNING"}, f"Not followed, because modifiers or shape keys reshape them: {names}")
        return {"FINISHED"}


class DRYFIT_PT_live(bpy.types.Panel):
    """Follow the sculptor."""

    bl_label = "Live"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_parent_id = "DRYFIT_PT_paint"

    def draw(self, context: Any) -> None:
        """Show the switch and what is measured."""
        layout = self.layout
        on = watching() is not None
        layout.operator_context = "INVOKE_DEFAULT"
        layout.operator(
            "dryfit.follow_strokes", text="Stop Following" if on else "Follow Strokes", icon="REC", depress=on
        )
        if live_words():
            paragraph(layout, context, live_words(), "NONE" if on else "INFO")


CLASSES = (DRYFIT_OT_follow_strokes, DRYFIT_PT_live)
