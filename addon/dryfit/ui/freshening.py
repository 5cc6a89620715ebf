"""Rows that freshen by themselves: once the hand rests, what a stroke changed is measured again beside the interface.

A timer does it, a turn at a tick: it reads the design as Check Fit does, or takes what was sculpted out of the mesh in
the hand, has the outdated checks run in the process beside Blender, and shows their rows. Whatever changes the design
meanwhile ends it, and so does any job that is asked for. Without a window nothing happens by itself.
"""

import time
import traceback
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import bpy

from ..model.progress import Job, Progress
from ..model.report import Report
from ..sitting.changes import settle
from ..sitting.freshness import look, prints_known, touched_at
from ..sitting.paint_switch import refresh_paint
from ..sitting.posed_view import player
from ..sitting.redraw import redraw_sidebars, redraw_views
from ..sitting.still_true.design_reading import DesignRead, is_held, steady_design
from ..sitting.still_true.stroked import after_strokes
from ..sitting.stored_report import store_report
from . import errands
from .beside import Beside
from .errands import Errand
from .modal_job import running
from .refusals import MEANT_FOR_USERS

REST_SECONDS = 0.3
"""Nothing was touched for so long: the stroke is over."""
TICK_SECONDS = 0.05


@dataclass
class Round:
    """What is measured again.

    Attributes
    ----------
    scene
        The scene's name.
    since
        When it was last seen to be the same design.
    prints
        What the design was made of when the round began.
    only
        The checks that no longer held.
    reading
        The design being read; None once it was.
    design
        What was read.
    beside
        What measures it.
    """

    scene: str
    since: float
    prints: Mapping[str, str]
    only: list[str]
    reading: Job[DesignRead | None] | None = None
    design: DesignRead | None = None
    beside: Beside | None = None

    def end(self) -> None:
        """Stop, wherever it is."""
        if self.reading is not None:
            self.reading.close()
        if self.beside is not None:
            self.beside.stop()


@dataclass
class _LastRead:
    """The design that was read last in which scene, and the touch after which nothing was to be done any more."""

    scene: str = ""
    design: DesignRead | None = None
    settled: float = -1.0


_rounds: list[Round] = []
_known = _LastRead()


def show_report(context: Any, report: Report, design: DesignRead) -> None:
    """Keep a report with what it was measured from, and show it; the design stays known where rows keep fresh."""
    if context.scene.dryfit.keep_fresh:
        _known.scene, _known.design = context.scene.name, design
    store_report(context.scene, report, design.prints)
    refresh_paint(context.scene)
    settle(context)
    redraw_views()


def freshening_words() -> str:
    """Return what the switch says while something is measured again; ``""`` else."""
    if not _rounds:
        return ""
    beside = _rounds[0].beside
    return f"Keep Fresh: {100 * beside.step.fraction:.0f} %" if beside is not None else "Keep Fresh: reading"


def tick() -> float:
    """Go on with what is measured again, or begin it, as a timer; return the seconds until the next tick."""
    try:
        turn(bpy.context)
    except MEANT_FOR_USERS:
        _give_up()  # the rows go on saying that they are older
    except Exception:
        _give_up()
        traceback.print_exc()
    return TICK_SECONDS


def turn(context: Any) -> None:
    """Take one turn.

    Raises
    ------
    InputError, OSError
        When the design cannot be read or measured.
    """
    if _rounds and not _goes_on(context, _rounds[0]):
        _stop_round()
    if _rounds:
        _go_on(context, _rounds[0])
    elif _is_due(context):
        _begin(context)


def _goes_on(context: Any, now: Round) -> bool:
    """Tell whether the design is still the one that is measured, and nobody wants the machine for something else."""
    scene = context.scene
    if scene is None or scene.name != now.scene or not scene.dryfit.keep_fresh or not _is_free(context):
        return False
    touched = touched_at()
    if touched > now.since:
        if prints_known(context.scene) != now.prints:
            return False
        now.since = touched
    return True


def _is_free(context: Any) -> bool:
    """Tell whether the hand and the machine are: no job, no tool at work, nothing that plays or renders."""
    if running or player() is not None or context.scene.library is not None:
        return False
    windows = context.window_manager.windows
    if any(window.modal_operators or window.screen.is_animation_playing for window in windows):
        return False
    return not bpy.app.is_job_running("RENDER")


def _is_due(context: Any) -> bool:
    if context.scene is None or not context.scene.dryfit.keep_fresh:
        return False
    touched = touched_at()
    rests = touched != _known.settled and time.monotonic() - touched >= REST_SECONDS
    return rests and bool(len(context.scene.dryfit.checks)) and _is_free(context)


def _begin(context: Any) -> None:
    """Begin a round where rows are outdated."""
    scene = context.scene
    _known.settled = touched_at()
    look(scene)
    only = [row.name for row in scene.dryfit.checks if row.outdated]
    if not only:
        return
    prints = prints_known(scene)
    begun = Round(scene.name, _known.settled, prints, only)
    if is_held(context):
        before = _known.design if _known.scene == scene.name else None
        begun.design = after_strokes(scene, before, prints) if before is not None else None
        if begun.design is None:
            return
    else:
        begun.reading = steady_design(context)
    _rounds.append(begun)


def _go_on(context: Any, now: Round) -> None:
    if now.reading is not None:
        _read_on(now)
    elif now.beside is None:
        assert now.design is not None
        given = (now.design.snapshot, now.design.brief, now.only)
        now.beside = Beside(Errand(errands.check, given), Progress(0, 1, "Keep Fresh"))
    elif now.beside.finished:
        _rounds.clear()
        assert now.design is not None
        show_report(context, now.beside.answer(), now.design)
    if not now.reading:
        redraw_sidebars()


def _read_on(now: Round) -> None:
    """Read for a turn; a design that changed meanwhile is for the next round."""
    assert now.reading is not None
    try:
        next(now.reading)
    except StopIteration as finished:
        now.reading, now.design = None, finished.value
        if now.design is None:
            _stop_round()


def _stop_round() -> None:
    """End what is measured; the next round begins when the hand rests."""
    _known.settled = -1.0
    _give_up()


def _give_up() -> None:
    """End what is measured until something is touched again."""
    while _rounds:
        _rounds.pop().end()
    redraw_sidebars()


def start() -> None:
    """Freshen from now on, in a window."""
    stop()
    if not bpy.app.background:
        bpy.app.timers.register(tick, persistent=True)


def stop() -> None:
    """Freshen no more."""
    if bpy.app.timers.is_registered(tick):
        bpy.app.timers.unregister(tick)
    _give_up()
    _known.scene, _known.design = "", None
