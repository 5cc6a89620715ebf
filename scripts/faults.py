"""Stop, kill or starve Dryfit at random moments and look at what is left.

    python scripts/faults.py HOW COUNT SEED DESIGN

Each trial copies the design into an empty folder and starts one of the commands that write there. What befalls it:

- ``interrupts``: Ctrl-C after a random part of the time that the command takes;
- ``kills``: it is killed then;
- ``full``: the disk has room for a random part of what it writes (a small disk in memory where one may be mounted,
  else a limit on the size of files);
- ``readonly``: nothing can be written there (needs a disk that may be mounted);
- ``twice``: the same command runs beside it, begun a random moment later;
- ``swapped``: the design is replaced by a later one, or by half of one, or written over, at a random moment.

Then it must hold: the exit code is 130 after Ctrl-C, 2 with one sentence where it could not be done, or that of a
command that was done; no traceback; after Ctrl-C it does not go on to its end as if it had not been asked; the design
is what it was, whole; what was written is whole; a later design is never lost; and the same command, run again with
nothing in its way, ends as if nothing had been, with no part of a file left over (after Ctrl-C or a kill that left
everything as it was, that would only be the next trial). The last line counts trials, how those that were stopped
answered, and what went wrong; the exit code is 1 when anything did.

``DESIGN`` is a .blend (then ``lock`` and ``passes`` take part, which need Blender's module) or an .npz.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

INTERRUPTED = 130
DONE = (0, 1)
UNUSABLE = 2
GRACE_S = 300.0
LOST_S, LOST_SHARE = 1.0, 0.2
"""What is done so long after Ctrl-C, s and as a share of the usual time, was not about to end anyway."""
PAGE = 4096
EDITED = "edited meanwhile, by somebody else"


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


@dataclass(frozen=True)
class Usual:
    """How long a command takes where nothing stops it, s, and how many bytes more there are afterwards."""

    seconds: float
    written: int


@dataclass(frozen=True)
class Trial:
    """One command at one design, what is usual for it, what befalls it, and the chance that places it."""

    command: Command
    design: Path
    later: Path
    usual: Usual
    how: str
    chance: random.Random
    answers: Counter[str] = field(default_factory=Counter)

    def after_s(self) -> float:
        """Return a moment while it runs, or just after."""
        return self.chance.uniform(0.0, 1.1 * self.usual.seconds)


def main() -> int:
    """Run the trials, print what went wrong and a last line that counts."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("how", choices=tuple(BEFALLS))
    parser.add_argument("count", type=int)
    parser.add_argument("seed", type=int)
    parser.add_argument("design", type=Path)
    asked = parser.parse_args()
    chance = random.Random(asked.seed)
    commands = commands_for(asked.design)
    if asked.how == "readonly" and not may_mount():
        raise SystemExit("readonly needs a disk that may be mounted: run it as root, or in a container of your own.")
    usual = {command.name: _whole(command, asked.design) for command in commands}
    wrong, met, answers = 0, Counter[str](), Counter[str]()
    with tempfile.TemporaryDirectory() as folder, suppress(KeyboardInterrupt):  # Ctrl-C ends it with its count
        later = _later(asked.design, Path(folder))
        for number in range(asked.count):
            command = chance.choice(commands)
            one = Trial(command, asked.design, later, usual[command.name], asked.how, chance, answers)
            for words in BEFALLS[asked.how](one):
                wrong += 1
                print(f"{number}: {command.name}: {words}", flush=True)
            met[command.name] += 1
    each = ", ".join(f"{name} {count}" for name, count in met.items())
    answered = "".join(f", {number} {answer}" for answer, number in answers.most_common())
    print(f"{met.total()} {asked.how} ({each}){answered}, {wrong} wrong (seed {asked.seed})")
    return 1 if wrong else 0


def _whole(command: Command, design: Path) -> Usual:
    """Return what is usual for a command: run once beforehand, so that nothing is read for the first time."""
    with tempfile.TemporaryDirectory() as folder:
        copy = _copied(design, Path(folder))
        before = _size(Path(folder))
        for _ in range(2):
            begin = time.monotonic()
            done = subprocess.run(command.argv(copy), capture_output=True, text=True, check=False)
            if done.returncode not in DONE:
                raise SystemExit(f"{command.name} cannot be tried on {design}:\n{done.stderr}")
        return Usual(time.monotonic() - begin, max(_size(Path(folder)) - before, 1000))


