"""The way to the guide: the sidebar's question mark, and Blender's own manual on Dryfit's buttons."""

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.guide import pages  # noqa: E402
from dryfit.ui import guide  # noqa: E402

LED_TO = {"check_fit": "first-fit", "write_report": "reading", "write_attributes": "pipeline"}


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
    look_up = bpy.types.WM_OT_doc_view_manual._lookup_rna_url
    led = {name: look_up(f"bpy.ops.dryfit.{name}", verbose=False) for name in LED_TO}
    assert led == {name: (tmp_path / f"{chapter}.html").as_uri() for name, chapter in LED_TO.items()}
    assert {chapter for _, chapter in guide.CHAPTER_OF} <= {*pages.CHAPTERS}
