"""The hand-outs' panel: a report to show, figures to script against, a snapshot for a bug report."""

import json
from pathlib import Path
from typing import Any

import bpy
from bpy.props import StringProperty

from ..model.snapshot_file import save_snapshot
from ..report.writing import require_libraries
from ..sitting.changes import settle
from ..sitting.open_design import read_open_snapshot
from ..sitting.paint_switch import refresh_paint
from ..sitting.standing import figures_now
from ..sitting.stored_report import store_report
from . import errands
from .errands import Errand
from .modal_job import RunsJob, Work, is_busy
from .naming import REGION, SPACE, TAB
from .needing import NeedsBase, NeedsReport
from .refusals import MEANT_FOR_USERS
from .wording import paragraph


class DRYFIT_OT_write_report(RunsJob, NeedsBase, bpy.types.Operator):
    """Check again and write the report's page, pictures and figures into a folder"""

    bl_idname = "dryfit.write_report"
    bl_label = "Write Report"
    bl_options = {"UNDO"}

    directory: StringProperty(name="Folder", description="Where the report is written", subtype="DIR_PATH")
    choosing = True

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a base, and no other job."""
        return not is_busy(cls) and super().poll(context)

    def invoke(self, context: Any, event: Any) -> set[str]:
        """Ask for the folder, then run."""
        if not self.directory:
            context.window_manager.fileselect_add(self)
            return {"RUNNING_MODAL"}
        return super().invoke(context, event)

    def work(self, context: Any) -> Work:
        """Read the scene, measure it, write the report, and store it in the file too.

        Raises
        ------
        MissingLibraries
            Before anything is measured.
        """
        require_libraries()
        design = yield from self.read(context)
        folder = Path(bpy.path.abspath(self.directory))
        report = yield Errand(errands.check_and_write, (design.snapshot, design.brief, folder))
        store_report(context.scene, report, design.prints)
        refresh_paint(context.scene)
        settle(context)
        self.report({"INFO"}, f"Report written to {folder}")
        return {"FINISHED"}


class DRYFIT_OT_save_figures(NeedsReport, bpy.types.Operator):
    """Write the stored report as JSON, as the command line does; what changed since or was not run is not checked"""

    bl_idname = "dryfit.save_figures"
    bl_label = "Save Figures"
    bl_options = {"REGISTER"}

    filepath: StringProperty(name="File", subtype="FILE_PATH", default="report.json")
    filter_glob: StringProperty(default="*.json", options={"HIDDEN"})

    def invoke(self, context: Any, event: Any) -> set[str]:
        """Ask where."""
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: Any) -> set[str]:
        """Write beside, then rename."""
        path = Path(bpy.path.abspath(self.filepath))
        beside = path.with_name(path.name + ".part")
        try:
            beside.write_text(json.dumps(figures_now(context.scene), indent=1, ensure_ascii=False) + "\n", "utf-8")
            beside.replace(path)
        except OSError as error:
            self.report({"ERROR"}, f"{path}: cannot be written: {error}")
            return {"CANCELLED"}
        self.report({"INFO"}, f"Figures saved to {path}")
        return {"FINISHED"}


class DRYFIT_OT_save_snapshot(bpy.types.Operator):
    """Write what the checks measure as one file without Blender data, for scripts and bug reports"""

    bl_idname = "dryfit.save_snapshot"
    bl_label = "Save Snapshot"
    bl_options = {"REGISTER"}

    filepath: StringProperty(name="File", subtype="FILE_PATH", default="design.npz")
    filter_glob: StringProperty(default="*.npz", options={"HIDDEN"})

    def invoke(self, context: Any, event: Any) -> set[str]:
        """Ask where."""
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: Any) -> set[str]:
        """Read and write."""
        try:
            snapshot = read_open_snapshot(context)
            path = save_snapshot(snapshot, bpy.path.abspath(self.filepath))
        except MEANT_FOR_USERS as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        self.report({"INFO"}, f"Snapshot of {len(snapshot.parts)} parts saved to {path}")
        return {"FINISHED"}


class DRYFIT_PT_handouts(bpy.types.Panel):
    """What leaves the file."""

    bl_label = "Hand-Outs"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_order = 6
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: Any) -> None:
        """Offer them, with the caution that goes with every one."""
        layout = self.layout
        layout.operator_context = "INVOKE_DEFAULT"
        column = layout.column(align=True)
        column.operator("dryfit.write_report", icon="DOCUMENTS")
        column.operator("dryfit.save_figures", icon="FILE_TEXT")
        column.operator("dryfit.save_snapshot", icon="FILE_BLANK")
        row = layout.row(align=True)
        row.operator("dryfit.write_attributes", icon="GROUP_VERTEX")
        row.operator("dryfit.remove_attributes", text="", icon="X")
        words = (
            "Figures about breathing, sight and weight are warnings, never a clearance: "
            "the performer's comfort and licensed practitioners decide."
        )
        paragraph(layout, context, words, "ERROR")


CLASSES = (DRYFIT_OT_write_report, DRYFIT_OT_save_figures, DRYFIT_OT_save_snapshot, DRYFIT_PT_handouts)
