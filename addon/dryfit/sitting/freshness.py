"""Keep what the sidebar shows in line with the scene: look again when the hand rests, never while it moves.

What Blender reports of a change is only noted, in microseconds. A timer looks when nothing was touched for a moment,
and now and then without a reason, because roles, figures and the brief on disk change without a word from Blender. A
look reads only the shapes that were touched. Without a window no timer runs and nobody waits: there it looks at once.
"""

import time
import traceback
from collections.abc import Iterable
from contextlib import nullcontext
from dataclasses import dataclass
from typing import Any

import bpy

from ..model.errors import DryfitError
from ..model.progress import Job, Progress
from ..scene.locking import FINGERPRINT
from ..scene.roles import played_roles
from ..scene.staging import object_mode
from .base_drift import compare_with_lock, forget_drifts
from .open_design import scene_brief
from .parts import scene_base
from .redraw import redraw_views, settle_sidebars
from .room.room_prints import room_outdated, weight_outdated
from .standing import reasons_now
from .still_true.check_rows import show_rows, shown_reasons
from .still_true.design_prints import design_prints
from .still_true.shape_prints import ShapePrints
from .stored_report import stored_report

REST_SECONDS = 0.4
"""Nothing was touched for so long: the hand rests."""
PATIENCE_SECONDS = 3.0
"""After so long it looks although something is touched on and on."""
IDLE_SECONDS = 2.0
"""So often it looks without a reason."""
SHARE = 50.0
"""And so many times as long as a look takes: a fiftieth of the time at most goes on looking without a reason."""
FAULT = "Dryfit could not tell whether this still holds, a fault in Dryfit; please report it"


@dataclass
class _Clock:
    """When something was touched first and last since the last look, and when the next look without a reason is due."""

    first: float = 0.0
    last: float = 0.0
    due: float = 0.0


@dataclass
class _Touch:
    """When something was touched last, whatever was looked at since."""

    at: float = 0.0


_shapes = ShapePrints()
_touch = _Touch()
_clock = _Clock()


def note_touched(items: Iterable[Any]) -> None:
    """Note that objects may have another shape now, and that a look is due."""
    for item in items:
        _shapes.touch(item)
    look_soon()


def look_soon() -> None:
    """Let the next look come as soon as the hand rests."""
    now = _touch.at = time.monotonic()
    _clock.first, _clock.last = _clock.first or now, now


def rests() -> bool:
    """Tell whether nothing was touched since the last look."""
    return not _clock.last


def look(scene: Any, thoroughly: bool = False) -> None:
    """Bring the rows and the verdict in line with the scene; nothing is measured.

    Parameters
    ----------
    thoroughly
        Read every shape again, also those that Blender reported no change of.
    """
    if scene.library is not None or not (len(scene.dryfit.checks) or scene.dryfit.room_on):
        return
    if thoroughly:
        _shapes.doubt()
    _look_at_room(scene)
    if not len(scene.dryfit.checks):
        return
    reasons = _reasons(scene)
    if thoroughly or reasons != shown_reasons(scene):
        show_rows(scene, stored_report(scene), reasons)
        redraw_views()
        settle_sidebars()


def _look_at_room(scene: Any) -> None:
    """Bring what is said of the room's age in line with the scene."""
    bench = scene.dryfit
    if not bench.room_on:
        return
    try:
        now = room_outdated(scene, _shapes), weight_outdated(scene, _shapes)
    except Exception:
        traceback.print_exc()
        now = FAULT, FAULT
    if now != (bench.room_outdated, bench.room_weight_outdated):
        bench.room_outdated, bench.room_weight_outdated = now
        redraw_views()
        settle_sidebars()


def look_at_lock(scene: Any) -> None:
    """Compare the base with its lock where it is another one than the last time, whether anything was checked or not.

    Nothing happens while a tool holds something: reading the base at rest would take it out of the hand.
    """
    base = scene_base(scene)
    if base is None or scene.library is not None or not base.get(FINGERPRINT):
        return
    try:
        prints = design_prints(scene, _shapes)
    except (DryfitError, OSError):
        return
    if compare_with_lock(bpy.context, base, prints):
        redraw_views()


def _reasons(scene: Any) -> dict[str, str]:
    try:
        return reasons_now(scene, [row.name for row in scene.dryfit.checks], _shapes)
    except Exception:
        # A sidebar that cannot tell must not go on saying what it said.
        traceback.print_exc()
        return {row.name: FAULT for row in scene.dryfit.checks}


def look_again_soon() -> None:
    """Doubt every shape and look as soon as the hand rests; without a window, at once."""
    _shapes.doubt()
    look_soon()
    if bpy.app.background:
        for scene in bpy.data.scenes:
            look(scene)


def prints_now(context: Any) -> dict[str, str]:
    """Return what the open design is made of, for what is measured from it now; every shape is read.

    Raises
    ------
    InputError, OSError
    """
    _shapes.doubt()
    with object_mode(context) if _shapes.held(context.scene.objects) else nullcontext():
        return design_prints(context.scene, _shapes)


def prints_in_turns(context: Any, turn_seconds: float) -> Job[dict[str, str]]:
    """Work out ``prints_now``, a step after each turn; for scenes whose shapes no tool holds.

    Raises
    ------
    InputError, OSError
    """
    _shapes.doubt()
    names = [each.object.name for each in played_roles(context.scene.objects, scene_brief(context.scene))]
    since = time.perf_counter()
    for place, name in enumerate(names):
        item = context.scene.objects.get(name)
        if item is not None:
            _shapes.of(item)
        if time.perf_counter() - since > turn_seconds:
            yield Progress(place + 1, len(names), name)
            since = time.perf_counter()
    return design_prints(context.scene, _shapes)


def vouch_for_shapes(scene: Any) -> None:
    """Take shapes that a tool holds for those that were read last: going back to its mode changed nothing."""
    _shapes.vouch(scene.objects)


def touched_at() -> float:
    """Return when something was touched last, in seconds of ``time.monotonic``."""
    return _touch.at


def prints_known(scene: Any) -> dict[str, str]:
    """Return what the open design is made of as far as Blender told; only shapes that were touched are read.

    Raises
    ------
    InputError, OSError
    """
    return design_prints(scene, _shapes)


def tick() -> float:
    """Look at what the windows show when it is time, as a timer; return the seconds until it is to be asked again."""
    now = time.monotonic()
    windows = bpy.context.window_manager.windows
    if _is_time(now) and not any(window.screen.is_animation_playing for window in windows):
        _clock.first = _clock.last = 0.0
        for scene in {window.scene for window in windows}:
            look(scene)
        look_at_lock(bpy.context.scene)
        _clock.due = now + max(IDLE_SECONDS, SHARE * (time.monotonic() - now))
    return REST_SECONDS / 2.0


def _is_time(now: float) -> bool:
    """Tell whether a look is due: some rest after a touch, or long enough after the last look."""
    if not _clock.last:
        return now >= _clock.due
    return now - _clock.last >= REST_SECONDS or now - _clock.first >= PATIENCE_SECONDS


def start_looking() -> None:
    """Look from time to time, in a window."""
    stop_looking()
    if not bpy.app.background:
        bpy.app.timers.register(tick, persistent=True)


def stop_looking() -> None:
    """Look no more."""
    if bpy.app.timers.is_registered(tick):
        bpy.app.timers.unregister(tick)
    _shapes.forget()
    forget_drifts()
