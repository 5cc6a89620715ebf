"""The findings' panel: what is wrong, worst first; a click selects, frames and marks it."""

from typing import Any

import bpy
from bpy.props import IntProperty

from ..model.finding import SEVERITY_WORDS, Status
from ..sitting.picking import show_finding
from ..sitting.posed_view import player
from ..sitting.still_true.check_rows import outdated_reason
from ..sitting.the_pick import picked_finding
from ..sitting.words.finding_rows import fault_word, listed_places, same_cause
from ..sitting.words.unit_words import unit_word
from ..sitting.words.window_words import window_words
from .mending import draw_mending
from .naming import REGION, SPACE, TAB
from .wording import (
    ACCEPTED_ICON,
    ICON,
    SEVERITY_ICONS,
    figure,
    letters_across,
    paragraph,
    side_by_side,
)

LIST_SHARE = 0.9
"""Share of the sidebar's width that a row of a list has: frame and scroll bar take the rest."""
BETWEEN = 2
"""Letters that the space between a row's words and its figure takes."""
UNNAMED = "point ("
"""How a region begins that has no name, for want of landmarks."""
WITH_PLACES = 28
"""Letters across from which buttons carry words."""


class DRYFIT_UL_findings(bpy.types.UIList):
    """Findings: icon, word, place, value against limit."""

    def draw_item(
        self, context: Any, layout: Any, data: Any, item: Any, icon: int, active: Any, property_name: str
    ) -> None:
        """Draw one row."""
        words, number, below = row_words(item, letters_across(context, LIST_SHARE) - ICON)
        column = layout.column(align=True)
        split = column.row(align=True)
        split.label(text=words, icon=state_icon(item))
        right = split.row(align=True)
        right.alignment = "RIGHT"
        right.label(text=number)
        if below:
            column.label(text=below, icon="BLANK1")

    def filter_items(self, context: Any, data: Any, property_name: str) -> tuple[list[int], list[int]]:
        """Draw one row a cause, notes where asked for; Blender's name filter goes by fault, place and piece."""
        items = getattr(data, property_name)
        wanted, places = self.filter_name.casefold(), set(listed_places(data))
        shown = [
            place in places and wanted in f"{fault_word(item)} {item.region} {item.part} {item.check}".casefold()
            for place, item in enumerate(items)
        ]
        return [self.bitflag_filter_item if each else 0 for each in shown], []


def state_word(item: Any) -> str:
    """Return how bad a listed finding is, or that it was accepted, in a word."""
    return "Accepted" if item.exception else SEVERITY_WORDS.get(item.severity, item.severity)


def state_icon(item: Any) -> str:
    """Return the icon that goes with the word."""
    return ACCEPTED_ICON if item.exception else SEVERITY_ICONS.get(item.severity, "DOT")


def row_words(item: Any, room: int) -> tuple[str, str, str]:
    """Return a row's words, its figure, and what stands on a second line where it does not fit beside them."""
    fault, place = fault_word(item), item.part if item.region.startswith(UNNAMED) else item.region or item.part
    fault = f"Accepted: {fault}" if item.exception else fault
    short = figure(item.value, item.unit)
    ways = ((f"{fault} · {place}", against(item), ""), (f"{fault} · {place}", short, ""), (fault, short, place))
    narrow = (fault, "", f"{short} · {place}")  # a figure never goes without its unit
    return next((way for way in ways if len(way[0]) + len(way[1]) + BETWEEN <= room), narrow)


def against(item: Any, with_unit: bool = True) -> str:
    """Return a finding's figure and its limit in few letters: ``2.51 / 0.2 mm``."""
    unit = f" {unit_word(item.unit)}" if with_unit else ""
    return f"{item.value:.2f} / {item.limit:.3g}{unit}" if item.limited else figure(item.value, item.unit)


class DRYFIT_PT_findings(bpy.types.Panel):
    """What was found."""

    bl_label = "Findings"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_order = 1

    def draw(self, context: Any) -> None:
        """Show the list and the picked finding."""
        layout = self.layout
        bench = context.scene.dryfit
        if not bench.verdict:
            layout.label(text="Nothing measured yet: Check Fit", icon="INFO")
            return
        if not len(bench.findings):
            _draw_nothing(layout, bench, "Nothing found")
            return
        open_ones = [item for item in bench.findings if item.severity != "info"]
        notes = len(bench.findings) - len(open_ones)
        if not open_ones and not bench.notes:
            _draw_nothing(layout, bench, "Nothing to mend")
        layout.template_list("DRYFIT_UL_findings", "", bench, "findings", bench, "picked", rows=4, maxrows=8)
        row = layout.row(align=True)
        worded = letters_across(context) > WITH_PLACES
        row.operator("dryfit.step_finding", text="Previous" if worded else "", icon="TRIA_UP").step = -1
        row.operator("dryfit.step_finding", text="Next" if worded else "", icon="TRIA_DOWN").step = 1
        row.prop(bench, "notes", text="", icon="INFO")
        row.prop(bench, "follow", text="", icon="VIEWZOOM")
        row.prop(bench, "marks", text="", icon="PINNED")
        if notes and not bench.notes:
            layout.label(text=f"{notes} note{'s' * (notes != 1)} not listed", icon="INFO")
        _draw_picked(layout, context, bench)


