"""Measure how far figures drift between threads, numpy releases, processors and Blenders, and keep it in the guide.

    python scripts/drift.py demo-designs                   every way there is an environment for; about an hour
    python scripts/drift.py demo-designs --only "2 threads"
    python scripts/drift.py                                the guide's table anew, from what was measured

Every design is measured from one snapshot of it, as the oldest Blender reads it, and again in other surroundings; for
the other Blenders each reads the file itself. A report is compared byte by byte, without the seconds its checks took;
where a byte differs, each figure, each finding's own and each point of a curve says by how much. Each measurement runs
in a process of its own Python. Needs the environments of ``scripts/test_blenders.py environments`` and of
``scripts/test.py``; numpy 1.26 without Blender gets one here.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from environment import ROOT, environment, say

GUIDE = ROOT / "DEVELOPERS.md"
KEPT = ROOT / "scripts" / "bench_results" / "drift.json"
BEGIN, END = "<!-- drift: written by scripts/drift.py -->\n", "<!-- end of drift -->\n"
MEASURE = "--measure"
SAME = 0.0
TESTS = "test"
OLDEST_BLENDER = "blender-4.2"
OLD_NUMPY = "numpy-1.26"


@dataclass(frozen=True)
class Way:
    """Surroundings to measure in: an environment's Python, how many threads, which kernel, and whether Blender reads.

    ``variables`` are set there: they have numpy and its BLAS do as on a processor that can less than this one.
    ``tolerance`` is the most that a figure may drift against the first way, in parts of it (of 1 where it is smaller).
    """

    name: str
    python: str
    tolerance: float
    threads: int = 1
    level: str = ""
    reads_itself: bool = False
    variables: tuple[tuple[str, str], ...] = ()


NO_AVX2 = ("NPY_DISABLE_CPU_FEATURES", "X86_V3 X86_V4 AVX512_ICL AVX512_SPR")
"""As numpy 2.4 calls what it chooses between at run time; what a processor has not anyway is passed by."""
HASWELL, NEHALEM = (("OPENBLAS_CORETYPE", kernels) for kernels in ("Haswell", "Nehalem"))

WAYS = (
    Way("1 thread", TESTS, SAME),
    Way("2 threads", TESTS, SAME, threads=2),
    Way("7 threads", TESTS, SAME, threads=7),
    Way("numpy 1.26", OLD_NUMPY, 1e-6),
    Way("a processor without AVX2", TESTS, 1e-6, level="base"),
    Way("BLAS as on a processor without AVX-512", TESTS, 1e-6, variables=(HASWELL,)),
    Way("kernel, numpy and BLAS without AVX2", TESTS, 1e-6, level="base", variables=(NEHALEM, NO_AVX2)),
    Way("Blender 4.2", OLDEST_BLENDER, 1e-6, reads_itself=True),
    Way("Blender 4.5", "blender-4.5", 1e-6, reads_itself=True),
    Way("Blender 5.0", "blender-5.0", 1e-6, reads_itself=True),
    Way("Blender 5.2", "blender-5.2", 1e-6, reads_itself=True),
)
"""The first is what the others are held against."""


@dataclass(frozen=True)
class Bench:
    """Where environments are, and the folder of what was measured: a snapshot of each design, a report for each way."""

    environments: Path
    folder: Path

    def report_of(self, design: Path, way: Way) -> str:
        """Return the report of a design measured in one way."""
        kept = self.folder / f"{design.stem}.{way.name.replace(' ', '-')}.json"
        if not kept.is_file():
            self.run(way, "report", design if way.reads_itself else self.snapshot_of(design), kept)
        return kept.read_text(encoding="utf-8")

    def snapshot_of(self, design: Path) -> Path:
        """Return the design as the oldest Blender reads it."""
        kept = self.folder / f"{design.stem}.npz"
        if not kept.is_file():
            self.run(next(way for way in WAYS if way.python == OLDEST_BLENDER), "read", design, kept)
        return kept

    def run(self, way: Way, what: str, source: Path, out: Path) -> None:
        """Read or measure one design in a process of its own."""
        surroundings = {**os.environ, "PYTHONPATH": str(ROOT / "addon"), "DRYFIT_THREADS": str(way.threads)}
        surroundings |= dict(way.variables)
        command = [str(self.python(way)), __file__, MEASURE, what, str(source.resolve()), str(out), way.level]
        subprocess.run(command, cwd=ROOT, env=surroundings, check=True, stdout=subprocess.DEVNULL)

    def python(self, way: Way) -> Path:
        """Return the Python of a way's environment; the others are made by the scripts that test in them."""
        if way.python == OLD_NUMPY:
            return environment(OLD_NUMPY, ["numpy==1.26.4"])
        return self.environments / f".venv-{way.python}" / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


@dataclass
class Drift:
    """How far one design's report, measured in one way, is from the first way's."""

    same_bytes: bool = True
    words: list[str] = field(default_factory=list)
    largest: float = 0.0
    where: str = ""

    def note(self, where: str, one: Any, other: Any) -> None:
        """Take in one value of both reports, whatever it is."""
        if not (is_figure(one) and is_figure(other)):
            self.words += [where] if one != other or is_figure(one) != is_figure(other) else []
        elif abs(one - other) / max(1.0, abs(one)) > self.largest:
            self.largest, self.where = abs(one - other) / max(1.0, abs(one)), where


