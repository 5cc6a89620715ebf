"""A reader that breaks down costs one sentence and exit code 2; here a module stands in for Blender and does it."""

import os
import subprocess
import sys

import pytest

from dryfit.scene.apart import NO_ROOM

PATIENT_S = "100"
"""Given to whatever ends by itself, however busy the machine; what never ends gets three seconds."""
ENDLESS = ("hangs", "holds on to Python")
BREAKS = {
    "crashes": ("import os, signal; os.kill(os.getpid(), signal.SIGSEGV)", "broke down on it (signal 11)"),
    "gives up": ("import os; print('Writing: crash.txt', flush=True); os.abort()", "broke down on it (signal 6)"),
    "leaves": ("import os; os._exit(3)", "broke down on it (exit code 3)"),
    "leaves in the middle": (
        "import os; os.write(1, b'{\"files\": ['); os.write(2, b'half'); os._exit(0)", "broke down on it (exit code 0)"
    ),
    "hangs": ("import time; time.sleep(1000)", "it took longer than 3 s and was stopped"),
    "holds on to Python": (
        "import re; re.match(r'(a+)+$', 'a' * 64 + 'b')", "it took longer than 3 s and was stopped"
    ),
    "eats memory": ("held = [bytearray(50_000_000) for _ in range(100_000)]", "more than 900 MB of memory"),
    "is at fault": ("{}['surface']", "a fault in Dryfit while it was read, please report it with the file: KeyError"),
}  # fmt: skip


@pytest.fixture
def broken(tmp_path):
    """A function that runs a command with a module in Blender's place that does as told when it is imported."""

    def run(code, *arguments, **more):
        (tmp_path / "stand-in").mkdir()
        (tmp_path / "stand-in" / "bpy.py").write_text(code)
        path = os.pathsep.join([str(tmp_path / "stand-in"), os.environ.get("PYTHONPATH", "")])
        surroundings = {**os.environ, "PYTHONPATH": path, "DRYFIT_READ_S": PATIENT_S, "DRYFIT_READ_MB": "900", **more}
        command = [sys.executable, "-m", "dryfit", *map(str, arguments)]
        return subprocess.run(command, capture_output=True, text=True, check=False, env=surroundings, timeout=120)

    return run


@pytest.fixture
def design(tmp_path):
    (tmp_path / "warden.blend").write_bytes(b"BLENDER-v402" + bytes(200))
    return tmp_path / "warden.blend"


@pytest.mark.skipif(sys.platform == "win32", reason="there a process that breaks down says so by other numbers")
@pytest.mark.parametrize("how", BREAKS)
def test_it_is_one_sentence(broken, design, how):
    code, words = BREAKS[how]
    done = broken(code, "check", design, **({"DRYFIT_READ_S": "3"} if how in ENDLESS else {}))
    assert (done.returncode, done.stdout) == (2, "")
    (line,) = done.stderr.splitlines()
    assert line.startswith(f"dryfit: {design}: ")
    assert words in line
    assert "Traceback" not in line


@pytest.mark.parametrize("command", ["check", "lock", "landmarks", "passes"])
def test_every_command_that_opens_a_design_reads_it_apart_first(broken, design, command):
    more = ["--out", design.with_name("passes.exr")] if command == "passes" else []
    done = broken(BREAKS["leaves"][0], command, design, *more)
    assert (done.returncode, done.stdout) == (2, "")
    (line,) = done.stderr.splitlines()
    assert "broke down on it (exit code 3)" in line
    assert [path.name for path in design.parent.iterdir() if path.is_file()] == ["warden.blend"]


def test_comparing_reads_each_apart(broken, design):
    done = broken(BREAKS["leaves"][0], "compare", design, design)
    assert (done.returncode, done.stdout) == (2, "")
    assert "broke down on it (exit code 3)" in done.stderr


def test_a_full_place_for_temporary_files_is_named(broken, design):
    done = broken(f"import os; os._exit({NO_ROOM})", "check", design)
    assert (done.returncode, done.stdout) == (2, "")
    (line,) = done.stderr.splitlines()
    assert line.startswith("dryfit: The folder for temporary files, ") and "TMPDIR" in line


def test_a_limit_that_is_no_number_is_named(broken, design):
    done = broken(BREAKS["leaves"][0], "check", design, DRYFIT_READ_S="soon")
    assert (done.returncode, done.stderr) == (2, "dryfit: The variable DRYFIT_READ_S must be a number; it is 'soon'.\n")
