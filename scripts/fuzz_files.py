"""Random briefs and broken files for fuzz.py, for every reader that needs no Blender; ``fuzz_foreign`` has the others.

A brief is written at random, or a sound one with some of its letters changed; a file is a whole one with bytes turned,
cut, wiped or repeated, or an archive whose parts are of wrong kinds. Each is read, or costs one clear sentence.
"""

from __future__ import annotations

import io
import json
import random
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path

import numpy as np
from hypothesis import strategies as st

import dryfit
from dryfit.model.brief import Brief
from dryfit.model.brief_reading import TABLES, parse_brief
from dryfit.model.errors import DryfitError
from dryfit.model.limit_basis import within_bounds
from dryfit.model.limits import Limits
from dryfit.model.snapshot import LANDMARKS
from dryfit.model.snapshot_file import load_saved_snapshot
from fuzz_words import Wrong, bad_sentence, crashed

LONGEST_S = 5.0
"""Nothing small may take longer to be read or refused, s of the processor."""
KINDS = ("snapshot.npz", "header.npz", "brief.toml", "report.json")
SPOILS = ("turned", "cut", "wiped", "number", "repeated", "swapped", "noise")
NUMBERS = (b"99999999", b"-1", b"4294967295", b"nan", b"1e308", b"0", b"true", b'""', b"[]", b"{}", b"null", b"1e-320")
WILD = st.one_of(
    st.none().map(lambda _: "{}"),
    st.integers(-(10**20), 10**20).map(str),
    st.floats().map(lambda value: str(value).replace("e", "E")),
    st.sampled_from(
        ["true", "false", "nan", "-inf", "[]", "{}", "1e308", "-1e-320", "''", "1979-05-27", "[[[]]]", "0x7f"]
    ),
    st.text(max_size=12).map(json.dumps),
    st.lists(st.floats(-1e9, 1e9), max_size=5).map(lambda values: str(values)),
    st.lists(st.text(max_size=5), max_size=3).map(json.dumps),
)
HEADERS = (
    "name", "source", "parts", "landmarks", "motions", "cameras", "lock", "acceptances", "notes", "own", "proposed",
    "format",
)  # fmt: skip


@dataclass(frozen=True)
class BriefCase:
    """The text of a brief."""

    text: str


@dataclass(frozen=True)
class FileCase:
    """A kind of file, how it is spoilt, how often, and the seed of the places."""

    kind: str
    spoilt: tuple[str, ...]
    seed: int


def briefs() -> st.SearchStrategy[BriefCase]:
    """Return briefs: tables with known and unknown keys and any values, and sound ones with changed letters."""
    keys = st.one_of(st.sampled_from(_keys()), st.from_regex(r"[a-z_]{1,8}", fullmatch=True))
    heading = st.sampled_from([f"[{each}]" for each in _headings()] + ["[[exceptions]]", "[limits.deeper]", ""])
    lines = st.lists(st.tuples(keys, WILD).map(lambda pair: f"{pair[0]} = {pair[1]}"), max_size=4, unique=True)
    table = st.tuples(heading, lines).map(lambda pair: "\n".join((pair[0], *pair[1])))
    written = st.lists(table, max_size=4).map("\n".join)
    changed = st.tuples(st.lists(st.sampled_from(SPOILS), min_size=1, max_size=3), st.integers(0, 2**31)).map(
        lambda pair: spoilt(SOUND_BRIEF.encode(), pair[0], random.Random(pair[1])).decode("utf8", "replace")
    )
    return st.one_of(written, changed, st.text(max_size=60)).map(BriefCase)


def files() -> st.SearchStrategy[FileCase]:
    """Return broken files of the kinds that are read without Blender."""
    spoils = st.lists(st.sampled_from(SPOILS), min_size=1, max_size=3).map(tuple)
    return st.builds(FileCase, st.sampled_from(KINDS), spoils, st.integers(0, 2**31))


def _keys() -> list[str]:
    named = [each.name for each in fields(Limits)] + list(LANDMARKS)
    return [
        *named,
        "keys",
        "hinge",
        "open_deg",
        "file",
        "object",
        "density_g_cm3",
        "angles_deg",
        "distance_mm",
        "check",
    ]


def _headings() -> list[str]:
    return [*TABLES, "motions.jaw", "motions.jaw.hinge", "materials.silicone", "materials.new", "views.more"]


SOUND_BRIEF = """
[base]
file = "performer.npz"
[units]
mesh_files = "mm"
[motions.jaw]
keys = { JawOpen = [0.0, 1.0] }
[limits]
contact_mm = 0.04
additive_tolerance_mm = 0.3
[landmarks]
sellion = [0.0, 30.0, 95.0]
[materials.silicone]
density_g_cm3 = 1.07
shrink_percent = 0.1
source = "from memory"
[views]
angles_deg = [-60, 0, 60]
[[exceptions]]
check = "additive"
object = "Cap"
region = "nose tip"
reason = "it is a mask"
"""


