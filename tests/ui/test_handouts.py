"""What leaves the file: the report's folder and the snapshot agree with what the sidebar shows."""

import importlib.util
import json

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
import dryfit  # noqa: E402


def test_write_report_writes_the_page_and_figures_that_the_sidebar_shows(checked, tmp_path):
    pytest.importorskip("jinja2")
    assert bpy.ops.dryfit.write_report(directory=str(tmp_path)) == {"FINISHED"}
    written = json.loads((tmp_path / "report.json").read_text())
    assert written == json.loads(checked.scene["dryfit_report"])
    page = (tmp_path / "report.html").read_text()
    assert all(item.message.split(":")[0] in page for item in checked.bench.findings if item.severity != "info")


def test_without_the_pages_libraries_it_says_what_is_missing_before_it_measures(checked, tmp_path, monkeypatch):
    find = importlib.util.find_spec
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None if name == "jinja2" else find(name))
    monkeypatch.setattr("dryfit.ui.errands.run_fitting", lambda *_: pytest.fail("measured first"))
    before = checked.scene["dryfit_report"]
    with pytest.raises(RuntimeError, match=r"\.\[cli\]"):
        bpy.ops.dryfit.write_report(directory=str(tmp_path))
    assert checked.scene["dryfit_report"] == before
    assert not (tmp_path / "report.html").exists()


def test_a_saved_snapshot_gives_the_same_findings_without_blender(checked, tmp_path):
    path = tmp_path / "design.npz"
    assert bpy.ops.dryfit.save_snapshot(filepath=str(path)) == {"FINISHED"}
    report = dryfit.check(dryfit.load_snapshot(path), only=["additive"])
    there = [item for item in checked.bench.findings if item.check == "additive"]
    here = [finding for _, finding in report.check("additive").numbered()]
    assert sorted(round(item.value, 4) for item in there) == pytest.approx(
        sorted(round(finding.value, 4) for finding in here), abs=1e-3
    )
