"""One snapshot in one ``.npz``: arrays as they are, everything else as JSON text beside them.

No pickles: a file from a stranger is data and nothing else.
"""

import json
import struct
import tokenize
import zipfile
import zlib
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import IO, Any

import numpy as np

from .errors import UnreadableFile, UnwritableOutput
from .exceptions import WrittenException
from .own_figures import OwnFigures
from .part_files import part_beside, sweep_parts
from .snapshot import Camera, Lock, Motion, Part, Snapshot
from .unmatched import Unmatched
from .unmeasured import Unmeasured
from .unpacked_size import require_bounded, zip_size

FORMAT = "dryfit.snapshot/1"
EXCEPTIONS = "acceptances"
"""What exceptions are called in the file: its layout was settled before their name was."""
DAMAGED = (
    OSError, ValueError, KeyError, TypeError, IndexError, AttributeError, EOFError, SyntaxError, RuntimeError,
    struct.error, tokenize.TokenError, zipfile.BadZipFile, zlib.error,
)  # fmt: skip
"""What comes out of zip, numpy and JSON readers when bytes are not what they should be."""

NO_ARCHIVE = "it is not a Dryfit snapshot: it is damaged or cut short, or something else under that name"
NO_ROOM = "it is damaged, or needs more memory than there is, or more memory than a worker may use (see --memory-mb)"


def save_snapshot(snapshot: Snapshot, path: str | Path) -> Path:
    """Write the snapshot; the file appears whole or not at all.

    Raises
    ------
    UnwritableOutput
        When the folder cannot be written.
    """
    target = Path(path)
    beside = part_beside(target)
    sweep_parts([target.parent])
    try:
        with beside.open("wb") as stream:
            np.savez_compressed(stream, **_arrays(snapshot))
        beside.replace(target)
    except OSError as error:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
        raise UnwritableOutput(str(target), error.strerror or str(error)) from error
    return target


def send_snapshot(snapshot: Snapshot, stream: IO[bytes]) -> None:
    """Write the snapshot as ``save_snapshot`` does, uncompressed, to whoever reads the stream.

    Raises
    ------
    OSError
    """
    np.savez(stream, **_arrays(snapshot))


def load_saved_snapshot(path: str | Path) -> Snapshot:
    """Read a snapshot written by ``save_snapshot``.

    Raises
    ------
    UnreadableFile
        When it is not such a file, or one that would fill the machine's memory.
    """
    try:
        with Path(path).open("rb") as stream:
            if not zipfile.is_zipfile(stream):
                raise UnreadableFile(str(path), NO_ARCHIVE)
            stream.seek(0)
            with np.load(stream, allow_pickle=False) as stored:
                require_bounded(Path(path), zip_size(stored.zip))
                return _read(stored, str(path))
    except MemoryError as error:
        raise UnreadableFile(str(path), NO_ROOM) from error
    except DAMAGED as error:
        raise UnreadableFile(str(path), f"it is not a Dryfit snapshot ({said_shortly(error)})") from error


def received_snapshot(stream: IO[bytes], source: str) -> Snapshot:
    """Read what ``send_snapshot`` wrote; ``source`` names the file in a complaint.

    Raises
    ------
    UnreadableFile
        When it is cut short.
    """
    try:
        with np.load(stream, allow_pickle=False) as stored:
            return _read(stored, source)
    except DAMAGED as error:
        raise UnreadableFile(source, f"reading it came to no end ({said_shortly(error)})") from error


def said_shortly(error: BaseException) -> str:
    """Return what an error of a library says on one line, its kind where it says nothing."""
    return " ".join(str(error).split())[:200] or type(error).__name__


def _read(stored: Any, source: str) -> Snapshot:
    header = json.loads(str(stored["header"]))
    json.dumps(header, ensure_ascii=False).encode("utf8")  # raises on halves of letters, which JSON can hold
    if header.get("format") != FORMAT:
        raise UnreadableFile(source, f"it is not a {FORMAT} file")
    return _snapshot(header, stored)


def _arrays(snapshot: Snapshot) -> dict[str, Any]:
    arrays: dict[str, Any] = {"header": np.array(json.dumps(_header(snapshot)))}
    for number, part in enumerate(snapshot.parts):
        arrays[f"part{number}.vertices_mm"] = part.vertices_mm
        arrays[f"part{number}.faces"] = part.faces
        for place, weights in enumerate(part.areas.values()):
            arrays[f"part{number}.area{place}"] = weights
    for number, motion in enumerate(snapshot.motions.values()):
        arrays[f"motion{number}.t"] = motion.frames_t
        for place, posed in enumerate(motion.frames_mm.values()):
            arrays[f"motion{number}.frames{place}"] = posed
    for number, seen in enumerate(snapshot.unmeasured):
        arrays[f"unmeasured{number}.points_mm"] = seen.points_mm
    if snapshot.lock is not None:
        arrays["lock.vertices_mm"] = snapshot.lock.vertices_mm
    return arrays


