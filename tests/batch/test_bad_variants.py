"""Bad variants, one test a kind: each gets a clear word in its row, costs only itself, and never passes."""

import csv
import io
import json
import os
import subprocess
import sys
import zipfile
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from dryfit.batch.batch import batch_tasks, run_batch, summary_lines
from dryfit.batch.local import finished_here, worker_count
from dryfit.model.progress import drain
from dryfit.model.snapshot import Motion, Part, Snapshot
from dryfit.model.snapshot_file import save_snapshot
from shapes import sheet, worn

BASE = sheet(160.0, 20)
PIECE = sheet(60.0, 40, lambda x, y: 0.1 * (30 - np.maximum(abs(x), abs(y))))
HOSTILE = (
    "=HYPERLINK(1)", "+1+1", "-2+3", "@SUM(1)", "../../../outside", "<script>alert(1)</script>",
    "'\"><img src=x onerror=alert(2)>", "&lt;b&gt;", "C:\\outside", "line\nbreak", "été 塩 🌊", "\x1b[2Jgone",
)  # fmt: skip


def scaled(mesh, factor):
    return mesh[0] * factor, mesh[1]


def plain(path):
    return save_snapshot(worn(BASE, PIECE), path)


def empty(path):
    path.write_bytes(b"")


def text_renamed(path):
    path.write_text("The Salt Orchard, day 3: wardens wade out.\n")


