"""The comparison page used as a supervisor uses it, in a real browser, on designs whose differences are known."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from board_page import names, pick
from test_comparison import EVIL, ONLY, bumped, cheek_bark, warden

from browser import quiet_page, until
from dryfit.batch.batch import Batch, write_batch
from dryfit.batch.board_pictures import height_maps, write_board
from dryfit.batch.comparison import compare_all
from dryfit.batch.comparison_page import write_comparison
from dryfit.batch.page import index_pages
from dryfit.batch.row import Row
from dryfit.batch.task import Task, measure
from dryfit.model.brief import Brief
from dryfit.model.progress import drain
from dryfit.model.snapshot_file import save_snapshot
from dryfit.performer.fitting import Fitting

pytestmark = pytest.mark.slow
CHECKS = (*ONLY, "edge")


def designs():
    vertices, faces, _, normals = cheek_bark()
    return {
        "plain": warden(),
        "bump": warden(bumped(3.0)),
        "sunk": warden((vertices - 2.0 * normals, faces)),
        "evil": warden(bumped(1.0)),
    }


@pytest.fixture(scope="module")
def board(tmp_path_factory):
    """A batch's output: four designs and a torn file, measured for real, reports' own pictures left out."""
    place = tmp_path_factory.mktemp("orchard")
    rows = []
    for name, design in designs().items():
        design = replace(design, name=EVIL if name == "evil" else f"Warden {name}")
        save_snapshot(design, place / f"{name}.npz")
        task = Task(str(place / f"{name}.npz"), "", str(place / "out"), name, CHECKS, pictures=False)
        rows.append(measure(task))
        drain(write_board(Fitting(design, Brief()), place / "out" / name))
    (place / "torn.npz").write_bytes(b"PK no zip")
    rows.append(measure(Task(str(place / "torn.npz"), "", str(place / "out"), "torn", CHECKS, pictures=False)))
    write_batch(Batch(tuple(rows), True), place / "out")
    return place / "out"


@pytest.fixture
def page(browser, board):
    with quiet_page(browser, (board / "index.html").as_uri()) as opened:
        yield opened


def heading(page, check):
    return page.locator(f'[data-sort="{check}"]')


def test_the_worst_comes_first_and_every_heading_sorts(page):
    assert names(page)[0] == "Warden sunk"
    assert names(page)[-1] == "torn"
    heading(page, "name").click()
    assert names(page) == sorted(names(page), key=str.lower)
    assert page.locator("th:has([data-sort=name])").get_attribute("aria-sort") == "ascending"
    heading(page, "name").click()
    assert names(page) == sorted(names(page), key=str.lower, reverse=True)
    heading(page, "additive").click()
    assert names(page)[0] == "Warden sunk"
    assert page.locator("th:has([data-sort=name])").get_attribute("aria-sort") == "none"


def test_within_one_status_the_worse_figure_comes_first(page):
    heading(page, "thickness").click()
    first = names(page)
    heading(page, "thickness").click()
    second = names(page)
    assert first[-1] == second[-1] == "torn"  # what was not asked comes after all that was, best first too
    assert sorted(first) == sorted(second)
    assert first != second


def test_words_verdicts_and_checks_sieve(page):
    page.locator("#find").fill("warden BUMP")
    assert names(page) == ["Warden bump"]
    assert page.locator("#shown").inner_text() == "1 of 5 shown"
    page.locator("#clear").click()
    page.locator("#verdict").select_option("unusable")
    assert names(page) == ["torn"]
    page.locator("#clear").click()
    page.locator("#failing").select_option("additive")
    assert names(page) == ["Warden sunk"]
    page.locator("#clear").click()
    assert len(names(page)) == 5
    pick(page, "Warden plain")
    page.locator("#only").check()
    assert names(page) == ["Warden plain"]


def test_two_picked_ones_stand_side_by_side_and_differ_by_what_was_measured(page):
    assert not page.locator("#pair").is_visible()
    pick(page, "Warden plain", "Warden bump")
    assert "Both were taken from the very same place." in page.locator("#cameras").inner_text()
    until(page, "difference !== null")
    shown = np.array(page.evaluate("Array.from(difference.values, (value) => Number.isNaN(value) ? 1e9 : value)"))
    made = designs()
    older, newer = (height_maps(Fitting(made[name], Brief()))[0].height_mm.ravel() for name in ("plain", "bump"))
    expected = newer - older
    known = np.isfinite(expected)
    assert ((shown < 1e8) == known).all()
    np.testing.assert_allclose(shown[known], expected[known], atol=0.0101)  # two roundings to a hundredth
    said = page.locator("#said").inner_text()
    most = float(re.search(r"stands out by up to ([\d.]+) mm", said)[1])
    assert most == pytest.approx(np.nanmax(expected), abs=0.0101)
    assert 2.5 < most < 3.2
    assert "Warden bump stands out" in page.locator("#high").inner_text()
    page.locator("#swap").click()
    until(page, "difference !== null && difference.values.some((value) => value < -2.5)")
    assert "Warden plain stands out" in page.locator("#high").inner_text()


def test_the_map_is_painted_where_and_only_where_they_differ(page):
    pick(page, "Warden plain", "Warden bump")
    until(page, "difference !== null")
    colours = np.array(page.evaluate(
        "Array.from(by('map').getContext('2d').getImageData(0, 0, difference.width, difference.height).data)"
    )).reshape(-1, 4)  # fmt: skip
    values = np.array(page.evaluate("Array.from(difference.values, (value) => Number.isNaN(value) ? 1e9 : value)"))
    red, blue = colours[:, 0], colours[:, 2]
    assert (colours[values > 1e8, 3] == 0).all()
    assert ((colours[:, 3] == 255) == ((abs(values) > 0.0051) & (values < 1e8))).all()
    assert (blue[(values > 1) & (values < 1e8)] > red[(values > 1) & (values < 1e8)] + 20).all()


def test_the_slider_uncovers_by_mouse_and_by_key(page):
    pick(page, "Warden plain", "Warden sunk")
    upper, slide = page.locator("#upper"), page.locator("#slide")
    assert page.evaluate("by('upper').style.clipPath") == "inset(0px 50% 0px 0px)"
    slide.focus()
    for _ in range(10):
        page.keyboard.press("ArrowRight")
    assert page.evaluate("by('upper').style.clipPath") == "inset(0px 40% 0px 0px)"
    box = slide.bounding_box()
    page.mouse.click(box["x"] + 2, box["y"] + box["height"] / 2)
    assert page.evaluate("by('slide').value") in ("0", "1")
    assert upper.get_attribute("alt") == "Warden plain"
    assert page.locator("#under").get_attribute("alt") == "Warden sunk"
    page.locator("#view").select_option("profile-left")
    assert page.locator("#under").get_attribute("src").endswith("sunk/board/profile-left.png")
    until(page, "by('under').complete && by('under').naturalWidth === 480")


def test_everything_is_reached_and_worked_by_keyboard_alone(page):
    page.keyboard.press("Tab")
    reached = []
    for _ in range(60):
        reached.append(page.evaluate("document.activeElement.id || document.activeElement.dataset.sort || "
                                     "document.activeElement.getAttribute('aria-label') || ''"))  # fmt: skip
        if reached[-1] == "additive":
            page.keyboard.press("Enter")
        if reached[-1] in ("Pick Warden plain", "Pick Warden sunk"):
            page.keyboard.press("Space")
        if reached[-1] == "slide":
            break
        page.keyboard.press("Tab")
    wanted = ["find", "verdict", "failing", "only", "clear", "Table of variants", "name", "rank", *CHECKS,
              "Pick Warden plain", "view", "swap", "slide"]  # fmt: skip
    assert [name for name in wanted if name not in reached] == []
    assert page.locator("th:has([data-sort=additive])").get_attribute("aria-sort") == "ascending"
    page.keyboard.press("ArrowLeft")
    assert page.evaluate("by('slide').value") == "49"


def test_a_name_is_text_wherever_it_stands(page):
    page.locator("#find").fill("</title><script>")
    assert names(page) == [EVIL]
    page.locator("#clear").click()
    pick(page, EVIL, "Warden plain")
    assert EVIL in page.locator("#names").inner_text()
    assert EVIL in page.locator("#parted").inner_text()
    until(page, "difference !== null")
    assert EVIL in page.locator("#low").inner_text()
    assert EVIL in page.locator("#drawn").first.text_content()
    assert page.locator("script:not([src])").count() == 2


def test_curves_of_picked_ones_are_strong_and_sieved_ones_are_gone(page):
    assert page.locator("path.line").count() == 4  # thickness from the rim, one for each measured design
    pick(page, "Warden bump")
    assert page.locator("path.strong").count() == 1
    assert page.locator("#drawn text", has_text="Warden bump").count() == 1
    page.locator("#find").fill("sunk")
    drawn = page.locator("path.line").evaluate_all("all => all.filter((path) => path.style.display !== 'none').length")
    assert drawn == 2  # the one that the table shows, and the picked one
    page.locator("[aria-label='Pick Warden bump']").evaluate("box => box.click()")
    assert page.locator("path.strong").count() == 0


def test_a_narrow_window_scrolls_the_table_and_not_the_page(browser, board):
    with quiet_page(browser, (board / "index.html").as_uri(), width=390, height=800) as page:
        pick(page, "Warden plain", "Warden bump")
        until(page, "difference !== null")
        assert page.evaluate("document.scrollingElement.scrollWidth") <= 390


def test_it_prints_on_a3_landscape(page):
    page_sizes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", page.pdf(prefer_css_page_size=True))
    assert page_sizes
    for width, height in page_sizes:
        assert (float(width), float(height)) == pytest.approx((1190.6, 841.9), abs=1.0)


def test_the_page_of_two_revisions_works_and_stays_quiet(browser, board, tmp_path):
    steps = drain(compare_all([board.parent / "plain.npz", board.parent / "evil.npz"], only=ONLY))
    drain(write_comparison(steps, tmp_path))
    with quiet_page(browser, (tmp_path / "comparison.html").as_uri()) as page:
        assert EVIL in page.locator("h1").inner_text()
        slide = page.locator("input[type=range]").first
        slide.focus()
        page.keyboard.press("ArrowRight")
        assert page.locator(".upper").first.evaluate("layer => layer.style.clipPath") == "inset(0px 0px 0px 51%)"
        assert page.locator("img").evaluate_all("all => all.every((image) => image.naturalWidth > 0)")
    with quiet_page(browser, (tmp_path / "comparison.html").as_uri(), width=390) as page:
        assert page.evaluate("document.scrollingElement.scrollWidth") <= 390


def test_hundreds_of_variants_are_laid_out_and_loaded_only_where_they_are_seen(browser, board):
    stored = [row for row in json.loads((board / "batch.json").read_text(encoding="utf8"))["variants"] if row["folder"]]
    many = [Row(**{**stored[place % len(stored)], "name": f"Warden {place}"}) for place in range(300)]
    ((_, text),) = index_pages(many, board, True)
    (board / "many.html").write_text(text, encoding="utf8")
    with quiet_page(browser, (board / "many.html").as_uri()) as page:
        until(page, "[...document.querySelectorAll('#board img')].some((image) => image.complete)")
        loaded = page.locator("#board img").evaluate_all("all => all.filter((image) => image.complete).length")
        assert 0 < loaded < 100
        skipped = page.locator("#board tbody tr").evaluate_all("all => all.filter((row) => !row.cells[2].checkVisibility("
                                                               "{ contentVisibilityAuto: true })).length")  # fmt: skip
        assert skipped > 200
        assert page.evaluate("document.querySelectorAll('#board *').length") < 300 * 45
        heading(page, "name").click()
        assert page.locator("#board tbody th").evaluate_all(
            "all => all.slice(0, 3).map((cell) => cell.firstChild.textContent)"
        ) == ["Warden 0", "Warden 1", "Warden 2"]
        page.locator("#find").fill("warden 299")
        assert page.locator("#shown").inner_text() == "1 of 300 shown"
