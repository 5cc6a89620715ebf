"""Mend a finding: one undo step, on a new shape key; then the check is run again and says what remains."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import bpy
from bpy.props import BoolProperty, StringProperty

from ..fixes.extend import LOWER, UPPER
from ..fixes.mended import Mended
from ..fixes.remedies import INSTEAD, REMEDIES
from ..model.arrays import FloatArray
from ..model.finding import Finding, Severity
from ..model.report import Report
from ..model.snapshot import Role
from ..scene.staging import object_mode
from ..sitting.changes import settle
from ..sitting.fix_keys import FixKey, add_fix_key, require_mendable, take_fix_back
from ..sitting.listed_finding import as_finding, as_one_finding
from ..sitting.paint_switch import refresh_paint
from ..sitting.painting import part_objects
from ..sitting.parts import listed_parts
from ..sitting.redraw import redraw_views
from ..sitting.stored_report import store_report, stored_report
from ..sitting.the_pick import picked_finding
from . import errands
from .errands import Errand
from .modal_job import RunsJob, Work, is_busy
from .motions import draw_playable, played_again
from .wording import side_by_side

LABELS = {
    "lift": ("Lift onto Base", "TRIA_UP"),
    "feather": ("Feather Rim", "SMOOTHCURVE"),
    "shorten": ("Shorten Tooth", "TRIA_DOWN_BAR"),
    "extend": ("Extend Lip", "FULLSCREEN_ENTER"),
}
FIX_LETTERS = 16
"""Letters across that a fix's button takes."""


class DRYFIT_OT_mend_finding(RunsJob, bpy.types.Operator):
    """Mend the picked finding on a new shape key, which can be dialled down or deleted, and check again"""

    bl_idname = "dryfit.mend_finding"
    bl_label = "Mend Finding"
    bl_options = {"UNDO"}

    remedy: StringProperty(name="Fix", description="Which fix; empty takes the one the finding names", default="")
    everywhere: BoolProperty(
        name="Everywhere on the Piece",
        description="Mend every open finding of this kind on the piece at once",
        default=False,
    )

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a pick that has a fix, and no other job."""
        if is_busy(cls):
            return False
        finding = picked_finding(context.scene.dryfit)
        if finding is None:
            cls.poll_message_set("Pick a finding in the list first")
            return False
        if finding.remedy not in REMEDIES:
            cls.poll_message_set("There is no automatic fix for this finding")
            return False
        if finding.subject is None:
            cls.poll_message_set(f"'{finding.part}' is no longer in the scene")
            return False
        return True

    def work(self, context: Any) -> Work:
        """Mend, check again, and say what remains; stopped in between, the piece is as it was."""
        scene = context.scene
        item = picked_finding(scene.dryfit)
        if item is None:
            return {"CANCELLED"}
        finding = as_one_finding(scene, item) if self.everywhere else as_finding(scene, item)
        finding = replace(finding, remedy=self.remedy) if self.remedy in REMEDIES else finding
        check, subject = item.check, item.subject.name
        known = next((each["reason"] for each in stored_report(scene).get("checks", ()) if each["id"] == check), "")
        design = yield from self.read(context)
        mended, before_mm = yield Errand(errands.mend, (design.snapshot, design.brief, finding, subject))
        fix = _put_on(context, mended, before_mm, finding.remedy)
        try:
            design = yield from self.read(context)
            report = yield Errand(errands.check, (design.snapshot, design.brief, [check]))
            playable = yield from played_again(context, design)
        except BaseException:
            with object_mode(context):
                take_fix_back(context.scene, fix)
            raise
        _keep(context, report, design.prints)
        draw_playable(context, playable)
        remains = _remaining(report, check, finding, self.everywhere) or _unmeasured(report, check, known)
        words = f"{mended.words}, on the shape key '{fix.name}'"
        self.report({"WARNING" if remains else "INFO"}, f"{words}. {remains or _gone(report, check)}")
        return {"FINISHED"}


def _put_on(context: Any, mended: Mended, before_mm: FloatArray, remedy: str) -> FixKey:
    """Put a fix on its piece, as a new shape key.

    Raises
    ------
    CannotMend
    """
    with object_mode(context):
        item = require_mendable(part_objects(context.scene).get(mended.part), mended.part)
        return add_fix_key(context.scene, item, before_mm, mended.vertices_mm, remedy)


def _keep(context: Any, report: Report, prints: Mapping[str, str]) -> None:
    """Store what was measured of the mended piece, and show it wherever the design is shown."""
    with object_mode(context):
        store_report(context.scene, report, prints)
        refresh_paint(context.scene)
        settle(context)
    redraw_views()


def _remaining(report: Report, check: str, finding: Finding, everywhere: bool) -> str:
    """Return what is still found where the finding was, or ``""``."""
    still = [
        each
        for each in report.check(check).findings
        if each.object == finding.object
        and each.remedy in (finding.remedy, *(named for named, other in INSTEAD.items() if other == finding.remedy))
        and (everywhere or each.region == finding.region)
        and each.exception is None
        and each.severity != Severity.INFO
    ]
    if not still:
        return ""
    more = f" (and {len(still) - 1} more)" if len(still) > 1 else ""
    return f"Remaining: {still[0].message}{more}"


def _unmeasured(report: Report, check: str, known: str) -> str:
    """Return that the check could not tell any more whether the finding is gone, or ``""``.

    Parameters
    ----------
    known
        What it could not measure before the fix either, which is not about this finding.
    """
    reason = report.check(check).reason
    return f"Whether the finding is gone was not measured: {reason}" if reason not in ("", known) else ""


def _gone(report: Report, check: str) -> str:
    """Return that the finding is gone, and how many other ones of its check are left."""
    left = [each for each in report.check(check).findings if each.exception is None and each.severity != Severity.INFO]
    if not left:
        return "The finding is gone"
    return f"The finding is gone; {len(left)} other{'s' * (len(left) != 1)} of this check to mend: {left[0].message}"


def _lip_is_sculpted(scene: Any) -> bool:
    """Tell whether an appliance is marked as a lip; the performer's own lip cannot be extended."""
    parts = listed_parts(scene)
    pieces = [part.item for part in parts if part.role is Role.APPLIANCE and part.item.type == "MESH"]
    return any(area in item.vertex_groups for item in pieces for area in (UPPER, LOWER))


def draw_mending(layout: Any, context: Any, finding: Any) -> None:
    """Offer the fix of a listed finding."""
    if finding.remedy not in REMEDIES or finding.exception:
        return
    instead = INSTEAD.get(finding.remedy, "")
    row = side_by_side(layout, context, 2 * FIX_LETTERS)
    if finding.remedy != "extend" or _lip_is_sculpted(context.scene):
        _offer(row, finding.remedy).remedy = ""
    if instead:
        _offer(row, instead).remedy = instead
    elif finding.remedy != "shorten":
        row.operator("dryfit.mend_finding", text="Everywhere on It").everywhere = True


def _offer(row: Any, remedy: str) -> Any:
    label, icon = LABELS[remedy]
    row.operator_context = "INVOKE_DEFAULT"
    button = row.operator("dryfit.mend_finding", text=label, icon=icon)
    button.everywhere = False
    return button


CLASSES = (DRYFIT_OT_mend_finding,)