def cut_short(path):
    whole = plain(path).read_bytes()
    path.write_bytes(whole[: len(whole) // 2])


def bytes_turned(path):
    """The zip's list of members is whole, what is packed in it is not."""
    whole = bytearray(plain(path).read_bytes())
    whole[len(whole) // 3 : len(whole) // 2] = bytes(len(whole) // 2 - len(whole) // 3)
    path.write_bytes(whole)


def numbers_without_header(path):
    with path.open("wb") as stream:
        np.savez(stream, vertices=BASE[0])


def header_is_a_list(path):
    with path.open("wb") as stream:
        np.savez(stream, header=np.array(json.dumps([1, 2])))


def names_half_a_letter(path):
    """A name that JSON can hold and no text can."""
    save_snapshot(Snapshot("half", parts=worn(BASE, PIECE).parts, notes=("MARK",)), path)
    with np.load(path) as stored:
        arrays = {name: stored[name] for name in stored.files}
    arrays["header"] = np.array(str(arrays["header"]).replace('"MARK"', '"\\ud800"'))
    with path.open("wb") as stream:
        np.savez(stream, **arrays)


def says_it_is_endless(path):
    plain(path)
    with zipfile.ZipFile(path) as whole:
        members = {name: whole.read(name) for name in whole.namelist()}
    head = io.BytesIO()
    np.lib.format.write_array_header_1_0(head, {"descr": "<f8", "fortran_order": False, "shape": (10**12, 3)})
    members["part1.vertices_mm.npy"] = head.getvalue()
    with zipfile.ZipFile(path, "w") as changed:
        for name, content in members.items():
            changed.writestr(name, content)


def runs_when_unpickled(path):
    class Trap:
        def __reduce__(self):
            return Path.touch, (path.with_name("trace.txt"),)

    with path.open("wb") as stream:
        np.savez(stream, header=np.array([Trap()], dtype=object))


def all_in_metres(path):
    save_snapshot(worn(scaled(BASE, 0.001), scaled(PIECE, 0.001)), path)


def all_a_thousand_times_too_large(path):
    save_snapshot(worn(scaled(BASE, 1000.0), scaled(PIECE, 1000.0)), path)


def piece_in_metres(path):
    save_snapshot(worn(BASE, scaled(PIECE, 0.001)), path)


def piece_a_thousand_times_too_large(path):
    save_snapshot(worn(BASE, scaled(PIECE, 1000.0)), path)


def piece_in_centimetres(path):
    save_snapshot(worn(BASE, scaled(PIECE, 0.1)), path)


def nothing_worn(path):
    save_snapshot(Snapshot("bare", parts=(Part("Scan", "base", *BASE),)), path)


def no_base(path):
    save_snapshot(Snapshot("lost", parts=(Part("Piece", "appliance", *PIECE),)), path)


def no_faces(path):
    save_snapshot(worn(BASE, (PIECE[0], PIECE[1][:0])), path)


def too_many_triangles(path):
    save_snapshot(worn(BASE, sheet(60.0, 120)), path)


def not_numbers(path):
    vertices = PIECE[0].copy()
    vertices[7] = np.nan
    save_snapshot(worn(BASE, (vertices, PIECE[1])), path)


def landmark_nowhere(path):
    save_snapshot(worn(BASE, PIECE, landmarks={"sellion": [np.nan, 0, 0]}), path)


def frames_of_another_mesh(path):
    moved = np.zeros((2, 5, 3))
    save_snapshot(worn(BASE, PIECE, motions={"jaw": Motion("jaw", [0, 1], {"Scan": moved})}), path)


def one_name_twice(path):
    parts = (Part("Scan", "base", *BASE), Part("Brow", "appliance", *PIECE), Part("Brow", "appliance", *PIECE))
    save_snapshot(Snapshot("twice", parts=parts), path)


def link_out(path):
    outside = path.parent.parent / "outside.npz"
    path.symlink_to(plain(outside))


def link_to_nothing(path):
    path.symlink_to(path.with_name("nobody"))


def link_to_itself(path):
    path.symlink_to(path.name)


def link_to_a_folder(path):
    (path.parent / "folder").mkdir()
    path.symlink_to(path.parent / "folder")


KINDS = {
    empty: "the file is empty",
    text_renamed: "not a Dryfit snapshot",
    cut_short: "not a Dryfit snapshot",
    bytes_turned: "not a Dryfit snapshot",
    numbers_without_header: "not a Dryfit snapshot",
    header_is_a_list: "not a Dryfit snapshot",
    names_half_a_letter: "not a Dryfit snapshot",
    says_it_is_endless: "more memory than a worker may use",
    runs_when_unpickled: "not a Dryfit snapshot",
    all_in_metres: "metres read as millimetres",
    all_a_thousand_times_too_large: "millimetres read as metres",
    piece_in_metres: "metres read as millimetres",
    piece_a_thousand_times_too_large: "millimetres read as metres",
    piece_in_centimetres: "centimetres read as millimetres",
    nothing_worn: "no object has the role 'appliance'",
    no_base: "no object has the role 'base'",
    no_faces: "'Piece' has 1681 vertices and no faces",
    too_many_triangles: "29,600 triangles are more than the 20,000 of --max-triangles; most are in 'Piece'",
    not_numbers: "1 of 1681 vertices",
    landmark_nowhere: "1 landmarks have coordinates that are no finite numbers",
    frames_of_another_mesh: "the motion 'jaw' is made for 5 vertices, but the part has 441",
    one_name_twice: "used twice (Brow)",
    link_out: "leads out of the folder",
    link_to_nothing: "which is not there",
    link_to_itself: "which is not there",
    link_to_a_folder: "cannot be read",
}


def measured(folder, out, **options):
    tasks = batch_tasks(folder, None, out, only=("additive",), pictures=False, most_triangles=20_000, **options)
    return drain(run_batch(tasks, finished_here(tasks, worker_count(2, len(tasks)), 120.0, 2048), out))


@pytest.fixture(scope="module")
def batch(tmp_path_factory):
    """Every kind of bad variant and a good one, measured in one batch by two workers."""
    place = tmp_path_factory.mktemp("bad")
    folder = place / "variants"
    folder.mkdir()
    plain(folder / "good.npz")
    for kind in KINDS:
        kind(folder / f"{kind.__name__}.npz")
    found = measured(folder, place / "out")
    assert sorted(path.name for path in place.iterdir()) == ["out", "outside.npz", "variants"]
    return found


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_a_bad_variant_says_what_is_wrong_with_it(batch, kind):
    row = next(row for row in batch.rows if row.source == f"{kind.__name__}.npz")
    assert row.verdict == "unusable"
    assert KINDS[kind] in row.reason
    assert "a fault in Dryfit" not in row.reason


def test_the_good_variant_beside_them_is_measured(batch):
    assert batch.complete
    assert {row.source for row in batch.rows if row.verdict == "pass"} == {"good.npz"}


def test_a_saved_snapshot_is_data_and_runs_nothing(tmp_path):
    folder = tmp_path / "variants"
    folder.mkdir()
    runs_when_unpickled(folder / "trap.npz")
    with np.load(folder / "trap.npz", allow_pickle=True) as stored:
        stored["header"]  # the trap is real: an unpickler runs it
    assert (folder / "trace.txt").exists()
    (folder / "trace.txt").unlink()
    measured(folder, tmp_path / "out")
    assert not (folder / "trace.txt").exists()


def test_random_damage_never_looks_like_a_fault_of_ours(tmp_path):
    """Bytes of a real file turned at random: either unusable with a word, or the damage hit nothing that is read."""
    folder, rng = tmp_path / "variants", np.random.default_rng(1910)
    folder.mkdir()
    whole = plain(tmp_path / "whole.npz").read_bytes()
    for number in range(120):
        torn = bytearray(whole)
        for place in rng.integers(0, len(torn), size=1 + number % 4):
            torn[place] = int(rng.integers(256))
        (folder / f"{number:03}.npz").write_bytes(torn)
    rows = measured(folder, tmp_path / "out").rows
    assert len(rows) == 120
    assert not [row.reason for row in rows if "a fault" in row.reason or "died" in row.reason]
    assert {row.verdict for row in rows} <= {"unusable", "pass"}
    assert sum(row.verdict == "unusable" for row in rows) > 60


def test_a_link_out_of_the_folder_is_followed_when_asked(tmp_path):
    folder = tmp_path / "variants"
    folder.mkdir()
    link_out(folder / "linked.npz")
    (row,) = measured(folder, tmp_path / "out", follow_links=True).rows
    assert (row.source, row.verdict) == ("linked.npz", "pass")


@pytest.mark.parametrize("inner", ["", "heatmaps", "board"])
def test_a_report_folder_that_leads_elsewhere_is_not_written_to(tmp_path, inner):
    folder, out, elsewhere = tmp_path / "variants", tmp_path / "out", tmp_path / "elsewhere"
    for place in (folder, out, elsewhere):
        place.mkdir()
    plain(folder / "warden.npz")
    trap = out / "warden" / inner if inner else out / "warden"
    trap.parent.mkdir(exist_ok=True)
    trap.symlink_to(elsewhere)
    (row,) = measured(folder, out).rows
    assert row.verdict == "unusable"
    assert "leads out of the output" in row.reason
    assert not list(elsewhere.iterdir())


def test_a_file_name_that_is_no_text_is_reported_as_such(tmp_path):
    folder = tmp_path / "variants"
    folder.mkdir()
    try:
        plain(folder / os.fsdecode(b"\xe9t\xe9.npz"))
    except OSError:
        pytest.skip("this file system holds no such name")
    (row,) = measured(folder, tmp_path / "out").rows
    assert row.verdict == "unusable"
    assert "no valid text" in row.reason
    assert row.source == "\N{REPLACEMENT CHARACTER}t\N{REPLACEMENT CHARACTER}.npz"


class Elements(HTMLParser):
    """What a browser would make of a page: element names and attributes."""

    def __init__(self, page):
        super().__init__()
        self.found = []
        self.feed(page)

    def handle_starttag(self, tag, attributes):
        self.found.append((tag, dict(attributes)))


@pytest.fixture(scope="module")
def hostile(tmp_path_factory):
    """Designs whose own name and parts, and whose files where a file system allows it, carry hostile names."""
    place = tmp_path_factory.mktemp("names")
    folder, out = place / "variants", place / "out"
    folder.mkdir()
    dented = (PIECE[0] - [0, 0, 6.0] * (np.hypot(*PIECE[0][:, :2].T) < 14)[:, None], PIECE[1])
    for number, name in enumerate(HOSTILE):
        parts = (Part(f"{name} scan", "base", *BASE), Part(name, "appliance", *dented))
        allowed = name if "/" not in name else f"{number}"
        save_snapshot(Snapshot(name, parts=parts), folder / f"{allowed}.npz")
    tasks = batch_tasks(folder, None, out, only=("additive",))
    batch = drain(run_batch(tasks, finished_here(tasks, 2, 300.0, 0), out))
    assert len(batch.rows) == len(HOSTILE)
    assert {row.verdict for row in batch.rows} == {"fail"}
    return place, batch


def test_hostile_names_write_nothing_outside_the_output(hostile):
    place, batch = hostile
    assert sorted(path.name for path in place.iterdir()) == ["out", "variants"]
    assert len(list((place / "variants").iterdir())) == len(HOSTILE)
    assert sorted(path.parent.name for path in place.rglob("report.json")) == sorted(row.folder for row in batch.rows)
    assert not Path("C:\\outside").exists()


def test_hostile_names_stay_text_on_every_page(hostile):
    place, _ = hostile
    pages = list(place.rglob("*.html"))
    assert len(pages) == len(HOSTILE) + 1
    for page in pages:
        text = page.read_text(encoding="utf8")
        assert "<script>alert" not in text
        assert "<img src=x" not in text
        for tag, attributes in Elements(text).found:
            assert not {name for name in attributes if name.startswith("on") and name != "onsubmit"}, (tag, attributes)
            assert not str(attributes.get("src", "")).startswith(("http", "//", "javascript"))
            assert not str(attributes.get("href", "")).startswith(("http", "//", "javascript", ".."))


def test_no_cell_of_the_table_is_a_formula(hostile):
    place, _ = hostile
    lines = list(csv.reader(io.StringIO((place / "out" / "batch.csv").read_text(encoding="utf8"))))
    assert len(lines) == len(HOSTILE) + 1
    for line in lines[1:]:
        text = [cell for cell in line if not _is_number(cell)]
        assert not [cell for cell in text if cell.lstrip().startswith(("=", "+", "-", "@"))]
    assert "'=HYPERLINK(1)" in [line[0] for line in lines]


def _is_number(cell):
    try:
        float(cell)
    except ValueError:
        return False
    return True


def test_a_terminal_gets_no_control_characters(hostile):
    place, batch = hostile
    lines = summary_lines(batch, place / "out")
    assert "\x1b" not in lines
    assert len(lines.splitlines()) == len(HOSTILE) + 2


def test_a_terminal_that_knows_ascii_only_shows_any_name(tmp_path):
    plain(tmp_path / "塩.npz")
    command = [sys.executable, "-m", "dryfit", "batch", tmp_path, "--only", "additive", "--no-pictures"]
    plain_terminal = {**os.environ, "PYTHONIOENCODING": "ascii:strict"}
    done = subprocess.run([*map(str, command)], capture_output=True, text=True, env=plain_terminal, check=False)
    assert done.returncode == 0, done.stderr
    assert "\\u5869.npz" in done.stdout


@pytest.mark.parametrize(("bad", "fail_on", "code"), [(False, "fail", 2), (True, "fail", 1), (True, "never", 2)])
def test_a_folder_with_an_unusable_variant_never_exits_clean(tmp_path, bad, fail_on, code):
    plain(tmp_path / "good.npz")
    empty(tmp_path / "empty.npz")
    if bad:
        save_snapshot(worn(BASE, sheet(60.0, 40, lambda x, y: -3.0 + 0 * x)), tmp_path / "sunk.npz")
    command = [sys.executable, "-m", "dryfit", "batch", tmp_path, "--only", "additive", "--no-pictures"]
    done = subprocess.run([*map(str, command), "--fail-on", fail_on], capture_output=True, text=True, check=False)
    assert done.returncode == code, done.stdout + done.stderr
