"""Packed files that would fill the machine are refused from their headers, before a byte of them is unpacked."""

import gzip
import io
import json
import struct
import zipfile

import numpy as np
import pytest

from dryfit.model.errors import UnreadableFile
from dryfit.model.snapshot import Part, Snapshot
from dryfit.model.snapshot_file import load_saved_snapshot, save_snapshot
from dryfit.model.unpacked_size import (
    ALLOWED,
    BLOCK,
    TooLargeUnpacked,
    gzip_size,
    require_bounded,
    zip_size,
    zstd_size,
)

ZSTD_MARK = struct.pack("<I", 0xFD2FB528)


def zstd_frame(blocks, stated=None, checksum=False):
    """A Zstandard frame as RFC 8878 lays it out: (kind, size) of blocks, and the size that the header states."""
    flags = (3 << 6 if stated is not None else 0) | checksum << 2
    head = bytes([flags, 0]) + (struct.pack("<Q", stated) if stated is not None else b"")
    body = b""
    for place, (kind, size) in enumerate(blocks):
        body += struct.pack("<I", (place == len(blocks) - 1) | kind << 1 | size << 3)[:3]
        body += b"\0" if kind == 1 else bytes(size)
    return ZSTD_MARK + head + body + bytes(4 * checksum)


def test_the_frames_of_zstandard_are_added_up(tmp_path):
    path = tmp_path / "warden.blend"
    seek_table = struct.pack("<II", 0x184D2A5E, 17) + bytes(17)
    path.write_bytes(zstd_frame([(1, 5000), (0, 70)], checksum=True) + zstd_frame([(0, 3)], stated=1234) + seek_table)
    assert zstd_size(path) == 5000 + 70 + 1234
    path.write_bytes(zstd_frame([(2, 9), (2, 9)]))
    assert zstd_size(path) == 2 * BLOCK
    path.write_bytes(zstd_frame([(1, 5000), (0, 70)])[:-73])
    assert zstd_size(path) == 5000
    path.write_bytes(b"BLENDER-v402")
    assert zstd_size(path) == 0


def test_a_small_zstandard_file_that_unpacks_to_gigabytes_is_refused(tmp_path):
    path = tmp_path / "bomb.blend"
    path.write_bytes(zstd_frame([(1, BLOCK)] * 45_000))
    assert path.stat().st_size < 200_000
    with pytest.raises(TooLargeUnpacked, match=r"bomb\.blend: cannot be read: its 18\d\.\d kB would unpack to 5\.9 GB"):
        require_bounded(path, zstd_size(path))


def test_gzip_says_its_size_at_its_end(tmp_path):
    path = tmp_path / "old.blend"
    path.write_bytes(gzip.compress(bytes(300_000_000), 1))
    assert gzip_size(path) == 300_000_000
    with pytest.raises(TooLargeUnpacked):
        require_bounded(path, gzip_size(path))
    path.write_bytes(gzip.compress(b"BLENDER" * 100))
    require_bounded(path, gzip_size(path))


def archive_of_zeros(path, count):
    """A snapshot whose piece has so many vertices, all at the origin, written in pieces."""
    small = Snapshot("bomb", parts=(Part("Scan", "base", np.zeros((3, 3)), np.array([[0, 1, 2]])),))
    with zipfile.ZipFile(save_snapshot(small, path)) as whole:
        members = {name: whole.read(name) for name in whole.namelist()}
    head = io.BytesIO()
    np.lib.format.write_array_header_1_0(head, {"descr": "<f8", "fortran_order": False, "shape": (count, 3)})
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as changed:
        for name, content in members.items():
            with changed.open(name, "w") as stream:
                if name != "part0.vertices_mm.npy":
                    stream.write(content)
                    continue
                stream.write(head.getvalue())
                for start in range(0, count, 500_000):
                    stream.write(bytes(24 * min(500_000, count - start)))
    return path


def test_a_small_snapshot_that_unpacks_to_far_more_is_refused(tmp_path):
    path = archive_of_zeros(tmp_path / "bomb.npz", 15_000_000)
    assert path.stat().st_size < 3_000_000
    with pytest.raises(TooLargeUnpacked, match=r"would unpack to 360\.0 MB, as no design does"):
        load_saved_snapshot(path)


def test_a_large_snapshot_is_none(tmp_path):
    rng = np.random.default_rng(18)
    vertices = rng.normal(0.0, 80.0, (200_000, 3))
    faces = rng.integers(0, 200_000, (400_000, 3))
    path = save_snapshot(Snapshot("dense", parts=(Part("Scan", "base", vertices, faces),)), tmp_path / "dense.npz")
    with zipfile.ZipFile(path) as archive:
        assert zip_size(archive) > 10_000_000
        require_bounded(path, zip_size(archive))
    assert len(load_saved_snapshot(path).parts[0].faces) == 400_000


def test_whatever_the_packed_size_a_little_is_allowed(tmp_path):
    path = tmp_path / "small.npz"
    path.write_bytes(b"x")
    require_bounded(path, ALLOWED)
    with pytest.raises(TooLargeUnpacked):
        require_bounded(path, ALLOWED + 1)


@pytest.mark.parametrize("header", [1, None, [], "words", {"format": 3}, {"format": "dryfit.snapshot/1", "name": []}])
def test_a_header_of_another_kind_is_no_snapshot(tmp_path, header):
    with (tmp_path / "odd.npz").open("wb") as stream:
        np.savez(stream, header=np.array(json.dumps(header)))
    with pytest.raises(UnreadableFile, match=r"odd\.npz: cannot be read: "):
        load_saved_snapshot(tmp_path / "odd.npz")
