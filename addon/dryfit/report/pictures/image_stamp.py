"""Read back what a picture says of the design in it: renders as PNG or EXR, and the pictures of a report.

Renders carry the stamp's line under ``Note`` (Blender's stamp note). Pictures of a report carry each fact under its own
name, ``dryfit:verdict`` and so on. Only the texts are read, by the letter of the two formats: PNG (ISO/IEC 15948,
section 11.3.4) and the header of OpenEXR (openexr.com, "OpenEXR File Layout").
"""

import struct
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import fields
from pathlib import Path
from typing import BinaryIO

from ...model.errors import UnreadableFile
from ...model.stamp import Stamp, read_line
from .picture import FACT

PNG = b"\x89PNG\r\n\x1a\n"
EXR = b"\x76\x2f\x31\x01"
NOTE = "Note"
MULTI_PART = 0x1000
LARGEST = 1 << 24
"""A text or header larger than this is no stamp's: it is not read."""


def read_stamp(path: str | Path) -> Stamp | None:
    """Return the stamp of a PNG or EXR picture, or None where it carries none.

    Raises
    ------
    UnreadableFile
        When it is neither, or damaged.
    """
    path = Path(path)
    try:
        texts = dict(_texts(path))
    except (OSError, ValueError, struct.error, zlib.error, UnicodeDecodeError) as error:
        raise UnreadableFile(str(path), f"it is no whole PNG or EXR picture ({error})") from error
    return _from_facts(texts) or read_line(texts.get(NOTE, ""))


def _from_facts(texts: Mapping[str, str]) -> Stamp | None:
    known = {entry.name for entry in fields(Stamp)}
    facts = {name.removeprefix(FACT): words for name, words in texts.items() if name.startswith(FACT)}
    facts = {name: words for name, words in facts.items() if name in known}
    return Stamp(**facts) if "verdict" in facts else None


def _texts(path: Path) -> Iterator[tuple[str, str]]:
    """Yield the names and words of every text in a picture."""
    with path.open("rb") as stream:
        begin = stream.read(8)
        if begin == PNG:
            yield from _png_texts(stream)
        elif begin.startswith(EXR):
            yield from _exr_texts(stream, struct.unpack("<I", begin[4:])[0])
        else:
            raise ValueError("its first bytes are of another kind of file")


def _png_texts(stream: BinaryIO) -> Iterator[tuple[str, str]]:
    while True:
        length, kind = struct.unpack(">I4s", _exactly(stream, 8))
        if kind == b"IEND":
            return
        if kind in (b"tEXt", b"iTXt", b"zTXt") and length < LARGEST:
            yield _png_text(kind, _exactly(stream, length))
            _exactly(stream, 4)
        else:
            stream.seek(length + 4, 1)


def _png_text(kind: bytes, body: bytes) -> tuple[str, str]:
    name, _, rest = body.partition(b"\0")
    if kind == b"tEXt":
        return name.decode("latin-1"), rest.decode("utf8", "replace")
    if kind == b"zTXt":
        return name.decode("latin-1"), zlib.decompress(rest[1:]).decode("latin-1")
    packed, rest = rest[0], rest[2:]
    words = rest.split(b"\0", 2)[2]
    return name.decode("latin-1"), (zlib.decompress(words) if packed else words).decode("utf8")


def _exr_texts(stream: BinaryIO, version: int) -> Iterator[tuple[str, str]]:
    """Yield the texts of every header; a file of several parts has one header for each, ended by an empty one."""
    while True:
        name = _terminated(stream)
        first = name
        while name:
            kind = _terminated(stream)
            (length,) = struct.unpack("<I", _exactly(stream, 4))
            if length >= LARGEST:
                raise ValueError(f"'{name.decode('latin-1')}' in its header takes {length} bytes")
            body = _exactly(stream, length)
            if kind == b"string":
                yield name.decode("utf8", "replace"), body.decode("utf8", "replace")
            name = _terminated(stream)
        if not (first and version & MULTI_PART):
            return


def _terminated(stream: BinaryIO) -> bytes:
    """Return bytes up to the next zero, which names of 255 bytes at most end with."""
    word = bytearray()
    while (letter := _exactly(stream, 1)) != b"\0":
        word += letter
        if len(word) > 255:
            raise ValueError("a name in its header does not end")
    return bytes(word)


def _exactly(stream: BinaryIO, count: int) -> bytes:
    data = stream.read(count)
    if len(data) != count:
        raise ValueError("it ends in the middle")
    return data