def _draw_nothing(layout: Any, bench: Any, words: str) -> None:
    """Say that there is nothing; where checks have no answer that holds, only of those that have."""
    sound = bench.verdict == Status.PASS
    layout.label(text=words if sound else f"{words} where it was checked", icon="CHECKMARK" if sound else "QUESTION")


def _draw_picked(layout: Any, context: Any, bench: Any) -> None:
    finding = picked_finding(bench)
    if finding is None:
        layout.label(text="Click a finding to go to it", icon="RESTRICT_SELECT_OFF")
        return
    box = layout.box()
    paragraph(box, context, f"{state_word(finding)}: {window_words(finding.message)}", state_icon(finding))
    alike = same_cause(bench, finding)
    if alike:
        told = ", ".join(f"{fault_word(each).lower()} ({figure(each.value, each.unit)})" for each in alike)
        paragraph(box, context, f"The same cause: {told}", "LINKED")
    outdated = outdated_reason(context.scene, finding.check)
    if outdated:
        paragraph(box, context, outdated, "FILE_REFRESH")
    if finding.subject is None:
        paragraph(box, context, f"'{finding.part}' is no longer in the scene.", "ERROR")
    elif player() is None and not _shown(context, finding.subject):
        paragraph(box, context, f"'{finding.subject.name}' is hidden.", "HIDE_ON")
    elif finding.subject.name != finding.part:
        paragraph(box, context, f"Now named '{finding.subject.name}'.", "FONT_DATA")
    if finding.exception:
        paragraph(box, context, f"Accepted: {finding.exception}", ACCEPTED_ICON)
    if finding.fix:
        paragraph(box, context, f"Mend: {window_words(finding.fix)}", "TOOL_SETTINGS")
    draw_mending(box, context, finding)
    if finding.motion:
        box.operator("dryfit.play_finding", text=_pose_label(finding), icon="PLAY")
    row = side_by_side(box, context, 2 * len("Go to Finding") + 2 * ICON)
    row.operator("dryfit.go_to_finding", icon="VIEWZOOM")
    if not finding.exception:
        row.operator_context = "INVOKE_DEFAULT"
        row.operator("dryfit.accept_finding", text="Accept...", icon=ACCEPTED_ICON)


def _shown(context: Any, subject: Any) -> bool:
    return subject.name in context.view_layer.objects and bool(subject.visible_get())


def _pose_label(finding: Any) -> str:
    return f"Play to {finding.motion.replace('_', ' ').capitalize()} {finding.t:.2f}"


class DRYFIT_OT_step_finding(bpy.types.Operator):
    """Go to the next or the previous finding"""

    bl_idname = "dryfit.step_finding"
    bl_label = "Step Through Findings"
    bl_options = {"REGISTER", "UNDO"}

    step: IntProperty(name="Step", default=1)

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need findings."""
        if not len(context.scene.dryfit.findings):
            cls.poll_message_set("Nothing has been found; run Check Fit first")
            return False
        return True

    def execute(self, context: Any) -> set[str]:
        """Pick it, going round at the ends."""
        bench = context.scene.dryfit
        places = listed_places(bench)
        if not places:
            self.report({"INFO"}, "Only notes were found; list them to go through them")
            return {"CANCELLED"}
        bench.picked = _step(places, bench.picked, self.step)
        return {"FINISHED"}


def _step(places: list[int], picked: int, step: int) -> int:
    """Return the listed place a step away from the pick, going round at the ends."""
    if picked in places:
        return places[(places.index(picked) + step) % len(places)]
    return places[0] if step > 0 else places[-1]


class DRYFIT_OT_go_to_finding(bpy.types.Operator):
    """Select the finding's piece and turn the view to it"""

    bl_idname = "dryfit.go_to_finding"
    bl_label = "Go to Finding"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a pick."""
        if picked_finding(context.scene.dryfit) is None:
            cls.poll_message_set("Pick a finding in the list first")
            return False
        return True

    def execute(self, context: Any) -> set[str]:
        """Go there."""
        bench = context.scene.dryfit
        if not show_finding(context, bench):
            self.report({"WARNING"}, "Its piece cannot be selected here; the view shows the place")
        return {"FINISHED"}


CLASSES = (DRYFIT_UL_findings, DRYFIT_OT_step_finding, DRYFIT_OT_go_to_finding, DRYFIT_PT_findings)