def is_figure(value: Any) -> bool:
    """Tell whether a JSON value is a number."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def main() -> int:
    """Measure what is asked for and write the table."""
    if sys.argv[1:2] == [MEASURE]:
        return measure(*sys.argv[2:])
    parser = argparse.ArgumentParser(description="Measure how far figures drift between surroundings.")
    parser.add_argument("designs", type=Path, nargs="?", help="a folder of .blend files; without it: the table anew")
    parser.add_argument("--only", action="append", default=[], choices=[way.name for way in WAYS])
    parser.add_argument("--environments", type=Path, default=ROOT, help="where the .venv-... folders are")
    parser.add_argument("--keep", type=Path, help="a folder of reports to go on with; only while no code changes")
    arguments = parser.parse_args()
    if arguments.designs:
        designs = sorted(arguments.designs.glob("*-*.blend"))
        with tempfile.TemporaryDirectory() as fresh:
            bench = Bench(arguments.environments, (arguments.keep or Path(fresh)).resolve())
            bench.folder.mkdir(parents=True, exist_ok=True)
            keep_drift(designs, bench, arguments.only)
    write_table()
    return 0


def keep_drift(designs: list[Path], bench: Bench, only: list[str]) -> None:
    """Measure every design in every way asked for; what is known already of other ways stays."""
    known = json.loads(KEPT.read_text(encoding="utf-8")) if KEPT.is_file() else {}
    known |= {"machine": f"{platform.system()} {platform.machine()}", "designs": [path.stem for path in designs]}
    for way in WAYS:
        if way is WAYS[0] or not only or way.name in only:
            drifts = {path.stem: drift_of(path, way, bench) for path in designs}
            ways = known.get("ways", {}) | {way.name: {name: vars(drift) for name, drift in drifts.items()}}
            known["ways"] = {each.name: ways[each.name] for each in WAYS if each.name in ways}
            KEPT.write_text(json.dumps(known, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def drift_of(design: Path, way: Way, bench: Bench) -> Drift:
    """Return one design's drift in one way against the first."""
    first, here = (bench.report_of(design, each) for each in (WAYS[0], way))
    drift = Drift(same_bytes=first == here)
    compare("", json.loads(first), json.loads(here), drift)
    say(f"{way.name}, {design.stem}: {'same bytes' if drift.same_bytes else vars(drift)}")
    return drift


def compare(where: str, one: Any, other: Any, drift: Drift) -> None:
    """Walk two JSON values side by side."""
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        for name in one:
            compare(f"{where}.{name}".lstrip("."), one[name], other[name], drift)
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for number, pair in enumerate(zip(one, other, strict=True)):
            compare(f"{where}.{named(pair[0], number)}", *pair, drift)
    else:
        drift.note(where, one, other)


def named(entry: Any, number: int) -> str:
    """Return what to call an entry of a list: its own id, else its place."""
    return str(entry["id"]) if isinstance(entry, dict) and "id" in entry else str(number)


def measure(what: str, source: str, out: str, level: str) -> int:
    """Read or measure a design in this process; the end is sudden, for a Blender module may crash on its way down."""
    import dryfit
    from dryfit.geometry.kernel.calls import Compiled

    if level:
        Compiled.__init__.__defaults__ = (level,)  # type: ignore[attr-defined]
    snapshot = dryfit.load_snapshot(source)
    if what == "read":
        dryfit.save_snapshot(snapshot, out)
    else:
        Path(out).write_text(json.dumps(body(dryfit.check(snapshot).to_dict()), ensure_ascii=False), encoding="utf-8")
    sys.stdout.flush()
    os._exit(0)


def body(report: dict[str, Any]) -> dict[str, Any]:
    """Return a report without what tells of the run and not of the design."""
    report["variant"]["source"] = report["variant"]["sha256"] = ""
    for check in report["checks"]:
        check.pop("seconds")
    return report


def write_table() -> None:
    """Write the table between its two marks."""
    head, rest = GUIDE.read_text(encoding="utf-8").split(BEGIN)
    _, tail = rest.split(END)
    GUIDE.write_text(f"{head}{BEGIN}{drift_table()}{END}{tail}", encoding="utf-8")


def drift_table() -> str:
    """Return the table of what was measured, a line for each way."""
    known = json.loads(KEPT.read_text(encoding="utf-8"))
    lines = ["| measured with | same bytes | statuses and words | largest drift of a figure | held to |"]
    lines += ["| --- | --- | --- | --- | --- |"]
    lines += [_line(way, known["ways"][way.name]) for way in WAYS[1:] if way.name in known["ways"]]
    return "\n".join(lines) + "\n"


def _line(way: Way, drifts: dict[str, dict[str, Any]]) -> str:
    same = sum(drift["same_bytes"] for drift in drifts.values())
    words = list(_told_apart(drifts))
    worst = max(drifts.values(), key=lambda drift: float(drift["largest"]))
    largest = f"{worst['largest']:.1g} of it, {worst['where']}" if worst["largest"] else "none"
    held = f"{way.tolerance:g}" if way.tolerance else "same bytes"
    return f"| {way.name} | {same} of {len(drifts)} designs | {', '.join(words) or 'the same'} | {largest} | {held} |"


def _told_apart(drifts: dict[str, dict[str, Any]]) -> Iterator[str]:
    for design, drift in drifts.items():
        yield from (f"{design}: {where}" for where in drift["words"])


if __name__ == "__main__":
    raise SystemExit(main())