def _size(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


def _later(design: Path, folder: Path) -> Path:
    """Return a later state of a design, which tells by its bytes that it is later."""
    later = folder / design.name
    if design.suffix != ".blend":
        shutil.copy(design, later)
        with later.open("ab") as stream:
            stream.write(EDITED.encode())
        return later
    edit = (
        f"import bpy; bpy.ops.wm.open_mainfile(filepath={str(design)!r});"
        f"bpy.data.texts.new({EDITED!r}).write({EDITED!r});"
        f"bpy.ops.wm.save_as_mainfile(filepath={str(later)!r}, copy=True, compress=False)"
    )
    subprocess.run([sys.executable, "-c", edit], check=True, capture_output=True)
    return later


@contextmanager
def _ready(trial: Trial) -> Iterator[tuple[Path, dict[str, str]]]:
    """Yield a copy of the design in a folder of its own, and surroundings that have temporary files beside it."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "show"
        place.mkdir()
        yield _copied(trial.design, place), {**os.environ, "TMPDIR": folder}


def interrupted_or_killed(trial: Trial) -> Iterator[str]:
    """Yield what was wrong after a command was stopped or killed."""
    with _ready(trial) as (copy, surroundings):
        before, after_s = copy.read_bytes(), trial.after_s()
        end = _stopped(trial.command.argv(copy), trial.how, after_s, surroundings)
        when = f"after {after_s:.2f} s: "
        if trial.how == "interrupts":
            trial.answers[end.answer] += 1
            yield from (when + words for words in (*_answered(end, trial.usual.seconds), *_parts(copy.parent.parent)))
        if copy.read_bytes() != before and trial.command is not LOCK:
            yield when + "the design was changed"
        yield from (when + words for words in _torn(copy.parent))
        if copy.read_bytes() != before or _written_beside(trial, copy):
            yield from (when + words for words in _again(trial, copy, surroundings))


def _written_beside(trial: Trial, copy: Path) -> bool:
    """Tell whether anything stands beside a design, or among temporary files, that was not there before a command."""
    kept = {"show", *(path.name for path in _beside(trial.design)), copy.name}
    return any(path.name not in kept for path in copy.parent.parent.rglob("*"))


def without_room(trial: Trial) -> Iterator[str]:
    """Yield what was wrong where the disk was full, or no file could grow beyond a size."""
    room = int(trial.chance.uniform(0.0, 1.2 * trial.usual.written))
    with _ready(trial) as (copy, surroundings), _disk(copy.parent, room) as mounted:
        before = copy.read_bytes()
        limit = None if mounted else partial(_limit_files, room)
        if mounted and trial.chance.random() < 0.3:
            surroundings["TMPDIR"] = str(copy.parent)
        process = _started(trial.command.argv(copy), surroundings, limit)
        _, said = process.communicate(timeout=GRACE_S)
        when = f"with {room} bytes of room: "
        yield from (when + words for words in (*_sentence(process.returncode, said), *_parts(copy.parent.parent)))
        if trial.command is not LOCK and copy.read_bytes() != before:
            yield when + "the design was changed"
        yield from (when + words for words in _torn(copy.parent))
        if mounted:
            subprocess.run(["mount", "-o", "remount,size=4g", str(copy.parent)], check=True)
        yield from (when + words for words in _again(trial, copy, surroundings))


def read_only(trial: Trial) -> Iterator[str]:
    """Yield what was wrong where nothing could be written."""
    with _ready(trial) as (copy, surroundings), _disk(copy.parent, 1_000_000):
        before = copy.read_bytes()
        subprocess.run(["mount", "-o", "remount,ro", str(copy.parent)], check=True)
        process = _started(trial.command.argv(copy), surroundings)
        _, said = process.communicate(timeout=GRACE_S)
        if process.returncode != UNUSABLE:
            yield f"exit code {process.returncode}"
        yield from (*_sentence(process.returncode, said), *_parts(copy.parent.parent))
        subprocess.run(["mount", "-o", "remount,rw,size=4g", str(copy.parent)], check=True)
        if copy.read_bytes() != before:
            yield "the design was changed"
        yield from _again(trial, copy, surroundings)


def twice(trial: Trial) -> Iterator[str]:
    """Yield what was wrong after two of the same command ran beside each other."""
    with _ready(trial) as (copy, surroundings):
        apart_s = trial.after_s()
        first = _started(trial.command.argv(copy), surroundings)
        time.sleep(apart_s)
        second = _started(trial.command.argv(copy), surroundings)
        for process in (first, second):
            _, said = process.communicate(timeout=GRACE_S)
            yield from (f"begun {apart_s:.2f} s apart: {words}" for words in _sentence(process.returncode, said))
            if process.returncode == UNUSABLE and trial.command is not LOCK:
                yield f"begun {apart_s:.2f} s apart: refused: {said.strip()[-300:]}"
        yield from (*_torn(copy.parent), *_parts(copy.parent.parent), *_again(trial, copy, surroundings))


def swapped(trial: Trial) -> Iterator[str]:
    """Yield what was wrong after a design was replaced or written over while it was read."""
    way = trial.chance.choice(("replaced", "written over", "half written"))
    with _ready(trial) as (copy, surroundings):
        old, new, after_s = copy.read_bytes(), trial.later.read_bytes(), trial.after_s()
        if way == "half written":
            new = new[: len(new) // 2]
        process = _started(trial.command.argv(copy), surroundings)
        time.sleep(after_s)
        if way == "replaced":
            beside = copy.with_name("new")
            beside.write_bytes(new)
            beside.replace(copy)
        else:
            copy.write_bytes(new)
        _, said = process.communicate(timeout=GRACE_S)
        when = f"{way} after {after_s:.2f} s: "
        yield from (when + words for words in (*_sentence(process.returncode, said), *_parts(copy.parent.parent)))
        if way != "half written" and EDITED.encode() not in copy.read_bytes():
            yield when + "the later design is lost"
        yield from (when + words for words in _of_one_state(trial, copy, (old, new)))
        shutil.copy(trial.design, copy)
        yield from (when + words for words in (*_torn(copy.parent), *_again(trial, copy, surroundings)))


def _of_one_state(trial: Trial, copy: Path, states: Sequence[bytes]) -> Iterator[str]:
    """Yield a report that is about neither the design that was there nor the one that is."""
    report = copy.parent / trial.command.written
    if trial.command is CHECK and report.is_file():
        said = json.loads(report.read_text("utf8"))["variant"]["sha256"]
        if said not in {hashlib.sha256(state).hexdigest() for state in states}:
            yield "the report is about neither design"


BEFALLS: Mapping[str, Callable[[Trial], Iterator[str]]] = {
    "interrupts": interrupted_or_killed,
    "kills": interrupted_or_killed,
    "full": without_room,
    "readonly": read_only,
    "twice": twice,
    "swapped": swapped,
}


def may_mount() -> bool:
    """Tell whether a disk in memory may be mounted here."""
    with tempfile.TemporaryDirectory() as folder, _disk(Path(folder), 100_000) as mounted:
        return mounted


@contextmanager
def _disk(place: Path, room: int) -> Iterator[bool]:
    """Put a small disk in memory in the place of a folder, with what is in it; yield whether one may be mounted."""
    used = sum(-(-path.stat().st_size // PAGE) * PAGE for path in place.iterdir())
    with tempfile.TemporaryDirectory() as aside:
        shutil.copytree(place, Path(aside) / "kept")
        size = f"size={used + max(room, PAGE)}"
        done = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", size, "dryfit", str(place)], capture_output=True, check=False
        )
        if done.returncode:
            yield False
            return
        try:
            shutil.copytree(Path(aside) / "kept", place, dirs_exist_ok=True)
            yield True
        finally:
            subprocess.run(["umount", str(place)], check=True)


def _limit_files(most: int) -> None:
    """Let no file of this process grow beyond a size."""
    import resource

    resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))


def _again(trial: Trial, copy: Path, surroundings: Mapping[str, str]) -> Iterator[str]:
    """Yield what is wrong about the same command, run once more with nothing in its way."""
    again = subprocess.run(
        trial.command.argv(copy), capture_output=True, text=True, check=False, env=surroundings, timeout=GRACE_S
    )
    if again.returncode not in DONE:
        yield f"run again it ends with {again.returncode}: {again.stderr.strip()[-300:]}"
    yield from _parts(copy.parent.parent)


def _sentence(code: int, said: str) -> Iterator[str]:
    """Yield what was wrong with the answer of a command that met with an obstacle: done, or one sentence and 2."""
    if code not in (*DONE, UNUSABLE):
        yield f"exit code {code}: {said.strip()[-300:]}"
    if "Traceback" in said or "fault in Dryfit" in said:
        yield f"a traceback: {_from_traceback(said)}"
    complaints = [line for line in said.splitlines() if line.startswith("dryfit: ")]
    if code == UNUSABLE and len(complaints) != 1:
        yield f"{len(complaints)} sentences: {said.strip()[-300:]}"


def _from_traceback(said: str) -> str:
    """Return what was said from the traceback on, or from the end of it where it is long."""
    return said[max(0, said.find("Traceback")) :].strip()[-1500:]


def _beside(design: Path) -> list[Path]:
    """Return the files that belong to a design."""
    named = [design.parent / name for name in ("brief.toml", "performer.blend")] if design.suffix == ".blend" else []
    return [path for path in named if path.is_file()]


def _copied(design: Path, folder: Path) -> Path:
    for path in _beside(design):
        shutil.copy(path, folder / path.name)
    return Path(shutil.copy(design, folder / design.name))


def _started(
    argv: Sequence[str], surroundings: Mapping[str, str], limit: Callable[[], None] | None = None
) -> subprocess.Popen[str]:
    """Start a command as a shell in a terminal does, in a group of its own."""

    def prepare() -> None:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        if limit:
            limit()

    return subprocess.Popen(
        argv,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        env=surroundings,
        start_new_session=True,
        preexec_fn=prepare,
    )


@dataclass(frozen=True)
class End:
    """How a command ended that was sent a signal: its exit code, what it said, whether it still ran, how long then."""

    code: int
    said: str
    ran: bool
    seconds: float

    @property
    def before_dryfit(self) -> bool:
        """Whether Python answered in its own way, which shells show as 130 too: no line of Dryfit had run."""
        by_signal = self.code == -signal.SIGINT and "cli.py" not in self.said
        return by_signal or ("KeyboardInterrupt" in self.said and "dryfit" not in self.said)

    @property
    def answer(self) -> str:
        """What kind of answer this was, in words."""
        if self.before_dryfit:
            return "stopped before Dryfit began"
        if self.code == INTERRUPTED:
            return "answered 130"
        return "done first" if self.code in DONE else f"answered {self.code}"


def _stopped(argv: Sequence[str], how: str, after_s: float, surroundings: Mapping[str, str]) -> End:
    """Return how a command ended that was sent a signal while it ran."""
    process = _started(argv, surroundings)
    time.sleep(after_s)
    ran, begin = process.poll() is None, time.monotonic()
    if how == "kills":
        process.kill()
    else:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGINT)  # as a terminal does: to all processes in it
    _, said = process.communicate(timeout=GRACE_S)
    return End(process.returncode, said, ran, time.monotonic() - begin)


def _answered(end: End, usual_s: float) -> Iterator[str]:
    """Yield what was wrong with the answer to Ctrl-C."""
    if end.before_dryfit:
        return
    if end.code not in (*DONE, INTERRUPTED):
        yield f"exit code {end.code}: {end.said.strip()[-300:]}"
    if end.code in DONE and end.ran and end.seconds > max(LOST_S, LOST_SHARE * usual_s):
        yield f"it went on for {end.seconds:.1f} s as if it had not been asked"
    if "Traceback" in end.said:
        yield f"a traceback: {_from_traceback(end.said)}"


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
