"""What a terminal is shown: plain text, and the progress of a job with the time left, a bar or lines in a log."""

import io
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TextIO, TypeVar, cast

from .model.interrupt import heed_stop
from .model.plain_text import plain_line, plain_text
from .model.progress import Job, Progress
from .model.time_left import TimeLeft

Answer = TypeVar("Answer")
BAR_STEPS = 1000


class PlainStream:
    """A stream of text through which nothing passes that a terminal acts on; all else is as the stream itself."""

    def __init__(self, stream: TextIO) -> None:
        self.stream = stream

    def write(self, text: str) -> int:
        """Write text as a terminal may show it."""
        self.stream.write(plain_text(text))
        return len(text)

    def __getattr__(self, name: str) -> Any:
        return getattr(self.stream, name)


@contextmanager
def plain_streams() -> Iterator[None]:
    """Let all that is said on standard output and standard error for a while be plain text, whatever names hold.

    Signs that the terminal's encoding lacks are shown as numbers too, rather than stop the first line with one.
    """
    before = sys.stdout, sys.stderr
    for stream in before:
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    sys.stdout, sys.stderr = (cast(TextIO, PlainStream(stream)) for stream in before)
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before


def follow(job: Job[Answer], quiet: bool = False, stream: TextIO | None = None) -> Answer:
    """Run a job to its end, showing its progress, and return its answer.

    Raises
    ------
    Exception
        Whatever the job raises; the bar is closed first.
    """
    stream = stream or sys.stderr
    show = _silent() if quiet else _bar(stream) or _lines(stream)
    try:
        while True:
            try:
                show.step(next(job))
                heed_stop()
            except StopIteration as finished:
                answer: Answer = finished.value
                return answer
    finally:
        show.close()


class _Silent:
    def step(self, progress: Progress) -> None:
        """Show nothing."""

    def close(self) -> None:
        """Nothing to close."""


class _Lines(_Silent):
    def __init__(self, stream: TextIO) -> None:
        self.stream = stream
        self.last = ""
        self.left = TimeLeft()

    def step(self, progress: Progress) -> None:
        """Print a line whenever what is being done changes."""
        if progress.label != self.last:
            self.last = progress.label
            words = _with(progress.label, self.left.words_at(progress.fraction))
            print(f"  {100.0 * progress.fraction:3.0f} %  {words}", file=self.stream, flush=True)


class _Bar(_Silent):
    def __init__(self, stream: TextIO) -> None:
        from tqdm import tqdm

        layout = "{percentage:3.0f} % |{bar:24}| {desc} {elapsed}"
        self.left = TimeLeft()
        bare = stream.stream if isinstance(stream, PlainStream) else stream  # the bar moves the cursor itself
        self.bar = tqdm(total=BAR_STEPS, file=bare, bar_format=layout, leave=False)

    def step(self, progress: Progress) -> None:
        """Move the bar."""
        words = _with(progress.label, self.left.words_at(progress.fraction))
        self.bar.set_description_str(words, refresh=False)
        self.bar.update(int(BAR_STEPS * progress.fraction) - self.bar.n)

    def close(self) -> None:
        """Take the bar away."""
        self.bar.close()


def _with(label: str, left: str) -> str:
    return plain_line(label) + (f"  ({left})" if left else "")


def _silent() -> _Silent:
    return _Silent()


def _lines(stream: TextIO) -> _Silent:
    return _Lines(stream)


def _bar(stream: TextIO) -> _Silent | None:
    """Return a bar, or None where the stream is no terminal or tqdm is not installed."""
    if not stream.isatty():
        return None
    try:
        return _Bar(stream)
    except ImportError:
        return None
