import json
import os
from datetime import UTC, datetime

import pytest

from dryfit.model.brief import Brief
from dryfit.model.errors import UnwritableOutput
from dryfit.model.progress import drain
from dryfit.report.schema import InvalidReport, validate
from dryfit.report.whole_files import write_whole
from dryfit.report.writing import MissingLibraries, write_report
from worn_sphere import check, clearance, finding, report, result, worn_sphere

pytest.importorskip("jinja2")
pytest.importorskip("matplotlib")
pytest.importorskip("PIL")
WRITTEN = datetime(2026, 11, 25, tzinfo=UTC)


def painted_report(snapshot):
    return report(snapshot, [result(findings=[finding()], fields=(clearance(snapshot),))])


def write(folder, stated=None, **options):
    snapshot = worn_sphere()
    options = {"checks": [check()], "written": WRITTEN} | options
    return drain(write_report(stated or painted_report(snapshot), snapshot, Brief(), folder, **options))


def everything(folder):
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def test_three_kinds_of_file_appear_and_nothing_else(tmp_path):
    files = write(tmp_path / "new" / "out")
    names = [path.relative_to(tmp_path / "new" / "out").as_posix() for path in files]
    assert names[:2] == ["report.json", "report.html"]
    assert all(name.startswith("heatmaps/") and name.endswith(".png") for name in names[2:])
    assert set(everything(tmp_path / "new" / "out")) == {os.path.normpath(name) for name in names}


def test_the_json_obeys_the_schema_and_the_same_input_gives_the_same_files(tmp_path):
    write(tmp_path / "one")
    write(tmp_path / "two")
    assert validate(json.loads((tmp_path / "one" / "report.json").read_text("utf-8"))) is not None
    assert everything(tmp_path / "one") == everything(tmp_path / "two")


def test_progress_rises_to_one(tmp_path):
    snapshot = worn_sphere()
    job = write_report(painted_report(snapshot), snapshot, Brief(), tmp_path, checks=[check()], pictures=False)
    fractions = [step.fraction for step in job]
    assert fractions == sorted(fractions)
    assert fractions[-1] == 1.0


def test_a_job_closed_half_way_writes_nothing(tmp_path):
    snapshot = worn_sphere()
    job = write_report(painted_report(snapshot), snapshot, Brief(), tmp_path / "out", checks=[check()])
    next(job)
    job.close()
    assert not (tmp_path / "out").exists()


def test_an_invalid_report_writes_nothing(tmp_path):
    broken = report(results=[result(findings=[finding(message="")])])
    with pytest.raises(InvalidReport):
        write(tmp_path / "out", broken, pictures=False)
    assert not (tmp_path / "out").exists()


def test_a_missing_library_is_named_and_nothing_is_written(tmp_path, monkeypatch):
    import importlib.util

    find = importlib.util.find_spec
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None if name == "PIL" else find(name))
    with pytest.raises(MissingLibraries, match=r"Pillow.*pip install '.\[cli\]'"):
        write(tmp_path / "out")
    assert not (tmp_path / "out").exists()
    write(tmp_path / "out", pictures=False)


def test_a_file_where_the_folder_should_be_is_said_and_left_alone(tmp_path):
    place = tmp_path / "out"
    place.write_text("mine")
    with pytest.raises(UnwritableOutput, match="out"):
        write(place, pictures=False)
    assert place.read_text() == "mine"


def test_a_folder_in_the_way_of_one_file_stops_all_of_them(tmp_path):
    (tmp_path / "report.html").mkdir()
    (tmp_path / "report.json").write_text("before")
    with pytest.raises(UnwritableOutput):
        write(tmp_path, pictures=False)
    assert (tmp_path / "report.json").read_text() == "before"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["report.html", "report.json"]


@pytest.mark.parametrize("stop", [OSError(28, "No space left on device"), KeyboardInterrupt(), MemoryError()])
def test_a_disk_that_fills_up_or_a_stop_leaves_nothing(tmp_path, stop):
    def pieces():
        yield b"begun"
        raise stop

    with pytest.raises(UnwritableOutput if isinstance(stop, OSError) else type(stop)) as caught:
        write_whole(tmp_path / "deep" / "er", {"a.txt": b"a", "sub/b.txt": pieces()})
    assert list(tmp_path.iterdir()) == []
    assert isinstance(stop, KeyboardInterrupt | MemoryError) or "No space left" in str(caught.value)


def test_what_comes_in_pieces_is_written_one_after_the_other(tmp_path):
    assert write_whole(tmp_path, {"a.txt": iter([b"one ", b"two"])}) == [tmp_path / "a.txt"]
    assert (tmp_path / "a.txt").read_bytes() == b"one two"


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="needs a user whom permissions stop")
def test_a_read_only_folder_is_said(tmp_path):
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(UnwritableOutput, match="Permission denied"):
            write(tmp_path / "out", pictures=False)
    finally:
        tmp_path.chmod(0o700)


def test_pictures_of_an_earlier_report_go_and_other_pictures_stay(tmp_path):
    write(tmp_path)
    heatmaps = tmp_path / "heatmaps"
    (heatmaps / "old-worst.png").write_bytes((heatmaps / "worn-front.png").read_bytes())
    (heatmaps / "holiday.png").write_bytes(b"\x89PNG mine")
    write(tmp_path)
    assert not (heatmaps / "old-worst.png").exists()
    assert (heatmaps / "holiday.png").exists()


def test_the_stated_time_can_be_fixed_from_outside(tmp_path, monkeypatch):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "0")
    write(tmp_path, written=None, pictures=False)
    assert "1 January 1970, 00:00 UTC" in (tmp_path / "report.html").read_text("utf-8")
