"""A stop asked for from outside: heard at once, kept where something swallows it, and final when asked for twice."""

import os
import signal
import subprocess
import sys
from contextlib import suppress
from types import SimpleNamespace

import pytest

from dryfit.model import interrupt
from dryfit.model.interrupt import INTERRUPTED, STOPPED, TWICE_S
from dryfit.model.progress import Progress, drain

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="sends signals as POSIX has them")

SWALLOWED = """
import os, signal, sys
from dryfit.model.interrupt import listen_for_stop
from dryfit.model.progress import Progress
from dryfit.terminal import follow
listen_for_stop()
try:
    os.kill(os.getpid(), signal.{name})
    for _ in range(1000000): pass
except KeyboardInterrupt:
    pass                              # as Blender does while it registers add-ons
def job():
    yield Progress(0, 2, "first")
    print("went on", flush=True)
    yield Progress(1, 2, "second")
try:
    follow(job(), quiet=True)
except KeyboardInterrupt:
    sys.exit(130)
"""
STUBBORN = """
import signal
from dryfit.model import interrupt
interrupt.TWICE_S = 0.0
interrupt.listen_for_stop()
words = "ready"
while True:
    try:
        print(words, flush=True)
        signal.pause()
    except KeyboardInterrupt:
        words = "swallowed"
"""
NATIVE = """
import hashlib
from contextlib import suppress
from pathlib import Path
from dryfit.model import interrupt
interrupt.TWICE_S = 0.0
interrupt.listen_for_stop()
{before}
    with suppress(KeyboardInterrupt):
        print("ready", flush=True)
        hashlib.pbkdf2_hmac("sha256", b"", b"", 2**31 - 1)      # many minutes in which no line of Python runs
"""
IMPORTING = """
import dataclasses, os, runpy, signal, sys
from dryfit.model import interrupt
named = dataclasses.Field.__set_name__
def stopped_there(self, owner, name):
    dataclasses.Field.__set_name__ = named
    os.kill(os.getpid(), signal.SIGINT)
    for _ in range(1000): pass
    named(self, owner, name)
dataclasses.Field.__set_name__ = stopped_there      # Python before 3.12 makes a RuntimeError of what is raised there
sys.argv = ["dryfit", "explain"]
runpy.run_module("dryfit", run_name="__main__")
"""


def ears_open():
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM"])
def test_a_swallowed_stop_ends_the_next_step_of_a_job(name):
    done = subprocess.run([sys.executable, "-c", SWALLOWED.format(name=name)], capture_output=True, text=True,
                          check=False, preexec_fn=ears_open)  # fmt: skip
    assert (done.returncode, done.stdout, done.stderr) == (INTERRUPTED, "", "")


def test_a_stop_while_the_program_is_imported_is_a_stop():
    done = subprocess.run([sys.executable, "-c", IMPORTING], capture_output=True, text=True,
                          check=False, preexec_fn=ears_open)  # fmt: skip
    assert (done.returncode, done.stdout, done.stderr) == (INTERRUPTED, "", "dryfit: stopped.\n")


def test_a_second_stop_ends_at_once():
    process = subprocess.Popen(
        [sys.executable, "-c", STUBBORN], stdout=subprocess.PIPE, text=True, preexec_fn=ears_open
    )
    assert process.stdout.readline() == "ready\n"
    process.send_signal(signal.SIGINT)
    assert process.stdout.readline() == "swallowed\n"
    process.send_signal(signal.SIGINT)
    assert process.wait(300) == INTERRUPTED
    assert process.stdout.read() == ""


def test_a_second_stop_ends_native_code_too():
    process = subprocess.Popen(
        [sys.executable, "-c", NATIVE.format(before="while True:")], stdout=subprocess.PIPE, preexec_fn=ears_open
    )
    assert process.stdout.readline() == b"ready\n"
    while process.poll() is None:
        process.send_signal(signal.SIGINT)
        with suppress(subprocess.TimeoutExpired):
            process.wait(0.1)
    assert process.returncode == INTERRUPTED
    process.stdout.close()


def test_one_stop_ends_native_code_that_is_known_to_hear_none_and_takes_its_files_along(tmp_path):
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder" / "inside").write_text("x")
    (tmp_path / "part").write_text("x")
    (tmp_path / "kept").write_text("x")
    script = NATIVE.format(before='with interrupt.ended_by_stop(Path("part"), Path("folder"), Path("gone")):')
    process = subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                               cwd=tmp_path, preexec_fn=ears_open)  # fmt: skip
    assert process.stdout.readline() == b"ready\n"
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=300)
    assert (process.returncode, said.decode()) == (INTERRUPTED, f"{STOPPED}\n")
    assert [path.name for path in tmp_path.iterdir()] == ["kept"]


@pytest.mark.parametrize("context", [interrupt.ended_by_stop, interrupt.held_stop])
def test_a_stop_that_nobody_hears_beside_is_raised_after_what_may_not_be_broken_into(context, monkeypatch):
    monkeypatch.setattr(interrupt, "_asked_at", [])
    went_on = []

    def native():
        with context(), context():
            interrupt._hear(signal.SIGINT, None)
            went_on.append(True)

    with pytest.raises(KeyboardInterrupt):
        native()
    assert went_on and not interrupt._held


def test_two_in_a_moment_are_one_and_a_later_one_is_the_second(monkeypatch):
    clock, ended = [100.0], []
    monkeypatch.setattr(interrupt, "time", SimpleNamespace(monotonic=lambda: clock[0]))
    monkeypatch.setattr(interrupt, "_asked_at", [])
    monkeypatch.setattr(interrupt.os, "_exit", ended.append)
    with pytest.raises(KeyboardInterrupt):
        interrupt._hear(signal.SIGINT, None)
    clock[0] += TWICE_S
    interrupt._hear(signal.SIGINT, None)
    assert interrupt.is_stop_asked() and not ended
    clock[0] += 0.01
    interrupt._hear(signal.SIGINT, None)
    assert ended == [INTERRUPTED]


def test_a_job_nobody_stopped_goes_through():
    def job():
        yield Progress(0, 1, "all")
        return 7

    assert drain(job()) == 7


def test_signals_ignored_from_outside_stay_ignored():
    script = "import signal; from dryfit.model.interrupt import listen_for_stop; listen_for_stop(); " \
             "print(signal.getsignal(signal.SIGINT) == signal.SIG_IGN)"  # fmt: skip
    deaf = lambda: signal.signal(signal.SIGINT, signal.SIG_IGN)  # noqa: E731
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, preexec_fn=deaf)
    assert done.stdout == "True\n"


def test_the_library_by_itself_leaves_signals_alone():
    script = "import signal, dryfit; dryfit.check; print(signal.getsignal(signal.SIGINT) is signal.default_int_handler)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True,
                          preexec_fn=ears_open, env=dict(os.environ))  # fmt: skip
    assert done.stdout == "True\n"
