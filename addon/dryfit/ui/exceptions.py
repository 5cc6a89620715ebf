"""The exceptions' panel: findings accepted with a reason; who and when are kept in the file and every report."""

import getpass
import textwrap
from typing import Any

import bpy
from bpy.props import BoolProperty, IntProperty, StringProperty

from ..model.errors import DryfitError
from ..scene.exceptions import stored_exceptions
from ..sitting.exceptions import add_exception, exception_for, withdraw_exception
from ..sitting.picking import show_finding
from ..sitting.the_pick import picked_finding
from ..sitting.words.finding_rows import fault_word, same_cause
from ..sitting.words.window_words import window_words
from .findings import state_icon
from .naming import REGION, SPACE, TAB
from .wording import ACCEPTED_ICON, paragraph

DIALOG_LETTERS = 52
"""Letters across the dialog."""


class DRYFIT_OT_accept_finding(bpy.types.Operator):
    """Accept the picked finding, with the reason in writing; it then no longer counts in the verdict"""

    bl_idname = "dryfit.accept_finding"
    bl_label = "Accept Finding"
    bl_options = {"REGISTER", "UNDO"}

    reason: StringProperty(name="Reason", description="Why it is accepted; it appears in every report")
    by: StringProperty(name="Who", description="Who accepts it")
    whole_object: BoolProperty(
        name="Everywhere on the Piece",
        description="Accept the same check's findings on this piece at every place, not only here",
    )

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need an open pick."""
        finding = picked_finding(context.scene.dryfit)
        if finding is None:
            cls.poll_message_set("Pick a finding in the list first")
            return False
        if finding.exception:
            cls.poll_message_set("This finding is already accepted")
            return False
        return True

    def invoke(self, context: Any, event: Any) -> set[str]:
        """Show what is accepted, and ask for the reason."""
        show_finding(context, context.scene.dryfit)
        self.by = self.by or context.scene.dryfit.by or _login()
        answer: set[str] = context.window_manager.invoke_props_dialog(self, width=360)
        return answer

    def draw(self, context: Any) -> None:
        """Show the fields."""
        layout = self.layout
        finding = picked_finding(context.scene.dryfit)
        if finding is not None:
            box = layout.box()
            box.label(text=f"{fault_word(finding)} · {finding.region or finding.part}", icon=state_icon(finding))
            for line in textwrap.wrap(window_words(finding.message), DIALOG_LETTERS):
                box.label(text=line, icon="BLANK1")
            others = same_cause(context.scene.dryfit, finding)
            if others:
                box.label(text=f"{len(others)} more of the same cause stay open", icon="LINKED")
        layout.use_property_split = True
        for name in ("reason", "by", "whole_object"):
            layout.prop(self, name)

    def execute(self, context: Any) -> set[str]:
        """Keep it."""
        finding = picked_finding(context.scene.dryfit)
        if finding is None or not self.reason.strip():
            self.report({"ERROR"}, "An exception needs a reason in writing; nothing was accepted")
            return {"CANCELLED"}
        try:
            count = add_exception(context.scene, exception_for(finding, self.reason, self.by, self.whole_object))
        except DryfitError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        context.scene.dryfit.by = self.by
        self.report({"INFO"}, f"Accepted; {count} finding{'s' * (count != 1)} accepted in all")
        return {"FINISHED"}


class DRYFIT_OT_withdraw_exception(bpy.types.Operator):
    """Take this exception back; what it covered counts again"""

    bl_idname = "dryfit.withdraw_exception"
    bl_label = "Withdraw Exception"
    bl_options = {"REGISTER", "UNDO"}

    place: IntProperty(options={"HIDDEN"})

    def execute(self, context: Any) -> set[str]:
        """Remove it."""
        try:
            withdraw_exception(context.scene, self.place)
        except (DryfitError, IndexError) as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        return {"FINISHED"}


def _login() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return ""


class DRYFIT_PT_exceptions(bpy.types.Panel):
    """What was accepted, by whom, why."""

    bl_label = "Exceptions"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_order = 5
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: Any) -> None:
        """List them."""
        layout = self.layout
        row = layout.row()
        row.operator_context = "INVOKE_DEFAULT"
        row.operator("dryfit.accept_finding", icon=ACCEPTED_ICON)
        try:
            exceptions = stored_exceptions(context.scene)
        except DryfitError as error:
            paragraph(layout, context, str(error), "ERROR")
            return
        if not exceptions:
            words = "None. A deliberate fang or a zone finished digitally can be accepted here, with the reason."
            paragraph(layout, context, words, "INFO")
        for place, each in enumerate(exceptions):
            box = layout.box()
            row = box.row(align=True)
            where = f"{each.check.capitalize()}: {each.object or 'every piece'}"
            paragraph(row.column(align=True), context, where, ACCEPTED_ICON)
            row.operator("dryfit.withdraw_exception", text="", icon="X", emboss=False).place = place
            paragraph(box, context, f"{each.region or 'everywhere'}: {each.reason}")
            paragraph(box, context, ", ".join(word for word in (each.by, each.on) if word) or "nobody named")


CLASSES = (DRYFIT_OT_accept_finding, DRYFIT_OT_withdraw_exception, DRYFIT_PT_exceptions)
