"""Progress on stderr: a bar with the time left on a terminal, plain lines in a log."""

import io
import time

import pytest

from dryfit.model import time_left
from dryfit.model.progress import Progress
from dryfit.terminal import follow


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.fixture(autouse=True)
def steady(monkeypatch):
    """A job that has run long enough for a word on the time left: 6 s a step."""
    ticks = iter(range(0, 10_000, 6))
    monkeypatch.setattr(time_left.TimeLeft.__init__, "__defaults__", (lambda: float(next(ticks)),))


def job(total, pause_s=0.0):
    for number in range(total + 1):
        time.sleep(pause_s)
        yield Progress(number, total, f"warden {number}: pass")
    return "finished"


def test_a_terminal_gets_a_bar_with_the_time_left():
    stream = Terminal()
    assert follow(job(10, 0.15), stream=stream) == "finished"
    text = stream.getvalue()
    assert "\r" in text
    assert "s left)" in text
    assert "█" in text or "#" in text


def test_a_log_gets_plain_lines_with_the_time_left():
    stream = io.StringIO()
    follow(job(50), stream=stream)
    lines = stream.getvalue().splitlines()
    assert len(lines) == 51
    assert "   50 %  warden 25: pass  (about 3 min left)" in lines
    assert lines[-1] == "  100 %  warden 50: pass"
    assert "\r" not in stream.getvalue()


def test_nothing_is_shown_when_quiet():
    stream = Terminal()
    assert follow(job(3), quiet=True, stream=stream) == "finished"
    assert stream.getvalue() == ""
