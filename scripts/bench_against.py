"""Every warden checked by the code of a commit and by this one, in turns: afresh, again, and after a stroke.

Then once with this code and answers kept in a folder: a design of which the folder knows another on the same head, and
the same design in a new process.

Both are asked in processes of their own that stand by, so that neither gets the quieter half of the bench. What the
checks say is compared: words and counts are the same, figures within a billionth, for sums may be taken in another
order. Seconds that pass tell what a user waits, processor seconds what a night costs; both are kept.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

ROUNDS = 5
STROKE_VERTICES = 5000
STROKE_MM = 0.3
HERE = Path(__file__).resolve().parent.parent
RESULTS = Path(__file__).parent / "bench_results"
TIMES = ("fresh", "again", "stroke")
KEPT = ("next design", "next run")
TIMED = ("wall_s", "cpu_s")
ALIKE = 1e-9
"""Share of a figure, and amount, by which two codes may differ."""


class Took(NamedTuple):
    """One check: seconds that passed, processor seconds, a digest of its words, and a file with its figures."""

    wall_s: float
    cpu_s: float
    words: str
    figures: str


class Said(NamedTuple):
    """All that a report says, but for the seconds it took: a digest of its words, and its figures ``(f,)``."""

    words: str
    figures: npt.NDArray[np.float64]

    @classmethod
    def of(cls, report: object) -> Said:
        """Take a report, or what was read from one, apart."""
        words = hashlib.sha256(repr([*_told(report, figures=False)]).encode()).hexdigest()
        return cls(words, np.array([*_told(report, figures=True)]))

    def is_like(self, other: Said) -> bool:
        """Tell whether both say the same: the same words, and figures to within what rounding may do."""
        if self.words != other.words or len(self.figures) != len(other.figures):
            return False
        return bool(np.allclose(self.figures, other.figures, ALIKE, ALIKE, equal_nan=True))


def run(commit: str, rounds: int = ROUNDS, only: tuple[str, ...] = ()) -> int:
    """Measure, print and keep the table; an answer that differs is an error, a time is not."""
    with tempfile.TemporaryDirectory() as place, tree_of(commit) as old:
        rows = {name: measured(name, old, rounds, Path(place)) for name in only or designs()}
        kept = kept_between(Path(place), [*rows])
        rows = {name: row | kept[name] for name, row in rows.items()}
    RESULTS.mkdir(exist_ok=True)
    (RESULTS / "against.md").write_text(table(rows, commit, rounds), encoding="utf8")
    print(table(rows, commit, rounds))
    different = [name for name, row in rows.items() if not row["same"]]
    if different:
        print(f"The answers differ: {', '.join(different)}.", file=sys.stderr)
    return bool(different)


@contextmanager
def tree_of(commit: str) -> Iterator[Path]:
    """Give a tree with the code of a commit and its own kernel for as long as it is needed."""
    with tempfile.TemporaryDirectory() as place:
        tree = Path(place) / "old"
        subprocess.run(["git", "worktree", "add", "-q", "--detach", str(tree), commit], cwd=HERE, check=True)
        try:
            subprocess.run([sys.executable, str(tree / "scripts" / "build_kernel.py")], check=True)
            yield tree
        finally:
            subprocess.run(["git", "worktree", "remove", "--force", str(tree)], cwd=HERE, check=True)


def designs() -> list[str]:
    """Return the names of the wardens."""
    from dryfit.demo_door import demo_module

    return sorted(demo_module("wardens").DESIGNS)


def measured(name: str, old: Path, rounds: int, place: Path) -> dict[str, Any]:
    """Return the medians of both, and whether both said the same each time."""
    from dryfit import save_snapshot
    from dryfit.demo_door import demo_module

    save_snapshot(demo_module("variant_snapshots").variant_snapshot(name), place / f"{name}.npz")
    took: dict[str, dict[str, list[Took]]] = {which: {when: [] for when in TIMES} for which in ("old", "new")}
    for number in range(rounds):
        order = (("old", old), ("new", HERE)) if number % 2 == 0 else (("new", HERE), ("old", old))
        askers = [(which, asker(tree, place / f"{name}.npz")) for which, tree in order]
        for when in TIMES:
            for which, process in askers:
                took[which][when].append(asked(process, when))
        for _, process in askers:
            process.communicate("\n")
    same = all(_alike([each for both in took.values() for each in both[when]]) for when in TIMES)
    medians = {
        f"{which} {when} {field}": statistics.median(getattr(each, field) for each in took[which][when])
        for which in took
        for when in TIMES
        for field in TIMED
    }
    return medians | {"same": same}


def _alike(took: list[Took]) -> bool:
    first, *others = (Said(each.words, np.load(each.figures)) for each in took)
    return all(first.is_like(other) for other in others)


def kept_between(place: Path, names: list[str]) -> dict[str, dict[str, Any]]:
    """Return for each design what a check took in new processes whose folder knew another design, and then it."""
    took = {}
    for number, name in enumerate(names):
        answers = str(place / f"{name} answers")
        known = [names[number - 1]] if names[1:] else []
        askers = [asker(HERE, place / f"{each}.npz", answers) for each in (*known, *[name] * len(KEPT))]
        seen = [asked(process, "fresh") for process in askers][-len(KEPT) :]
        for process in askers:
            process.communicate("\n")
        shutil.rmtree(answers)
        took[name] = {
            f"new {when} {field}": getattr(each, field)
            for when, each in zip(KEPT, seen, strict=True)
            for field in TIMED
        }
    return took


def asker(tree: Path, file: Path, answers: str = "0") -> subprocess.Popen[str]:
    """Return a process that checks a design with the code of a tree, whenever it is told to."""
    command = [sys.executable, __file__, str(file)]
    path = {**os.environ, "PYTHONPATH": str(tree / "addon"), "DRYFIT_CACHE": answers}
    return subprocess.Popen(command, env=path, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)


def asked(process: subprocess.Popen[str], when: str) -> Took:
    """Return what one check took."""
    assert process.stdin is not None and process.stdout is not None
    process.stdin.write(f"{when}\n")
    process.stdin.flush()
    return Took(*json.loads(process.stdout.readline()))


def answer(file: str) -> None:
    """Check a design as often as standard input names a time; write what it took, a line each."""
    import dryfit

    plain = dryfit.load_snapshot(file)
    designs = {"fresh": plain, "again": plain, "stroke": stroke(plain)}
    for line in sys.stdin:
        if line.strip() not in designs:
            return
        started, cpu = time.perf_counter(), time.process_time()
        report = dryfit.check(designs[line.strip()])
        wall_s, cpu_s = time.perf_counter() - started, time.process_time() - cpu
        place = Path(file).with_name(f"{Path(file).stem} {os.getpid()} {line.strip()}.npy")
        said = Said.of(report)
        np.save(place, said.figures)
        print(json.dumps(Took(wall_s, cpu_s, said.words, str(place))), flush=True)


def stroke(snapshot: Any) -> Any:
    """Return the design after a stroke on the left cheek: vertices round the piece's middle vertex pushed out."""
    worn = snapshot.with_role("appliance")
    piece = next((part for part in worn if "CheekBarkLeft" in part.name), max(worn, key=lambda part: len(part.faces)))
    off_mm = np.linalg.norm(piece.vertices_mm - piece.vertices_mm[len(piece.vertices_mm) // 2], axis=1)
    near = np.argsort(off_mm, kind="stable")[:STROKE_VERTICES]
    moved = piece.vertices_mm.copy()
    moved[near] += STROKE_MM * np.linspace(1.0, 0.0, len(near))[:, None] * np.array([0.3, 0.8, 0.1])
    parts = tuple(replace(part, vertices_mm=moved) if part is piece else part for part in snapshot.parts)
    return replace(snapshot, parts=parts)


def _told(value: Any, figures: bool) -> Iterator[Any]:
    """Yield the figures of a value, or else its words with a mark for each digit, in order."""
    if hasattr(value, "tobytes") and hasattr(value, "shape"):
        yield from (float(each) for each in value.ravel()) if figures else [str(value.shape)]
    elif isinstance(value, (int, float)):
        yield from [float(value)] if figures else []
    elif is_dataclass(value):
        for entry in fields(value):
            yield from _told(getattr(value, entry.name), figures) if entry.name != "seconds" else []
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _told((key, inner), figures)
    elif isinstance(value, (tuple, list)):
        for inner in value:
            yield from _told(inner, figures)
    elif not figures:
        yield re.sub(r"\d", "#", str(value))


def table(rows: Mapping[str, Mapping[str, Any]], commit: str, rounds: int) -> str:
    """Return the medians as a table: processor seconds, seconds that passed in brackets, and how often faster."""
    threads = os.environ.get("DRYFIT_THREADS") or f"all {os.cpu_count()}"
    lines = [
        f"Every check of each warden, the code of {commit} against this one, in turns, median of {rounds}; cores used: "
        f"{threads}. Seconds that passed, in brackets processor seconds, and how many times fewer of either; the "
        "answers are the same, figures within a billionth. Next design and next run are once each, in new "
        "processes with answers kept in a folder: the folder knows the design of the line before (the last for the "
        "first), then this one too.",
        "",
        "| design | "
        + " | ".join(f"{when}, old | new | times" for when in TIMES)
        + " | "
        + " | ".join(f"{when}, new | times" for when in KEPT)
        + " |",
        "|---" * (1 + 3 * len(TIMES) + 2 * len(KEPT)) + "|",
    ]
    for name, row in rows.items():
        cells = [cell for when in TIMES for cell in cells_of(row, when)]
        cells += [cell for when in KEPT for cell in cells_of(row, when, "fresh")[1:]]
        lines.append(f"| {name}{'' if row['same'] else ' (DIFFERS)'} | " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


def cells_of(row: Mapping[str, Any], when: str, old_when: str = "") -> list[str]:
    """Return old, new, and how many times faster the new is; the old at another time where one is named."""
    both = (f"old {old_when or when}", f"new {when}")
    cpu_s, wall_s = ([row[f"{which} {field}"] for which in both] for field in ("cpu_s", "wall_s"))
    return [f"{wall:.2f} ({cpu:.2f})" for cpu, wall in zip(cpu_s, wall_s, strict=True)] + [
        f"{wall_s[0] / wall_s[1]:.1f}x ({cpu_s[0] / cpu_s[1]:.1f}x)"
    ]


if __name__ == "__main__":
    answer(sys.argv[1])
