"""The fitting's panel: run the checks, all or some, with progress; Esc stops and leaves nothing behind."""

import re
from typing import Any

import bpy
from bpy.props import StringProperty

from ..checks.registry import CHECKS
from ..checks.runner import chosen_checks
from ..model.finding import STATUS_WORDS, Status
from ..model.report import Report
from ..model.sentences import capital
from ..sitting.brief_beside import brief_beside
from ..sitting.next_steps import NextStep, first_steps, steps_for
from ..sitting.parts import role_counts
from ..sitting.words.finding_rows import count_words
from ..sitting.words.window_words import window_words
from . import errands
from .errands import Errand
from .freshening import freshening_words, show_report
from .guide import draw_guide_button
from .modal_job import RunsJob, Work, progress_now, running
from .naming import REGION, SPACE, TAB
from .needing import KeepsAnswer, base_missing
from .next_buttons import draw_steps
from .wording import STATUS_ICONS, check_word, letters_across, paragraph


class DRYFIT_OT_check_fit(RunsJob, KeepsAnswer, bpy.types.Operator):
    """Measure the design and list what is wrong with it; Esc stops and keeps the earlier results"""

    bl_idname = "dryfit.check_fit"
    bl_label = "Check Fit"
    bl_options = {"UNDO"}

    only: StringProperty(
        name="Only", description="Ids of the checks to run, separated by commas; empty runs all", default=""
    )

    @classmethod
    def description(cls, context: Any, properties: Any) -> str:
        """Tell what is asked: everything, or one check's question."""
        asked = next((check for check in CHECKS if check.id == properties.only), None)
        return f"{asked.question} Measure this alone; the others keep their results" if asked else (cls.__doc__ or "")

    def work(self, context: Any) -> Work:
        """Read the scene, measure it, and store the report in the file."""
        only = [name.strip() for name in self.only.split(",") if name.strip()] or None
        chosen_checks(only)
        design = yield from self.read(context)
        report = yield Errand(errands.check, (design.snapshot, design.brief, only))
        show_report(context, report, design)
        level, words = _summary(context.scene, report)
        self.report({level}, words)
        return {"FINISHED"}


def _summary(scene: Any, report: Report) -> tuple[str, str]:
    """Return the verdict on the whole design, what the list holds, and what has no answer that holds."""
    words = f"{STATUS_WORDS[scene.dryfit.verdict]}: {count_words(scene.dryfit)}"
    unmeasured = [check_word(check.id) for check in report.checks if check.status == Status.NOT_CHECKED]
    words += f"; not checked: {', '.join(unmeasured)}" if unmeasured else ""
    run = {check.id for check in report.checks}
    others = sum(row is None or _lacks(row) for name, row in _rows(scene).items() if name not in run)
    words += f"; {others} other check{'s have' if others != 1 else ' has'} no answer that holds now" if others else ""
    return "WARNING" if unmeasured else "INFO", words


def _rows(scene: Any) -> dict[str, Any]:
    """Return every check's row, or None where it was never run."""
    rows = scene.dryfit.checks
    return {check.id: rows.get(check.id) for check in CHECKS}


class DRYFIT_PT_fitting(bpy.types.Panel):
    """Run the checks."""

    bl_label = "Check"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_order = 0

    def draw_header_preset(self, context: Any) -> None:
        """Offer the guide."""
        draw_guide_button(self.layout)

    def draw(self, context: Any) -> None:
        """Show the run button or the run's progress, then the verdict."""
        layout = self.layout
        bench = context.scene.dryfit
        step = progress_now()
        if step is not None:
            layout.progress(factor=step.fraction, text=f"{100 * step.fraction:.0f} %")
            paragraph(layout, context, f"{capital(step.label)} · Esc stops")
            return
        row = layout.row()
        row.scale_y = 1.4
        row.operator_context = "INVOKE_DEFAULT"
        row.operator("dryfit.check_fit", text="Check Fit", icon="PLAY").only = ""
        if not bench.verdict:
            paragraph(layout, context, _next_step(context), "INFO")
            draw_steps(layout, first_steps(context.scene))
            return
        row = layout.row()
        row.label(text=f"Verdict: {STATUS_WORDS[bench.verdict]}", icon=STATUS_ICONS[bench.verdict])
        paragraph(layout, context, window_words(bench.headline))
        paragraph(layout, context, count_words(bench).capitalize(), "BLANK1")
        for words, icon in _unanswered(context.scene):
            paragraph(layout, context, words, icon)


def _unanswered(scene: Any) -> list[tuple[str, str]]:
    """Return which checks have no answer that holds now and why, a sentence with an icon for each cause."""
    rows = _rows(scene)
    causes: dict[str, list[str]] = {}
    for name, row in rows.items():
        if row is not None and row.outdated:
            causes.setdefault(row.outdated, []).append(check_word(name))
    lines = [(f"{short_cause(cause)}. Check again: {_few(names)}.", "FILE_REFRESH") for cause, names in causes.items()]
    lacking = [name for name, row in rows.items() if row and not row.outdated and (_lacks(row) or row.reason)]
    unrun = [check_word(name) for name, row in rows.items() if row is None]
    lines += (
        [(f"Not answered in full, see Next Steps: {_few([*map(check_word, lacking)])}.", "QUESTION")] if lacking else []
    )
    return lines + ([(f"Not run: {', '.join(unrun)}.", "RADIOBUT_OFF")] if unrun else [])


