"""What importers mend in silence, read off the file itself: numbers that are none, and files cut short.

Blender puts a vertex whose coordinates are no numbers at the origin, and takes a text file that ends in the middle
for a smaller mesh. Both would be measured as if somebody had sculpted them.
"""

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Literal

import numpy as np

from ..model.errors import UnreadableFile

OBJ_VERTEX = re.compile(rb"^[ \t]*v[ \t]", re.MULTILINE)
OBJ_FACE = re.compile(rb"^[ \t]*f[ \t]", re.MULTILINE)
OBJ_NO_NUMBER = re.compile(rb"^[ \t]*v[ \t](?![-+0-9.eE \t\r]*$)", re.MULTILINE)
STL_NO_NUMBER = re.compile(rb"^[ \t]*vertex[ \t](?![-+0-9.eE \t\r]*$)", re.MULTILINE)
STL_HEADER, STL_FACE = 84, 50
PLY_NUMBERS: Mapping[str, str] = {
    "char": "i1", "uchar": "u1", "short": "i2", "ushort": "u2", "int": "i4", "uint": "u4", "float": "f4",
    "double": "f8", "int8": "i1", "uint8": "u1", "int16": "i2", "uint16": "u2", "int32": "i4", "uint32": "u4",
    "float32": "f4", "float64": "f8",
}  # fmt: skip
CUT = "it ends in the middle, as a file does that was cut short while it was written or copied; export it again"


def require_whole(path: Path) -> None:
    """Raise when an OBJ, PLY or STL holds coordinates that are no numbers, or plainly ends too early.

    Raises
    ------
    UnreadableFile
    OSError
        When the file cannot be read.
    """
    read = READERS.get(path.suffix.lower())
    bad = read(path, path.read_bytes()) if read else 0
    if bad:
        raise UnreadableFile(
            str(path), f"{bad} vertices have coordinates that are not finite numbers; delete them or export again"
        )


def faces_stated(path: Path) -> int:
    """Return how many faces an OBJ lists; 0 for other kinds of file."""
    return len(OBJ_FACE.findall(path.read_bytes())) if path.suffix.lower() == ".obj" else 0


def vertices_stated(path: Path) -> int:
    """Return how many vertices an OBJ lists."""
    return len(OBJ_VERTEX.findall(path.read_bytes()))


def ends_in_a_line(path: Path) -> bool:
    """Tell whether a file's last line is whole."""
    return path.read_bytes().endswith((b"\n", b"\r"))


def _obj(path: Path, content: bytes) -> int:
    return len(OBJ_NO_NUMBER.findall(content))


def _stl(path: Path, content: bytes) -> int:
    if content.lstrip().startswith(b"solid") and b"facet" in content[:1000]:
        if b"endsolid" not in content[-200:]:
            raise UnreadableFile(str(path), CUT)
        return len(STL_NO_NUMBER.findall(content))
    faces = (len(content) - STL_HEADER) // STL_FACE
    if faces < 1:
        return 0
    row = np.dtype([("normal", "<f4", 3), ("corners", "<f4", 9), ("rest", "<u2")])
    corners = np.frombuffer(content, row, faces, STL_HEADER)["corners"]
    return int((~np.isfinite(corners.reshape(-1, 3)).all(axis=1)).sum())


def _ply(path: Path, content: bytes) -> int:
    """Count bad vertices where they are the first element and plain numbers, as every usual writer has it."""
    head, mark, body = content.partition(b"end_header")
    words = [line.split() for line in head.decode("ascii", "replace").splitlines()]
    body = body.removeprefix(b"\r").removeprefix(b"\n")
    if mark:
        _require_room(path, words, len(body))
    if not mark or not _vertices_first(words):
        return 0
    count, row = _ply_vertices(words)
    names = [name for name in ("x", "y", "z") if row.names and name in row.names]
    if ["format", "ascii", "1.0"] in words:
        places = [list(row.names or ()).index(name) for name in names]
        lines = [line.split() for line in body.splitlines()[:count]]
        return sum(not all(_is_number(line, place) for place in places) for line in lines)
    order: Literal[">", "<"] = ">" if ["format", "binary_big_endian", "1.0"] in words else "<"
    if len(body) < count * row.itemsize:
        raise UnreadableFile(str(path), CUT)
    values = np.frombuffer(body, row.newbyteorder(order), count)
    return int((~np.logical_and.reduce([np.isfinite(values[name]) for name in names])).sum())


def _require_room(path: Path, words: list[list[str]], room: int) -> None:
    """Raise when a PLY lists more elements than its bytes can hold: importers make room for all of them first."""
    text, needed, least = ["format", "ascii", "1.0"] in words, 0, 0
    count = 0
    for line in words:
        if line[:1] == ["element"]:
            if len(line) != 3 or not line[2].isdecimal():
                raise UnreadableFile(str(path), f"its header counts no elements in '{' '.join(line)}'; export it again")
            needed, count, least = needed + count * least, int(line[2]), 0
        elif line[:1] == ["property"]:
            kind = line[2] if line[1:2] == ["list"] and len(line) > 2 else line[1] if len(line) > 1 else ""
            least += 2 if text else np.dtype(PLY_NUMBERS.get(kind, "i1")).itemsize
    if needed + count * least > room + 1:  # the last value of a text may end with the file
        raise UnreadableFile(str(path), CUT)


def _vertices_first(words: list[list[str]]) -> bool:
    elements = [line for line in words if line[:1] == ["element"]]
    return bool(elements) and elements[0][1] == "vertex" and elements[0][2].isdigit()


def _ply_vertices(words: list[list[str]]) -> tuple[int, np.dtype[np.void]]:
    """Return the number of vertices and the layout of one."""
    start = next(number for number, line in enumerate(words) if line[:1] == ["element"])
    fields: list[tuple[str, str]] = []
    for line in words[start + 1 :]:
        if line[:1] == ["element"]:
            break
        if line[:1] == ["property"] and line[1] in PLY_NUMBERS:
            fields.append((line[2], PLY_NUMBERS[line[1]]))
    return int(words[start][2]), np.dtype(fields)


def _is_number(line: list[bytes], place: int) -> bool:
    try:
        return bool(np.isfinite(float(line[place])))
    except (ValueError, IndexError):
        return False


READERS: Mapping[str, Callable[[Path, bytes], int]] = {".obj": _obj, ".stl": _stl, ".ply": _ply}
