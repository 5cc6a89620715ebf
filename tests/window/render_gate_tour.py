"""Render from a window, where the job runs in a thread of its own: refused, stamped, refused again; nothing is left.

Runs inside Blender. The viewport renders at the same time, so that the job and the window get in each other's way.
"""

import sys
from pathlib import Path

sys.path[:0] = ["/srv/gate/addon", "/srv/gate"]
import bpy
from driving import PATIENCE, picture, play, until, viewport

import dryfit

OUT = Path("/srv/gate/renders")


def settings():
    render = bpy.context.scene.render
    return render.engine, render.use_stamp_note, render.stamp_note_text, render.use_border, render.border_max_x


def rendered(name, **how):
    """Render and wait until it ended and everything is put back."""
    before = settings()
    with bpy.context.temp_override(window=viewport()[0]):
        bpy.ops.render.render("INVOKE_DEFAULT", **how)
    yield 1.0
    yield from until(lambda: not bpy.app.is_job_running("RENDER"), PATIENCE, f"ended: {name}")
    yield 1.0
    picture(f"gate-{name}")
    assert settings() == before, (settings(), before)


def tour():
    scene = bpy.context.scene
    viewport()[1].spaces.active.shading.type = "RENDERED"
    yield 2.0
    for number in range(3):
        yield from rendered(f"refused-{number}", write_still=True)
        assert not list(OUT.glob("*")), "a refused render was written"
    yield from rendered("refused-animation", animation=True)
    assert not list(OUT.glob("*")), "a refused animation was written"
    scene["dryfit_at_render"] = "stamp"
    yield from rendered("stamped", animation=True)
    assert len(list(OUT.glob("*.png"))) == 2
    assert all(b"Dryfit: verdict=fail; " in path.read_bytes() for path in OUT.glob("*.png"))


bpy.context.preferences.view.render_display_type = "NONE"
dryfit.register()
play(tour)