def wrong_brief(case: BriefCase) -> Iterator[Wrong]:
    """Yield what is wrong about how a brief is read: a crash, a bad sentence, a figure that no brief may hold."""
    begin = time.process_time()
    try:
        brief = parse_brief(case.text, "brief.toml")
    except DryfitError as error:
        brief = Brief()
        if words := bad_sentence(str(error)):
            yield Wrong("bad word", words)
    except Exception as fault:
        yield crashed(fault)
        return
    yield from _slow(begin)
    for each in fields(Limits):
        value = getattr(brief.limits, each.name)
        if not np.isfinite(value) or not within_bounds(each, value):
            yield Wrong("silent pass", f"the limit {each.name} may be {value}")


def wrong_file(case: FileCase) -> Iterator[Wrong]:
    """Yield what is wrong about how a broken file is read."""
    chance = random.Random(case.seed)
    content = _made(case.kind, chance)
    if case.kind != "header.npz":
        content = spoilt(content, case.spoilt, chance)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / case.kind
        path.write_bytes(content)
        begin = time.process_time()
        try:
            _read(path)
        except DryfitError as error:
            if words := bad_sentence(str(error)):
                yield Wrong("bad word", words)
        except Exception as fault:
            yield crashed(fault)
        yield from _slow(begin)


def _slow(begin: float) -> Iterator[Wrong]:
    took = time.process_time() - begin
    if took > LONGEST_S:
        yield Wrong("slow", f"{took:.1f} s")


def _read(path: Path) -> None:
    if path.suffix == ".npz":
        snapshot = load_saved_snapshot(path)
        dryfit.check(snapshot, only=["base_lock"])
    elif path.suffix == ".toml":
        dryfit.load_brief(path)
    else:
        whole = path.with_name("whole.json")
        whole.write_bytes(_whole(path.name))
        dryfit.compare(path, whole)


def _made(kind: str, chance: random.Random) -> bytes:
    return _other_header(chance) if kind == "header.npz" else _whole(kind)


@cache
def _whole(kind: str) -> bytes:
    """Return a whole file of a kind."""
    from worn_sphere import report, worn_sphere

    if kind == "brief.toml":
        return SOUND_BRIEF.encode()
    if kind == "report.json":
        return report().to_json().encode()
    with tempfile.TemporaryDirectory() as folder:
        return dryfit.save_snapshot(worn_sphere(), Path(folder) / "whole.npz").read_bytes()


def _other_header(chance: random.Random) -> bytes:
    """Return a saved snapshot whose arrays or header are of another kind than they should be."""
    with np.load(io.BytesIO(_whole("snapshot.npz"))) as stored:
        arrays = {name: stored[name] for name in stored.files}
    name = chance.choice([*arrays])
    if name == "header" or chance.random() < 0.6:
        header = json.loads(str(arrays["header"]))
        place: object = header
        key: object = chance.choice(HEADERS)
        while isinstance(place, dict | list) and place:
            key = chance.choice([*place]) if isinstance(place, dict) else chance.randrange(len(place))
            if not isinstance(place[key], dict | list) or not place[key] or chance.random() < 0.4:
                break
            place = place[key]
        if isinstance(place, dict | list):
            place[key] = chance.choice(
                [None, -1, 1e308, float("nan"), "x", [], {}, [[]], True, "\ud800", "a\nb\x1b[2J", 10**40]
            )
        arrays["header"] = np.array(json.dumps(header))
    else:
        array = arrays[name]
        arrays[name] = chance.choice([
            array[:0], array.T, array.astype(str), array.astype(np.complex128), array.astype(np.int8), array.ravel(),
            array.astype(np.float16), array * np.float64("nan"), array.astype(bool), np.array(1.0), array[:-1],
            array[None],
        ])  # fmt: skip
    stream = io.BytesIO()
    np.savez(stream, **arrays)
    return stream.getvalue()


def spoilt(content: bytes, how: Sequence[str], chance: random.Random) -> bytes:
    """Return bytes with something done to them at random places, once for each word of ``how``."""
    changed = bytearray(content)
    for each in how:
        place = chance.randrange(max(1, len(changed)))
        length = chance.randrange(1, 60)
        if each == "turned" and changed:
            changed[place] ^= 1 << chance.randrange(8)
        elif each == "cut":
            del changed[place:]
        elif each == "wiped":
            changed[place : place + length] = bytes([chance.choice((0, 255, 34, 91))]) * length
        elif each == "repeated":
            changed[place:place] = changed[place : place + length] * chance.choice((1, 2, 50))
        elif each == "swapped":
            other = chance.randrange(max(1, len(changed)))
            first, second = bytes(changed[place : place + length]), bytes(changed[other : other + length])
            changed[place : place + length], changed[other : other + length] = second, first
        elif each == "number":
            digits = [at for at, letter in enumerate(changed) if 48 <= letter < 58] or [0]
            at = chance.choice(digits)
            changed[at : at + 1] = chance.choice(NUMBERS)
        elif each == "noise":
            changed[place:place] = bytes(chance.randrange(256) for _ in range(length))
    return bytes(changed)