def short_cause(cause: str) -> str:
    """Return why checks no longer hold with the first few things that changed; each row tells all."""
    said, mark, named = cause.partition(": ")
    changed = NEXT_NAME.split(named)
    more = f" and {len(changed) - NAMED} more" if len(changed) > NAMED else ""
    return f"{said}{mark}{', '.join(changed[:NAMED])}{more}"


def _few(names: list[str]) -> str:
    return ", ".join(names) if len(names) <= NAMED else f"{len(names)} checks"


def _lacks(row: Any) -> bool:
    return bool(row.status == Status.NOT_CHECKED)


def _next_step(context: Any) -> str:
    counts = role_counts(context.scene)
    if not counts["base"]:
        return base_missing(context.scene) if brief_beside(quiet=True).base.file else FIRST_BASE
    worn = sum(counts[role] for role in ("appliance", "hardware", "upper_teeth", "lower_teeth"))
    return "Nothing has been measured yet." if worn else THEN_PARTS


NAMED = 4
"""So many names are told, then how many there are."""
NEXT_NAME = re.compile(r", (?![^(]*\))")
FIRST_BASE = "First click the performer's head scan, then this:"
THEN_PARTS = "Next select what you sculpted over it, then say what it is:"


class DRYFIT_PT_next_steps(bpy.types.Panel):
    """What would let the checks answer that could not."""

    bl_label = "Next Steps"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_order = 2

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Stand there while a check that was run has no answer for want of something."""
        return not running and bool(_wanting(context.scene))

    def draw(self, context: Any) -> None:
        """Draw what each check lacks, with a button; one button for all checks that want the same."""
        shown: set[NextStep] = set()
        for row in _wanting(context.scene):
            words = window_words(row.reason)
            paragraph(self.layout, context, f"{check_word(row.name)}: {words}" if words else check_word(row.name),
                      "QUESTION")  # fmt: skip
            steps = [step for step in steps_for(context.scene, row.name, row.reason) if step not in shown]
            shown.update(steps)
            draw_steps(self.layout, steps)


def _wanting(scene: Any) -> list[Any]:
    """Return the rows of checks that still hold and lack something."""
    return [row for row in scene.dryfit.checks if row.reason and not row.outdated]


class DRYFIT_PT_checks(bpy.types.Panel):
    """Each check by itself."""

    bl_label = "Checks"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_parent_id = "DRYFIT_PT_fitting"
    bl_order = 1
    bl_options = {"DEFAULT_CLOSED"}

    def draw_header_preset(self, context: Any) -> None:
        """Tell how many came out how."""
        rows = _rows(context.scene).values()
        statuses = [row.status if row is not None else "not_checked" for row in rows]
        self.layout.label(text=_tally(statuses, letters_across(context) - BESIDE))

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Keep out of the way while running."""
        return not running

    def draw(self, context: Any) -> None:
        """List the checks with their last status; each can be run alone."""
        layout = self.layout
        layout.operator_context = "INVOKE_DEFAULT"
        layout.prop(context.scene.dryfit, "keep_fresh", text=freshening_words() or None)
        column = layout.column(align=True)
        for name, row in _rows(context.scene).items():
            _draw_check(column, context, name, row)


BESIDE = len("Checks") + 9
"""Letters that the panel's name takes, with its arrow, the handle at the right and the space between them."""


def _tally(statuses: list[str], room: int) -> str:
    """Return how many checks came out how, worst first, in as many letters as there is room for."""
    counts = [(STATUS_WORDS[status], statuses.count(status)) for status in Status]
    said = [f"{count} {word.lower()}" for word, count in counts[:3] if count] or [f"{counts[3][1]} pass"]
    ways = (" · ".join(said[:2]), said[0], "")
    return next(words for words in ways if len(words) <= max(room, 0))


def _draw_check(column: Any, context: Any, name: str, item: Any | None) -> None:
    row = column.row(align=True)
    status = item.status if item else ""
    row.label(text=check_word(name), icon=STATUS_ICONS.get(status, "RADIOBUT_OFF"))
    word = row.row(align=True)
    word.alignment = "RIGHT"
    word.label(text=STATUS_WORDS.get(status, "Not run"))
    word.operator("dryfit.check_fit", text="", icon="PLAY", emboss=False).only = name
    if item and item.reason:
        paragraph(column, context, window_words(item.reason), "BLANK1")


CLASSES = (DRYFIT_OT_check_fit, DRYFIT_PT_fitting, DRYFIT_PT_next_steps, DRYFIT_PT_checks)
