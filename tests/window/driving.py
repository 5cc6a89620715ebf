"""Drive a Blender window from a timer: a script of steps that waits, clicks, types and takes pictures.

Runs inside Blender. A script is a generator that yields how many seconds to wait before it goes on.
"""

import os
import subprocess
import sys
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path

import bpy

PICTURES = Path("/srv/pictures")
Steps = Iterator[float]
PATIENCE = 3000.0
"""Seconds within which whatever is waited for must come, on a machine with any number of others at work."""


def play(script: Callable[[], Steps]) -> None:
    """Play the script once the window is there, and end Blender with 0, or with 1 where the script failed."""
    bpy.context.preferences.view.show_splash = False
    running = script()

    def go_on() -> float | None:
        try:
            return next(running)
        except StopIteration:
            print("WINDOW SCRIPT FINISHED", flush=True)
            bpy.ops.wm.quit_blender()
        except Exception:
            traceback.print_exc()
            picture("failed")
            sys.stdout.flush()
            os._exit(1)
        return None

    bpy.app.timers.register(go_on, first_interval=1.0, persistent=True)


def picture(name: str) -> None:
    """Photograph the whole screen."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    subprocess.run(["import", "-window", "root", str(PICTURES / f"{name}.png")], check=True)


def viewport() -> tuple[bpy.types.Window, bpy.types.Area, bpy.types.Region]:
    """Return the window, its first 3D viewport and that viewport's main region."""
    window = bpy.context.window_manager.windows[0]
    area = next(area for area in window.screen.areas if area.type == "VIEW_3D")
    return window, area, region_of(area, "WINDOW")


def region_of(area: bpy.types.Area, kind: str) -> bpy.types.Region:
    """Return an area's region of a kind."""
    return next(region for region in area.regions if region.type == kind)


def in_view() -> object:
    """Return a context override for operators that need the viewport."""
    window, area, region = viewport()
    return bpy.context.temp_override(window=window, area=area, region=region)


def face_front() -> None:
    """Look at the base from the front, as large as the view allows."""
    with in_view():
        bpy.ops.view3d.view_axis(type="FRONT")
        for item in bpy.data.objects:
            item.select_set(item.get("dryfit_role") == "base")
        bpy.ops.view3d.view_selected()
        bpy.ops.object.select_all(action="DESELECT")


def open_sidebar() -> Steps:
    """Open the sidebar on Dryfit's tab."""
    _, area, _ = viewport()
    area.spaces.active.show_region_ui = True
    area.spaces.active.show_region_toolbar = False
    yield 0.5
    region_of(area, "UI").active_panel_category = "Dryfit"
    area.tag_redraw()
    yield 0.5


def fill_window_with_viewport() -> Steps:
    """Leave only the 3D viewport in the window."""
    with in_view():
        bpy.ops.screen.screen_full_area(use_hide_panels=False)
    yield 0.5


def click(x: int, y: int, button: str = "LEFTMOUSE") -> Steps:
    """Move there and click, as a hand would."""
    window = bpy.context.window_manager.windows[0]
    window.event_simulate(type="MOUSEMOVE", value="NOTHING", x=x, y=y)
    yield 0.1
    window.event_simulate(type=button, value="PRESS", x=x, y=y)
    yield 0.1
    window.event_simulate(type=button, value="RELEASE", x=x, y=y)
    yield 0.3


def drag(path: list[tuple[int, int]], button: str = "LEFTMOUSE", **modifiers: bool) -> Steps:
    """Press a button at the first place, move along the path, and let go."""
    window = bpy.context.window_manager.windows[0]
    x, y = path[0]
    window.event_simulate(type="MOUSEMOVE", value="NOTHING", x=x, y=y, **modifiers)
    yield 0.1
    window.event_simulate(type=button, value="PRESS", x=x, y=y, **modifiers)
    yield 0.05
    for x, y in path[1:]:
        window.event_simulate(type="MOUSEMOVE", value="NOTHING", x=x, y=y, **modifiers)
        yield 0.03
    window.event_simulate(type=button, value="RELEASE", x=x, y=y, **modifiers)
    yield 0.3


def press(key: str, **modifiers: bool) -> Steps:
    """Press and let go of a key over the middle of the viewport."""
    window, _, region = viewport()
    x, y = region.x + region.width // 2, region.y + region.height // 2
    window.event_simulate(type="MOUSEMOVE", value="NOTHING", x=x, y=y)
    yield 0.1
    window.event_simulate(type=key, value="PRESS", x=x, y=y, **modifiers)
    yield 0.05
    window.event_simulate(type=key, value="RELEASE", x=x, y=y, **modifiers)
    yield 0.3


def until(condition: Callable[[], object], seconds: float, what: str) -> Steps:
    """Wait until something is so.

    Raises
    ------
    AssertionError
        When it is not after that many seconds.
    """
    waited = 0.0
    while not condition():
        assert waited < seconds, f"after {seconds} s: not {what}"
        yield 0.2
        waited += 0.2


def settled() -> Steps:
    """Wait until the sidebar lies where it belongs and the last change was looked at."""
    from dryfit.sitting import freshness, redraw

    yield 0.3
    yield from until(lambda: not redraw.settling() and freshness.rests(), PATIENCE, "settled")
    yield 0.2


def narrow_sidebar(scale: float) -> Steps:
    """Drag the sidebar's edge until it is as narrow as Blender lets it be; before 5.0 simulated events drag no edges.

    Raises
    ------
    AssertionError
        When it is as wide as before.
    """
    sidebar = region_of(viewport()[1], "UI")
    edge, middle, before = sidebar.x, sidebar.y + sidebar.height // 2, sidebar.width
    yield from drag([(edge, middle), (edge + 10, middle), (edge + int(70 * scale), middle)])
    yield 0.5
    now = region_of(viewport()[1], "UI").width
    print("sidebar", before, "pixels, then", now, flush=True)
    assert now < before or bpy.app.version < (5, 0, 0), f"the sidebar stays {before} pixels wide"
