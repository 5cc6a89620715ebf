"""Progress of a job on stderr, with the time left: a bar on a terminal, plain lines in a log."""

import sys
from typing import TextIO, TypeVar

from .model.progress import Job, Progress
from .model.time_left import TimeLeft

Answer = TypeVar("Answer")
BAR_STEPS = 1000


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
        self.bar = tqdm(total=BAR_STEPS, file=stream, bar_format=layout, leave=False)

    def step(self, progress: Progress) -> None:
        """Move the bar."""
        words = _with(progress.label, self.left.words_at(progress.fraction))
        self.bar.set_description_str(words, refresh=False)
        self.bar.update(int(BAR_STEPS * progress.fraction) - self.bar.n)

    def close(self) -> None:
        """Take the bar away."""
        self.bar.close()


def _with(label: str, left: str) -> str:
    return f"{label}  ({left})" if left else label


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
