"""How large a packed file is unpacked, told from its headers: a few megabytes can hold more than a machine can.

Zip archives (``.npz``, ``.usdz``) list what is in them at their end; Zstandard (``.blend``) states the size of each
frame, or frames of blocks of at most 128 KiB each (RFC 8878, section 3.1.1); gzip (older ``.blend``) ends in its size
modulo 4 GiB, and no more than 1032 bytes come out of one (zlib's own figure for deflate).
"""

import struct
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from .errors import UnreadableFile

ALLOWED = 256 * 1024 * 1024
"""So much may come out of any file, however small, bytes."""
MOST_TIMES = 200
"""Beyond that, so many times the packed size. Saved meshes come to 2 to 20 times, empty attributes to a few more."""
MOST = 16 * 1024 * 1024 * 1024
"""No file may unpack to more, bytes: twenty times a design of 4 million triangles with 17 key frames."""

GZIP, GZIP_TIMES = b"\x1f\x8b", 1032
ZSTD, SKIPPABLE = 0xFD2FB528, 0x184D2A50
BLOCK, RAW, RLE = 128 * 1024, 0, 1
FIELD_BYTES = (0, 2, 4, 8)
DICTIONARY_BYTES = (0, 1, 2, 4)


class TooLargeUnpacked(UnreadableFile):
    """A packed file that would fill the machine's memory."""

    def __init__(self, file: str, packed: int, unpacked: int) -> None:
        super().__init__(
            file,
            f"its {_size(packed)} would unpack to {_size(unpacked)}, as no design does. It was not unpacked; "
            "export it again, or save it uncompressed",
        )


def require_bounded(file: Path, unpacked: int) -> None:
    """Raise when a file unpacks to more than any design.

    Raises
    ------
    TooLargeUnpacked
    OSError
    """
    packed = file.stat().st_size
    if unpacked > MOST or unpacked > max(ALLOWED, MOST_TIMES * packed):
        raise TooLargeUnpacked(str(file), packed, unpacked)


def zip_size(archive: zipfile.ZipFile) -> int:
    """Return the bytes that the members of a zip archive unpack to, by its own list."""
    return sum(member.file_size for member in archive.infolist())


def gzip_size(file: Path) -> int:
    """Return the bytes that a gzip file says it unpacks to; its own size where it is too large to tell.

    Raises
    ------
    OSError
    """
    packed = file.stat().st_size
    with file.open("rb") as stream:
        stream.seek(max(0, packed - 4))
        stated = int.from_bytes(stream.read(4), "little")
    return stated if packed * GZIP_TIMES < 1 << 32 else packed


def zstd_size(file: Path) -> int:
    """Return the bytes that the frames of a Zstandard file unpack to at most; what is damaged counts as nothing.

    Raises
    ------
    OSError
    """
    with file.open("rb") as stream:
        return sum(_frames(stream))


def _frames(stream: BinaryIO) -> Iterator[int]:
    while len(mark := stream.read(4)) == 4:
        number = int.from_bytes(mark, "little")
        if number == ZSTD:
            yield _frame(stream)
        elif number & ~0xF == SKIPPABLE:
            stream.seek(int.from_bytes(stream.read(4), "little"), 1)
        else:
            return


def _frame(stream: BinaryIO) -> int:
    """Pass over a frame and return the size that its header states, else what its blocks may hold at most."""
    (flags,) = stream.read(1) or (0,)
    single, checksum = flags >> 5 & 1, flags >> 2 & 1
    stream.seek((1 - single) + DICTIONARY_BYTES[flags & 3], 1)
    width = FIELD_BYTES[flags >> 6] or single
    stated = int.from_bytes(stream.read(width), "little") + (256 if width == 2 else 0)
    held = sum(_blocks(stream))
    stream.seek(4 * checksum, 1)
    return stated if width else held


def _blocks(stream: BinaryIO) -> Iterator[int]:
    while len(head := stream.read(3)) == 3:
        (number,) = struct.unpack("<I", head + b"\0")
        last, kind, size = number & 1, number >> 1 & 3, number >> 3
        yield size if kind in (RAW, RLE) else BLOCK
        stream.seek(1 if kind == RLE else size, 1)
        if last:
            return


def _size(count: int) -> str:
    for unit, bytes_in_it in (("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if count >= bytes_in_it:
            return f"{count / bytes_in_it:.1f} {unit}"
    return f"{count} bytes"
