"""The way to the guide: the sidebar's question mark, and Blender's own manual on Dryfit's buttons."""

import fnmatch

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.guide import pages  # noqa: E402
from dryfit.ui import guide  # noqa: E402


@pytest.fixture
def opened(tmp_path, monkeypatch):
    for chapter in (pages.START, *pages.CHAPTERS):
        (tmp_path / f"{chapter}.html").write_text("<!doctype html>")
    addresses = []
    monkeypatch.setattr(pages, "FOLDER", tmp_path)
    monkeypatch.setattr(pages.webbrowser, "open", addresses.append)
    return addresses


def test_the_button_opens_the_chapter_that_it_names(design, opened, tmp_path):
    assert bpy.ops.dryfit.open_guide(chapter="first-fit") == {"FINISHED"}
    assert bpy.ops.dryfit.open_guide() == {"FINISHED"}
    assert opened == [(tmp_path / f"{name}.html").as_uri() for name in ("first-fit", pages.START)]


def test_a_copy_without_pages_says_so(design, tmp_path, monkeypatch):
    monkeypatch.setattr(pages, "FOLDER", tmp_path / "none")
    with pytest.raises(RuntimeError, match="build_guide"):
        bpy.ops.dryfit.open_guide()
    assert guide.chapters_by_name() == ("", ())


def test_blenders_manual_on_a_button_of_ours_leads_to_a_chapter(design, opened, tmp_path):
    listed = dict(bpy.utils.manual_map())
    mapping = listed[tmp_path.as_uri() + "/"]
    led = {}
    for name in ("bpy.ops.dryfit.check_fit", "bpy.ops.dryfit.write_report", "bpy.ops.dryfit.write_attributes"):
        led[name] = next(page for pattern, page in mapping if fnmatch.fnmatchcase(name, pattern))
    assert list(led.values()) == ["first-fit.html", "reading.html", "pipeline.html"]
    assert all((tmp_path / page).is_file() for _, page in mapping)
