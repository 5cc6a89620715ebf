"""One base for many variants: read once, indexed once, found again by content, and the figures do not change."""

import numpy as np
import pytest

from dryfit.api import load_snapshot
from dryfit.batch import task as measuring
from dryfit.batch.task import Task, measure
from dryfit.model.snapshot import Part, Snapshot
from dryfit.model.snapshot_file import save_snapshot
from dryfit.performer.indexed_bases import IndexedBases
from dryfit.scene import kept_base
from shapes import sheet

BRIEF = '[base]\nfile = "performer.npz"\n'


def piece(depth_mm):
    return sheet(60.0, 40, lambda x, y: 2.0 - depth_mm * (np.hypot(x, y) < 10))


@pytest.fixture
def place(tmp_path, monkeypatch):
    monkeypatch.setattr(measuring, "BASES", IndexedBases())
    kept_base._read.cache_clear()
    save_snapshot(bare(0.0), tmp_path / "performer.npz")
    (tmp_path / "brief.toml").write_text(BRIEF)
    for number in range(4):
        parts = (Part("Piece", "appliance", *piece(1.0 + number)),)
        save_snapshot(Snapshot(f"{number}", parts=parts), tmp_path / f"{number}.npz")
    return tmp_path


def bare(lift_mm):
    base = sheet(160.0, 20, lambda x, y: lift_mm + 0 * x)
    return Snapshot("performer", parts=(Part("Scan", "base", *base),), landmarks={"sellion": [0, 0, 0]})


def rows(place, numbers=range(4)):
    tasks = [
        Task(
            str(place / f"{number}.npz"),
            str(place / "brief.toml"),
            str(place / "out"),
            f"{number}",
            ("additive",),
            pictures=False,
        )
        for number in numbers
    ]
    return [measure(task) for task in tasks]


def test_a_base_is_read_and_indexed_once_for_all_its_variants(place, monkeypatch):
    read = []
    reading = kept_base.read_base
    monkeypatch.setattr(kept_base, "read_base", lambda *asked: read.append(asked) or reading(*asked))
    found = rows(place)
    assert [row.verdict for row in found] == ["pass", "pass", "fail", "fail"], found
    assert len(read) == 1
    assert measuring.BASES.built == 1


def test_a_base_whose_file_changed_is_read_and_indexed_again(place):
    (before,) = rows(place, [0])
    save_snapshot(bare(5.0), place / "performer.npz")
    (after,) = rows(place, [0])
    assert (before.verdict, after.verdict) == ("pass", "fail")
    assert after.measures["additive.max_depth_mm"] == pytest.approx(4.0)
    assert measuring.BASES.built == 2


def test_what_the_brief_says_of_the_base_counts_too(place):
    rows(place, [0])
    (place / "brief.toml").write_text(BRIEF + 'object = "Nobody"\n')
    (row,) = rows(place, [0])
    assert row.verdict == "unusable"
    assert "'Nobody' is not there" in row.reason


def test_shared_and_own_indexes_give_the_same_report(place, monkeypatch):
    shared = [row.body() for row in rows(place)]
    for number in range(4):
        monkeypatch.setattr(measuring, "BASES", IndexedBases())
        kept_base._read.cache_clear()
        assert [row.body() for row in rows(place, [number])] == [shared[number]]


def test_the_base_of_the_brief_is_worn_with_its_landmarks(place):
    snapshot = load_snapshot(place / "0.npz")
    assert [str(part.role) for part in snapshot.parts] == ["base", "appliance"]
    assert list(snapshot.landmarks) == ["sellion"]


def test_a_moved_vertex_makes_another_base():
    bases = IndexedBases()
    vertices, faces = sheet(160.0, 20)
    first = bases.surface(vertices, faces)
    assert bases.surface(vertices.copy(), faces.copy()) is first
    moved = vertices.copy()
    moved[0, 2] = np.nextafter(moved[0, 2], 1.0)
    assert bases.surface(moved, faces) is not first
    assert bases.surface(moved, faces[::-1]) is not first
    assert bases.built == 3
