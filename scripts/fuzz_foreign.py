"""Random broken files for fuzz.py of every kind that Blender reads: .blend, meshes, scenes.

A whole file of each kind is exported once, by Blender's own module; a case is one of them with bytes turned, cut,
wiped or repeated, or with the head of another kind, as a file that was renamed has it. It is read as the command line
reads it, in a process of its own, with the additive check behind it: it is read, or costs one clear sentence.
"""

from __future__ import annotations

import atexit
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from hypothesis import strategies as st

import dryfit
from fuzz_designs import wrong_report
from fuzz_files import SPOILS, spoilt
from fuzz_words import Wrong, bad_sentence, crashed

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "tests" / "scene"))

from damaged import FOREIGN_WORDS, KINDS  # noqa: E402

HEADED = "headed"
LONGEST_S = 60
os.environ.setdefault("DRYFIT_READ_S", str(LONGEST_S))


@dataclass(frozen=True)
class ForeignCase:
    """A kind of file, how it is spoilt, the kind whose head it gets, and the seed of the places."""

    kind: str
    spoilt: tuple[str, ...]
    head: str
    seed: int


def may_be_read() -> bool:
    """Tell whether Blender's module is here."""
    return find_spec("bpy") is not None


def cases() -> st.SearchStrategy[ForeignCase]:
    """Return broken files of the kinds that are read with Blender."""
    spoils = st.lists(st.sampled_from((*SPOILS, HEADED)), min_size=1, max_size=3).map(tuple)
    kinds = st.sampled_from(KINDS)
    return st.builds(ForeignCase, kinds, spoils, kinds, st.integers(0, 2**31))


def wrong_foreign(case: ForeignCase) -> Iterator[Wrong]:
    """Yield what is wrong about how a broken file is read and measured."""
    whole = whole_files()
    if case.kind not in whole:  # this Blender was built without it
        return
    content, chance = whole[case.kind].read_bytes(), random.Random(case.seed)
    if HEADED in case.spoilt and case.head in whole:
        length = chance.choice((4, 12, 64, 400))
        content = whole[case.head].read_bytes()[:length] + content[length:]
    content = spoilt(content, [each for each in case.spoilt if each != HEADED], chance)
    path = whole[case.kind].with_name(f"broken.{case.kind}")
    path.write_bytes(content)
    yield from _read(path)


def _read(path: Path) -> Iterator[Wrong]:
    try:
        brief = dryfit.load_brief(path.with_name("brief.toml"))
        report = dryfit.check(dryfit.load_snapshot(path, brief), brief, only=["additive"])
    except dryfit.DryfitError as error:
        said = str(error)
        if words := bad_sentence(said) or (FOREIGN_WORDS.search(said) and f"another program's words: {said[:200]!r}"):
            yield Wrong("bad word", words)
        if "took longer than" in said:
            yield Wrong("slow", said)
    except Exception as fault:
        yield crashed(fault)
    else:
        yield from wrong_report(report)


@cache
def whole_files() -> dict[str, Path]:
    """Return a whole file of each kind that this Blender writes, in a folder with a performer and a brief."""
    place = Path(tempfile.mkdtemp())
    atexit.register(shutil.rmtree, place, ignore_errors=True)
    command = [sys.executable, str(ROOT / "tests" / "scene" / "damaged.py"), "write", str(place)]
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT / "addon")}
    subprocess.run(command, env=surroundings, check=True, capture_output=True)
    return {kind: place / f"whole.{kind}" for kind in KINDS if (place / f"whole.{kind}").is_file()}