def _header(snapshot: Snapshot) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "name": snapshot.name,
        "source": snapshot.source,
        "sha256": snapshot.sha256,
        "parts": [
            {
                "name": part.name,
                "role": part.role,
                "material": part.material,
                "areas": list(part.areas),
                "own": part.own,
            }
            for part in snapshot.parts
        ],
        "motions": [{"name": motion.name, "parts": list(motion.frames_mm)} for motion in snapshot.motions.values()],
        "landmarks": {name: point.tolist() for name, point in snapshot.landmarks.items()},
        "proposed": dict(snapshot.proposed),
        "cameras": [vars(camera) for camera in snapshot.cameras],
        "lock": snapshot.lock.fingerprint if snapshot.lock else None,
        EXCEPTIONS: [vars(exception) for exception in snapshot.exceptions],
        "notes": list(snapshot.notes),
        "unmeasured": [{"name": seen.name, "kind": seen.kind, "why": seen.why} for seen in snapshot.unmeasured],
        "lost_motions": dict(snapshot.lost_motions),
        "unmatched": [vars(each) for each in snapshot.unmatched],
        "rims_mm": {name: line.tolist() for name, line in snapshot.rims_mm.items()},
        "own": {
            "limits": dict(snapshot.own.limits),
            "materials": {name: dict(figures) for name, figures in snapshot.own.materials.items()},
            "motions": {name: dict(table) for name, table in snapshot.own.motions.items()},
        },
    }


def _snapshot(header: Mapping[str, Any], stored: Mapping[str, Any]) -> Snapshot:
    return Snapshot(
        name=_text(header["name"]),
        source=_text(header["source"]),
        sha256=_text(header["sha256"]),
        parts=tuple(_part(number, entry, stored) for number, entry in enumerate(header["parts"])),
        landmarks={name: np.array(point) for name, point in header["landmarks"].items()},
        proposed={name: float(error) for name, error in header.get("proposed", {}).items()},
        motions={
            _text(entry["name"]): _motion(number, entry, stored) for number, entry in enumerate(header["motions"])
        },
        cameras=tuple(Camera(_text(entry["name"]), _place(entry["position_mm"])) for entry in header["cameras"]),
        lock=None if header["lock"] is None else Lock(_text(header["lock"]), stored["lock.vertices_mm"]),
        exceptions=tuple(_exception(entry) for entry in header[EXCEPTIONS]),
        notes=tuple(map(_text, header["notes"])),
        own=_own(header.get("own", {})),
        lost_motions={name: _text(why) for name, why in header.get("lost_motions", {}).items()},
        rims_mm={_text(name): np.array(line, np.float64) for name, line in header.get("rims_mm", {}).items()},
        unmeasured=tuple(
            Unmeasured(
                **{key: _text(value) for key, value in entry.items()}, points_mm=stored[f"unmeasured{number}.points_mm"]
            )
            for number, entry in enumerate(header.get("unmeasured", []))
        ),
        unmatched=tuple(_unmatched(entry) for entry in header.get("unmatched", [])),
    )


def _unmatched(entry: Mapping[str, Any]) -> Unmatched:
    words = {name: _text(entry[name]) for name in ("role", "entry", "nearest")}
    return Unmatched(**words, counts=bool(entry["counts"]))


def _text(value: Any) -> str:
    """Return a value that has to be words.

    Raises
    ------
    TypeError
    """
    if not isinstance(value, str):
        raise TypeError(f"words belong where {str(value)[:40]!r} stands")
    return value


def _place(value: Any) -> tuple[float, float, float]:
    x, y, z = (float(each) for each in value)
    return x, y, z


def _exception(entry: Mapping[str, Any]) -> WrittenException:
    return WrittenException(**{name: _text(value) for name, value in entry.items()})


def _own(stated: Mapping[str, Any]) -> OwnFigures:
    """Return what a file states of itself: numbers under names, and motions as tables that are read as a brief's."""
    materials = {name: _numbers(figures) for name, figures in stated.get("materials", {}).items()}
    motions = {name: dict(table) for name, table in stated.get("motions", {}).items()}
    return OwnFigures(limits=_numbers(stated.get("limits", {})), materials=materials, motions=motions)


def _numbers(figures: Mapping[str, Any]) -> dict[str, float]:
    """Return figures that have to be numbers.

    Raises
    ------
    TypeError
    """
    if not all(isinstance(figure, int | float) for figure in figures.values()):
        raise TypeError("its own figures are no numbers")
    return {name: float(figure) for name, figure in figures.items()}


def _part(number: int, entry: Mapping[str, Any], stored: Mapping[str, Any]) -> Part:
    return Part(
        name=_text(entry["name"]),
        role=entry["role"],
        vertices_mm=stored[f"part{number}.vertices_mm"],
        faces=stored[f"part{number}.faces"],
        material=_text(entry["material"]),
        areas={_text(name): stored[f"part{number}.area{place}"] for place, name in enumerate(entry["areas"])},
        own=bool(entry.get("own", False)),
    )


def _motion(number: int, entry: Mapping[str, Any], stored: Mapping[str, Any]) -> Motion:
    return Motion(
        name=_text(entry["name"]),
        frames_t=stored[f"motion{number}.t"],
        frames_mm={_text(name): stored[f"motion{number}.frames{place}"] for place, name in enumerate(entry["parts"])},
    )
