"""Stop or kill Dryfit at random moments and look at what is left.

    python scripts/faults.py interrupts|kills COUNT SEED DESIGN

Each trial copies the design into an empty folder, starts one of the commands that write there, and after a random part
of the time the command takes sends it Ctrl-C (*interrupts*) or kills it (*kills*). Then it must hold: the exit code is
130 or that of a command that was done; no traceback; the design is what it was or whole and new; what was written is
whole; and the same command, run again, ends as if nothing had been, with no part of a file left over. The last line
counts trials and what went wrong; the exit code is 1 when anything did.

``DESIGN`` is a .blend (then ``lock`` and ``passes`` take part, which need Blender's module) or an .npz.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

INTERRUPTED = 130
DONE = (0, 1)
GRACE_S = 120.0


@dataclass(frozen=True)
class Command:
    """One command that writes: its words, with ``{design}`` and ``{out}`` where these stand, and what it writes."""

    name: str
    words: tuple[str, ...]
    written: str

    def argv(self, design: Path) -> list[str]:
        """Return the command for a design, its output beside it."""
        places = {"design": str(design), "out": str(design.parent / self.written), "folder": str(design.parent)}
        return [sys.executable, "-m", "dryfit", *(word.format(**places) for word in self.words)]


CHECK = Command("check", ("check", "{design}", "--only", "additive,load", "--out", "{out}"), "report.json")
BATCH = Command(
    "batch", ("batch", "{folder}", "--out", "{out}", "--only", "additive", "--no-pictures", "--jobs", "2"), "out"
)
LOCK = Command("lock", ("lock", "{design}"), "")
PASSES = Command("passes", ("passes", "{design}", "--out", "{out}"), "passes.exr")


def commands_for(design: Path) -> tuple[Command, ...]:
    """Return the commands that a design of this format can be given to."""
    return (CHECK, BATCH, LOCK, PASSES) if design.suffix == ".blend" else (CHECK, BATCH)


def main() -> int:
    """Run the trials, print what went wrong and a last line that counts."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("how", choices=("interrupts", "kills"))
    parser.add_argument("count", type=int)
    parser.add_argument("seed", type=int)
    parser.add_argument("design", type=Path)
    asked = parser.parse_args()
    chance = random.Random(asked.seed)
    commands = commands_for(asked.design)
    usual_s = {command.name: _whole(command, asked.design) for command in commands}
    wrong = 0
    for number in range(asked.count):
        command = chance.choice(commands)
        after_s = chance.uniform(0.0, 1.1 * usual_s[command.name])
        for words in trial(command, asked.design, asked.how, after_s):
            wrong += 1
            print(f"{number}: {command.name} after {after_s:.2f} s: {words}", flush=True)
    print(f"{asked.count} {asked.how}, {wrong} wrong (seed {asked.seed})")
    return 1 if wrong else 0


def _whole(command: Command, design: Path) -> float:
    """Return how long a command takes where nobody stops it, s."""
    with tempfile.TemporaryDirectory() as folder:
        copy = _copied(design, Path(folder))
        begin = time.monotonic()
        done = subprocess.run(command.argv(copy), capture_output=True, text=True, check=False)
        if done.returncode not in DONE:
            raise SystemExit(f"{command.name} cannot be tried on {design}:\n{done.stderr}")
        return time.monotonic() - begin


def trial(command: Command, design: Path, how: str, after_s: float) -> Iterator[str]:
    """Yield what was wrong after a command was stopped or killed."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "show"
        place.mkdir()
        copy = _copied(design, place)
        before = copy.read_bytes()
        surroundings = {**os.environ, "TMPDIR": folder}
        code, said = _stopped(command.argv(copy), how, after_s, surroundings)
        if how == "interrupts":
            yield from _answered(code, said)
            yield from _parts(place)
        if copy.read_bytes() != before and command.name != "lock":
            yield "the design was changed"
        yield from _torn(place)
        again = subprocess.run(
            command.argv(copy), capture_output=True, text=True, check=False, env=surroundings, timeout=GRACE_S
        )
        if again.returncode not in DONE:
            yield f"run again it ends with {again.returncode}: {again.stderr.strip()[-300:]}"
        yield from _parts(place)


def _copied(design: Path, folder: Path) -> Path:
    for beside in ("brief.toml", "performer.blend"):
        if (design.parent / beside).is_file() and design.suffix == ".blend":
            shutil.copy(design.parent / beside, folder / beside)
    return Path(shutil.copy(design, folder / design.name))


def _stopped(argv: Sequence[str], how: str, after_s: float, surroundings: Mapping[str, str]) -> tuple[int, str]:
    """Return the exit code and what was said by a command that was sent a signal while it ran."""
    process = subprocess.Popen(
        argv,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        env=surroundings,
        start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )
    time.sleep(after_s)
    if how == "kills":
        process.kill()
    else:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGINT)  # as a terminal does: to all processes in it
    _, said = process.communicate(timeout=GRACE_S)
    return process.returncode, said


def _answered(code: int, said: str) -> Iterator[str]:
    """Yield what was wrong with the answer to Ctrl-C.

    Before Dryfit's first line runs Python answers it in its own way, which shells show as 130 too.
    """
    if (code == -signal.SIGINT and "cli.py" not in said) or ("KeyboardInterrupt" in said and "dryfit" not in said):
        return
    if code not in (*DONE, INTERRUPTED):
        yield f"exit code {code}"
    if "Traceback" in said:
        yield f"a traceback: {said.strip()[-600:]}"


def _parts(place: Path) -> Iterator[str]:
    left = [str(path.relative_to(place)) for path in place.rglob("*") if ".part" in path.name]
    if left:
        yield f"left over: {', '.join(left)}"


def _torn(place: Path) -> Iterator[str]:
    """Yield files that are not whole: every JSON reads, every blend ends as it should."""
    for path in place.rglob("*"):
        if ".part" in path.name or not path.is_file():
            continue
        if path.suffix == ".json":
            try:
                json.loads(path.read_text(encoding="utf8"))
            except ValueError:
                yield f"{path.name} is half-written"
        elif path.stat().st_size == 0:
            yield f"{path.name} is empty"


if __name__ == "__main__":
    sys.exit(main())
