"""A stop that arrives while Blender calls Python back, where it would be printed and swallowed."""

import os
import signal
import subprocess
import sys

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from blender_module import needs_module  # noqa: E402
from dryfit.model import interrupt  # noqa: E402
from dryfit.scene import opening  # noqa: E402

STARTING = """
import os, signal, sys
from dryfit.model.interrupt import listen_for_stop
listen_for_stop()

class Door:
    '''Blender's module starts its add-ons when it is imported; one of them is met by the stop.'''
    def find_spec(self, name, path=None, target=None):
        if name == "cycles" or name.endswith(".cycles"):
            os.kill(os.getpid(), signal.SIGINT)
            for _ in range(100000):
                pass

sys.meta_path.insert(0, Door())
from dryfit.scene.blender import blender
try:
    blender()
    print("went on")
except KeyboardInterrupt:
    print("stopped")
sys.stdout.flush()
os._exit(0)
"""


@pytest.fixture
def saved(build, tmp_path):
    build.sphere()
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "design.blend"))
    return tmp_path / "design.blend"


def test_a_stop_while_a_file_is_disarmed_is_raised_and_nothing_of_the_file_is_left(saved, monkeypatch):
    """As where nobody listens for it: Blender would print it, go on, and evaluate what was not disarmed."""

    def stopped():
        raise KeyboardInterrupt

    monkeypatch.setattr(opening, "disarm", stopped)
    with pytest.raises(KeyboardInterrupt):
        opening.open_blend(saved)
    assert not bpy.data.objects


@pytest.mark.skipif(sys.platform == "win32", reason="sends signals as POSIX has them")
def test_a_stop_that_is_listened_for_waits_until_the_file_is_disarmed(saved, monkeypatch):
    done, disarm = [], opening.disarm

    def met():
        os.kill(os.getpid(), signal.SIGINT)
        done.append(disarm())
        return done[0]

    monkeypatch.setattr(opening, "disarm", met)
    monkeypatch.setattr(interrupt, "_asked_at", [])
    before = signal.signal(signal.SIGINT, interrupt._hear)
    try:
        with pytest.raises(KeyboardInterrupt):
            opening.open_blend(saved)
    finally:
        signal.signal(signal.SIGINT, before)
    assert done


@needs_module
@pytest.mark.skipif(sys.platform == "win32", reason="sends signals as POSIX has them")
def test_a_stop_while_blender_starts_is_raised_once_it_has():
    done = subprocess.run(
        [sys.executable, "-c", STARTING], capture_output=True, text=True, check=False,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )  # fmt: skip
    assert (done.stdout, done.stderr) == ("stopped\n", "")
