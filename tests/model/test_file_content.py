"""The hash that a report states is that of the file that was read."""

import hashlib
import os

import numpy as np
import pytest

import dryfit
from dryfit.model.errors import UnreadableFile
from dryfit.model.file_content import ChangedWhileRead, digest_of, held_still, require_digest
from dryfit.model.snapshot import Part, Snapshot
from dryfit.model.snapshot_file import save_snapshot


def snapshot(scale):
    return Snapshot("warden", parts=(Part("Scan", "base", scale * np.eye(3), np.array([[0, 1, 2]])),))


def test_a_file_that_stays_has_one_hash(tmp_path):
    path = tmp_path / "warden.npz"
    path.write_bytes(b"held")
    with held_still(path) as digest:
        pass
    assert digest == require_digest(path) == hashlib.sha256(b"held").hexdigest()


@pytest.mark.parametrize("keep_times", [False, True])
def test_a_file_that_changes_while_it_is_read_is_refused(tmp_path, keep_times):
    path = tmp_path / "warden.npz"
    path.write_bytes(b"before")
    times = path.stat()

    def swap():
        path.write_bytes(b"after!")
        if keep_times:
            os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))

    with pytest.raises(ChangedWhileRead, match=r"warden\.npz: it changed while it was read"), held_still(path):
        swap()


def test_a_file_that_goes_while_it_is_read_is_refused(tmp_path):
    path = tmp_path / "warden.npz"
    path.write_bytes(b"before")
    with pytest.raises(ChangedWhileRead), held_still(path):
        path.unlink()


def test_a_design_swapped_while_it_is_read_gives_no_snapshot(tmp_path, monkeypatch):
    path = save_snapshot(snapshot(100.0), tmp_path / "warden.npz")
    read = dryfit.design.load_saved_snapshot

    def read_and_swap(source):
        found = read(source)
        save_snapshot(snapshot(120.0), path)
        return found

    assert dryfit.load_snapshot(path).sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    monkeypatch.setattr("dryfit.design.load_saved_snapshot", read_and_swap)
    with pytest.raises(ChangedWhileRead):
        dryfit.load_snapshot(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no such pipes")
def test_a_pipe_has_no_hash_and_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "library.blend")
    assert digest_of(tmp_path / "library.blend") == ""
    with pytest.raises(OSError, match="a device or a pipe"):
        require_digest(tmp_path / "library.blend")
    with pytest.raises(UnreadableFile, match="a device or a pipe"), held_still(tmp_path / "library.blend"):
        pass
