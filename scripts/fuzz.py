"""Try Dryfit with COUNT random designs, meshes, briefs and broken files, and count what goes wrong.

    python scripts/fuzz.py COUNT SEED [--kinds mesh,brief,file,design,foreign] [--stop-after HOURS]

Hypothesis draws the cases; what is asked of each stands with the kind (``fuzz_meshes``, ``fuzz_files``,
``fuzz_designs``, and where Blender's module is ``fuzz_foreign``): no crash and no fault in a check; every complaint one
clear line; no figure that is empty, unknown or beyond its limit under *pass* in any surface; signs and distances as
solid angles and brute force have them. The same
COUNT and SEED give the same cases. What is wrong is printed with the case as Python reads it, so that it can be pasted
into a test. The last line counts; the exit code is 1 when anything was wrong. The tests run a few hundred
(``tests/test_fuzz.py``), a night runs a million.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import inf
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "scripts"), str(ROOT / "tests"), str(ROOT / "addon")]

import fuzz_designs  # noqa: E402
import fuzz_files  # noqa: E402
import fuzz_foreign  # noqa: E402
import fuzz_meshes  # noqa: E402
from fuzz_words import Wrong  # noqa: E402

CHUNK = 20
"""So many cases of a kind are drawn on one seed; then hypothesis begins anew, so that it never runs dry."""
PAGE_EVERY = 10


@dataclass(frozen=True)
class Kind:
    """A kind of case: how it is drawn, what is asked of it, and its share of all cases."""

    drawn: st.SearchStrategy[Any]
    wrong: Callable[[Any], Iterator[Wrong]]
    share: float


def kinds() -> dict[str, Kind]:
    """Return the kinds of cases, by name. A design takes a hundred times as long as a brief, and so does a .blend."""
    found = {
        "mesh": Kind(fuzz_meshes.cases(), fuzz_meshes.wrong, 0.4),
        "brief": Kind(fuzz_files.briefs(), fuzz_files.wrong_brief, 0.35),
        "file": Kind(fuzz_files.files(), fuzz_files.wrong_file, 0.2),
        "design": Kind(fuzz_designs.cases(), _design, 0.05),
    }
    if fuzz_foreign.may_be_read():
        found["foreign"] = Kind(fuzz_foreign.cases(), fuzz_foreign.wrong_foreign, 0.01)
    return found


def _design(case: fuzz_designs.DesignCase) -> Iterator[Wrong]:
    return fuzz_designs.wrong_design(case, page=case.seed % PAGE_EVERY == 0)


def tried(kind: Kind, count: int, number: int, latest: float = inf) -> Iterator[tuple[Any, list[Wrong]]]:
    """Yield ``count`` cases of a kind, each with what is wrong about it; it ends soon after ``latest``."""
    done = 0
    while done < count and time.monotonic() < latest:
        met = _chunk(kind, min(CHUNK, count - done), f"{number} {done}")
        yield from met
        done += len(met)


def _chunk(kind: Kind, count: int, word: str) -> list[tuple[Any, list[Wrong]]]:
    """Return up to ``count`` cases that are drawn on one seed."""
    met: list[tuple[Any, list[Wrong]]] = []

    @seed(word)
    @settings(max_examples=count, deadline=None, database=None, phases=[Phase.generate],
              suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(kind.drawn)
    def ask(case: Any) -> None:
        if len(met) < count:
            met.append((case, [*kind.wrong(case)]))

    ask()
    return met


def main() -> int:
    """Try the cases, print what is wrong and a last line that counts."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("count", type=int)
    parser.add_argument("seed", type=int)
    parser.add_argument("--kinds", default="", help="only these, with commas between")
    parser.add_argument("--stop-after", type=float, default=1e9, metavar="HOURS")
    asked = parser.parse_args()
    chosen = {name: kind for name, kind in kinds().items() if not asked.kinds or name in asked.kinds.split(",")}
    whole = sum(kind.share for kind in chosen.values())
    latest = time.monotonic() + 3600.0 * asked.stop_after
    cases, found = Counter[str](), Counter[str]()
    for name, kind in chosen.items():
        for case, wrong in tried(kind, round(asked.count * kind.share / whole), asked.seed, latest):
            cases[name] += 1
            for each in wrong:
                found[each.kind] += 1
                print(f"{each.kind}: {each.words}\n    {case!r}", flush=True)
    others = sum(found.values()) - found["crash"] - found["silent pass"]
    each_kind = ", ".join(f"{number} {name}" for name, number in cases.items())
    print(f"{cases.total()} cases ({each_kind}), {found['crash']} crashes, {found['silent pass']} silent passes, "
          f"{others} otherwise wrong (seed {asked.seed})")  # fmt: skip
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
