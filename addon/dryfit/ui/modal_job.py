"""Run a long job from an operator: beside the interface, shown as progress, ended by Esc."""

import time
from collections.abc import Callable, Generator
from functools import partial
from typing import Any

from ..model.progress import Progress, drain
from ..sitting.redraw import redraw_sidebars, redraw_views, settle_sidebars
from ..sitting.still_true.design_reading import DesignRead, design_in_turns, read_design
from .beside import Beside, InThread, begun
from .errands import Errand
from .refusals import MEANT_FOR_USERS

TICK_SECONDS = 0.03
TICKS_TO_DRAW = 2
"""So many ticks pass before the scene is read: the window draws meanwhile that something runs."""
READING = "Reading the design"
SHOW_SECONDS = 0.2
BLOCKED = ("LEFTMOUSE", "RIGHTMOUSE", "RET", "SPACE", "TAB", "DEL", "X", "Z")
"""Events that could change the scene are held back while a job measures it."""
BUSY = "A run is in progress; Esc stops it"
running: list["RunsJob"] = []
"""The operator whose job runs, for the panels to show; empty otherwise."""

Work = Generator[Progress | Errand, Any, set[str]]
"""What an operator does, in turns. A step ends a turn. An errand is run, and its answer comes back, or its refusal is
raised there. What was left half done is put right in a ``finally``, where Esc ends it."""


class RunsJob:
    """What an operator needs to run a job; it says what there is to do."""

    step: Progress
    beside: Beside | InThread | None
    report: Any
    in_window = False

    def work(self, context: Any) -> Work:
        """Do what there is to do and return the operator's result.

        Blender's objects are looked up again after each turn: undo may have replaced them.
        """
        raise NotImplementedError

    def read(self, context: Any, moving: bool = True) -> Generator[Progress, None, DesignRead]:
        """Read the design, in turns where somebody waits; its motions only where they are wanted.

        Raises
        ------
        InputError, OSError
            When it cannot be read.
        """
        return (yield from design_in_turns(context, moving)) if self.in_window else read_design(context, moving)

    def execute(self, context: Any) -> set[str]:
        """Run to the end at once, as scripts do."""
        self.in_window = False
        try:
            return done_at_once(self.work(context))
        except MEANT_FOR_USERS as error:
            return self._refuse(error)
        finally:
            settle_sidebars()

    def invoke(self, context: Any, event: Any) -> set[str]:
        """Show at once that something runs; what it needs is read after that is on the screen."""
        self.in_window, self.beside = True, None
        self.step = Progress(0, 1, READING)
        self.scene_name = context.scene.name
        self.shown_at, self.ticks = 0.0, 0
        self.doing = self.work(context)
        self.timer = context.window_manager.event_timer_add(TICK_SECONDS, window=context.window)
        context.window_manager.progress_begin(0, 100)
        context.window_manager.modal_handler_add(self)
        running.append(self)
        redraw_sidebars()
        return {"RUNNING_MODAL"}

    def modal(self, context: Any, event: Any) -> set[str]:
        """Go on at each tick; Esc ends it."""
        if event.type == "ESC" and event.value == "PRESS":
            self._end(context)
            self.report({"INFO"}, "Stopped; the earlier results are kept")
            return {"CANCELLED"}
        if event.type != "TIMER":
            return {"RUNNING_MODAL"} if event.type in BLOCKED else {"PASS_THROUGH"}
        try:
            done = self._tick(context)
        except MEANT_FOR_USERS as error:
            self._end(context)
            return self._refuse(error)
        except BaseException:
            self._end(context)
            raise
        if done is None:
            self._show(context)
            return {"RUNNING_MODAL"}
        self._end(context)
        return done

    def cancel(self, context: Any) -> None:
        """Stop when Blender closes the file or the window."""
        self._end(context)

    def _show(self, context: Any) -> None:
        """Show the progress, a few times a second: drawing must not take longer than measuring."""
        now = time.perf_counter()
        if now - self.shown_at > SHOW_SECONDS:
            self.shown_at = now
            context.window_manager.progress_update(int(100 * self.step.fraction))
            redraw_sidebars()

    def _tick(self, context: Any) -> set[str] | None:
        """Take a turn once the first sign of life was drawn; return the operator's result when there is one."""
        self.ticks += 1
        if self.ticks <= TICKS_TO_DRAW:
            return None
        if self.beside is not None and not self.beside.finished:
            self.step = self.beside.step
            return None
        if context.scene.name != self.scene_name:
            self.report({"WARNING"}, "Another scene is shown now; run it again there")
            return {"CANCELLED"}
        try:
            self._go_on()
        except StopIteration as finished:
            result: set[str] = finished.value
            return result
        return None

    def _go_on(self) -> None:
        """Give the work the answer that it waits for, if it does, and take up what it asks for next."""
        waited, self.beside = self.beside, None
        asked = _answered(self.doing, waited.answer) if waited is not None else next(self.doing)
        if isinstance(asked, Errand):
            self.beside = begun(asked, self.step)

    def _end(self, context: Any) -> None:
        running.clear()
        if self.beside is not None:
            self.beside.stop()
        self.doing.close()
        context.window_manager.event_timer_remove(self.timer)
        context.window_manager.progress_end()
        redraw_views()
        settle_sidebars()

    def _refuse(self, error: BaseException) -> set[str]:
        self.report({"ERROR"}, str(error))
        return {"CANCELLED"}


def done_at_once(work: Work) -> set[str]:
    """Do the work to its end, each errand when it is asked for, and return the operator's result.

    Raises
    ------
    BaseException
        Whatever the work raises.
    """
    asked = None
    try:
        while True:
            asked = _answered(work, partial(drain, asked.started())) if isinstance(asked, Errand) else next(work)
    except StopIteration as finished:
        result: set[str] = finished.value
        return result
    finally:
        work.close()


def _answered(work: Work, answer_of: Callable[[], Any]) -> Progress | Errand:
    """Hand the work what an errand came to, and return what it asks for next."""
    try:
        answer = answer_of()
    except BaseException as error:
        return work.throw(error)
    return work.send(answer)


def is_busy(operator: Any) -> bool:
    """Tell, as part of an operator's poll, whether a job is in progress; the tooltip says so then."""
    if running:
        operator.poll_message_set(BUSY)
    return bool(running)


def progress_now() -> Progress | None:
    """Return how far the job in progress is, or None."""
    return running[0].step if running else None
