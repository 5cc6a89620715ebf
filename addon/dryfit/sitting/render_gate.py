"""Refuse or stamp renders by the stored verdict, where a scene asks for it.

``scene["dryfit_at_render"]`` says what happens, and is read without Dryfit too:

===================== =====================================================================================
``stamp``             every render carries the verdict in its stamp note and metadata
``refuse_fail``       a design that fails, or that was not measured as it is now, is not rendered
``refuse_review``     the same, and nor is one that needs a person's eye
===================== =====================================================================================

Renders that a gate lets through are stamped. What a render changes in the scene is put back when it ends. A stored
report that is older than a change of the design counts as not measured (see ``standing``).

Blender offers no way to stop a render from a handler. So a refused scene is handed to a render engine of our own,
which renders nothing and reports the reason as its error: Blender then ends the job by itself, writes no file, and
raises in scripts. In a window the job runs in a thread, where changing the engine would crash Blender: there the
render's border is closed to nothing, Blender ends the job as too small, and a pop-up tells the reason.
"""

import os
import sys
import textwrap
import threading
import traceback
from functools import partial
from typing import Any

import bpy

from ..model.gate import AT_RENDER, REFUSE, RENDER_CHOICES, holds_back
from ..model.plain_text import plain_text
from .patient_loan import PatientLoan
from .standing import Standing, standing

ENGINE = "DRYFIT_REFUSAL"
RENDER_OPTIONS = ("-f", "--render-frame", "-a", "--render-anim")
REFUSED_CODE = 1
NO_AREA = {"border_min_x": 0.0, "border_max_x": 0.0, "use_border": True}
TELL_SECONDS = 0.3
FAULT = "Dryfit refused the render: it could not tell how the design stands, a fault in Dryfit; please report it"
_borrowed = PatientLoan()
_refused: list[str] = []


def refusal(wanted: str, found: Standing) -> str:
    """Return why a render is refused, or ``""``.

    Parameters
    ----------
    wanted
        What the scene asks for.
    found
        How its design stands.
    """
    if wanted not in RENDER_CHOICES:
        return (
            f'Dryfit refused the render: scene["{AT_RENDER}"] is {wanted!r}; set one of {", ".join(RENDER_CHOICES[1:])}'
        )
    if not wanted.startswith(REFUSE):
        return ""
    if not found.fresh:
        return f"Dryfit refused the render: the design counts as not checked, because it was {found.why}"
    if holds_back(found.verdict, wanted.removeprefix(REFUSE)):
        counts = f" ({found.stamp.findings})" if found.stamp.findings else ""
        return f"Dryfit refused the render: the verdict is {found.verdict}{counts}; mend or accept the findings"
    return ""


def render_begins(scene: Any, *_: Any) -> None:
    """Refuse or stamp, as the handler of a render's start."""
    if _on_main_thread():
        render_ended()
    wanted = str(scene.get(AT_RENDER) or "")
    if not wanted or scene.render.engine == ENGINE:
        return
    try:
        found = standing(scene)
    except Exception:
        # Blender renders on after a handler's error: a gate must hold then too.
        traceback.print_exc()
        _refuse(scene, FAULT)
        return
    why = refusal(wanted, found)
    if why:
        _refuse(scene, why)
        return
    _stamp(scene.render, found.stamp.line())


def _refuse(scene: Any, why: str) -> None:
    _refused.append(why)
    if _on_main_thread():
        _borrowed.set(scene.render, "engine", ENGINE)
        return
    for name, value in NO_AREA.items():
        _borrowed.set(scene.render, name, value)


def _on_main_thread() -> bool:
    return threading.current_thread() is threading.main_thread()


def _stamp(render: Any, line: str) -> None:
    """Put a line into the stamp's note, after what the user wrote there if that note was in use."""
    note = render.stamp_note_text if render.use_stamp_note else ""
    _borrowed.set(render, "use_stamp_note", True)
    _borrowed.set(render, "stamp_note_text", f"{note}  {line}" if note else line)


def render_ended(*_: Any) -> None:
    """Put back what a render changed, as the handler of its end or cancelling."""
    if _refused and not _on_main_thread():
        return
    _borrowed.close()
    if _refused and asked_on_command_line():
        print(plain_text(_refused[0]), file=sys.stderr, flush=True)
        sys.stdout.flush()
        os._exit(REFUSED_CODE)
    _refused.clear()


def tell_refusal() -> float:
    """Put back what a refusal in the window changed and tell its reason, as a timer: no handler ends every job."""
    if _refused and not bpy.app.is_job_running("RENDER"):
        words = _refused[0]
        _borrowed.close()
        _refused.clear()
        print(plain_text(words), file=sys.stderr, flush=True)
        manager = bpy.context.window_manager
        with bpy.context.temp_override(window=manager.windows[0]):
            manager.popup_menu(partial(_draw_refusal, words), title="Render Refused", icon="CANCEL")
    return TELL_SECONDS


def _draw_refusal(words: str, menu: Any, _context: Any) -> None:
    for line in textwrap.wrap(words, 90):
        menu.layout.label(text=line)


def asked_on_command_line() -> bool:
    """Tell whether Blender itself was started to render, so that only its exit code can tell what happened."""
    own = sys.argv[: sys.argv.index("--")] if "--" in sys.argv else sys.argv
    return bool(bpy.app.background and bpy.app.binary_path and set(own) & set(RENDER_OPTIONS))


class DryfitRefusal(bpy.types.RenderEngine):  # type: ignore[misc]  # bpy carries no types
    """Renders nothing and says why."""

    bl_idname = ENGINE
    bl_label = "Refused by Dryfit"
    bl_use_preview = False

    def render(self, depsgraph: Any) -> None:
        """End the job with the reason as its error."""
        self.report({"ERROR"}, _refused[0] if _refused else "Choose a render engine; this one renders nothing")


HANDLERS = (("render_init", render_begins), ("render_complete", render_ended), ("render_cancel", render_ended))


def watch_renders() -> None:
    """Install the gate, once."""
    stop_watching_renders()
    bpy.utils.register_class(DryfitRefusal)
    for name, handler in HANDLERS:
        getattr(bpy.app.handlers, name).append(bpy.app.handlers.persistent(handler))
    if not bpy.app.background:
        bpy.app.timers.register(tell_refusal, persistent=True)


def stop_watching_renders() -> None:
    """Take the gate away, also one left by an earlier load of this module."""
    for name, handler in HANDLERS:
        installed = getattr(bpy.app.handlers, name)
        for each in [one for one in installed if _same(one, handler)]:
            installed.remove(each)
    if bpy.app.timers.is_registered(tell_refusal):
        bpy.app.timers.unregister(tell_refusal)
    if DryfitRefusal.is_registered:
        bpy.utils.unregister_class(DryfitRefusal)


def _same(one: Any, other: Any) -> bool:
    return bool(one.__module__ == other.__module__ and one.__qualname__ == other.__qualname__)
