"""Progress on stderr: a bar with the time left on a terminal, plain lines in a log."""

import io
import sys

import pytest

from dryfit.model import time_left
from dryfit.model.progress import Progress
from dryfit.terminal import PlainStream, follow, plain_streams


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.fixture(autouse=True)
def steady(monkeypatch):
    """A job that has run long enough for a word on the time left, and to draw its bar anew: 6 s at each look."""
    ticks = iter(range(0, 10_000, 6))
    monkeypatch.setattr(time_left.TimeLeft.__init__, "__defaults__", (lambda: float(next(ticks)),))
    monkeypatch.setattr("tqdm.std.time", lambda: float(next(ticks)))


def job(total):
    for number in range(total + 1):
        yield Progress(number, total, f"warden {number}: pass")
    return "finished"


def test_a_terminal_gets_a_bar_with_the_time_left():
    stream = Terminal()
    assert follow(job(10), stream=stream) == "finished"
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


HOSTILE = "Brow\x1b]0;owned\x07\x9b2J\u202egnp\u2066\u200b"


def test_all_that_is_said_is_plain(capsys):
    with plain_streams():
        print(HOSTILE)
        print(HOSTILE, file=sys.stderr)
        assert sys.stdout.encoding
    said = capsys.readouterr()
    assert said.out == said.err == "Brow\\u001b]0;owned\\u0007\\u009b2J\\u202egnp\\u2066\\u200b\n"
    print("\u202e")
    assert capsys.readouterr().out == "\u202e\n", "afterwards the streams are as they were"


@pytest.mark.parametrize("stream", [io.StringIO(), PlainStream(Terminal())])
def test_progress_names_hostile_parts_plainly(stream):
    def named():
        yield Progress(1, 2, f"clearance of {HOSTILE}\nof more")
        yield Progress(2, 2, f"clearance of {HOSTILE}\nof more")

    follow(named(), stream=stream)
    text = stream.getvalue()
    assert "owned" in text and "of more" in text
    assert not {"\u202e", "\x9b", "\u200b", "\x07"} & {*text}
    assert "\x1b]" not in text
    assert ("\r" in text) is isinstance(stream, PlainStream), "a bar still moves the cursor"
