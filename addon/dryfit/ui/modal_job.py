"""Run a long job from an operator: beside the interface, shown as progress, ended by Esc."""

import time
from collections.abc import Mapping
from typing import Any

from ..model.progress import Progress, drain
from ..sitting.redraw import redraw_sidebars, redraw_views, settle_sidebars
from .beside import Beside
from .errands import Errand
from .refusals import MEANT_FOR_USERS

TICK_SECONDS = 0.03
TICKS_TO_DRAW = 2
"""So many ticks pass before the scene is read: the window draws meanwhile that something runs."""
READING = "Reading the design"
SHOW_SECONDS = 0.2
BLOCKED = ("LEFTMOUSE", "RIGHTMOUSE", "RET", "SPACE", "TAB", "DEL", "X", "Z")
"""Events that could change the scene are held back while a job measures it."""
running: list["RunsJob"] = []
"""The operator whose job runs, for the panels to show; empty otherwise."""


class RunsJob:
    """What an operator needs to run a job; it says which job and what to do with the answer."""

    beside: Beside | None
    step: Progress
    prints: Mapping[str, str]
    """What the job measures from, taken when it is read."""
    report: Any

    def start(self, context: Any) -> Errand:
        """Read what the job works on and return both."""
        raise NotImplementedError

    def keep(self, context: Any, answer: Any) -> set[str]:
        """Do something with the answer and return the operator's result."""
        raise NotImplementedError

    def execute(self, context: Any) -> set[str]:
        """Run to the end at once, as scripts do."""
        try:
            return self.keep(context, drain(self.start(context).started()))
        except MEANT_FOR_USERS as error:
            return self._refuse(error)

    def invoke(self, context: Any, event: Any) -> set[str]:
        """Show at once that something runs; what it needs is read at the first tick, after that is on the screen."""
        self.beside = None
        self.step = Progress(0, 1, READING)
        self.scene_name = context.scene.name
        self.shown_at, self.ticks = 0.0, 0
        self.timer = context.window_manager.event_timer_add(TICK_SECONDS, window=context.window)
        context.window_manager.progress_begin(0, 100)
        context.window_manager.modal_handler_add(self)
        running.append(self)
        redraw_sidebars()
        return {"RUNNING_MODAL"}

    def modal(self, context: Any, event: Any) -> set[str]:
        """Look at the job at each tick; Esc ends it."""
        if event.type == "ESC" and event.value == "PRESS":
            self._end(context)
            self.report({"INFO"}, "Stopped; the earlier results are kept")
            return {"CANCELLED"}
        if event.type != "TIMER":
            return {"RUNNING_MODAL"} if event.type in BLOCKED else {"PASS_THROUGH"}
        try:
            finished = self._tick(context)
            answer = self.beside.answer() if finished and self.beside is not None else None
        except MEANT_FOR_USERS as error:
            self._end(context)
            return self._refuse(error)
        except BaseException:
            self._end(context)
            raise
        if not finished:
            self._show(context)
            return {"RUNNING_MODAL"}
        self._end(context)
        if context.scene.name != self.scene_name:
            self.report({"WARNING"}, "Another scene is shown now; run it again there")
            return {"CANCELLED"}
        return self.keep(context, answer)

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

    def _tick(self, context: Any) -> bool:
        """Send the errand off once the first sign of life was drawn; return whether it is finished."""
        self.ticks += 1
        if self.beside is None:
            if self.ticks > TICKS_TO_DRAW:
                self.beside = Beside(self.start(context), self.step)
            return False
        self.step = self.beside.step
        return self.beside.finished

    def _end(self, context: Any) -> None:
        running.clear()
        if self.beside is not None:
            self.beside.stop()
        context.window_manager.event_timer_remove(self.timer)
        context.window_manager.progress_end()
        redraw_views()
        settle_sidebars()

    def _refuse(self, error: BaseException) -> set[str]:
        self.report({"ERROR"}, str(error))
        return {"CANCELLED"}


def progress_now() -> Progress | None:
    """Return how far the job in progress is, or None."""
    return running[0].step if running else None
