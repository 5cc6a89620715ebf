"""What a supervisor decides from: what was approved, columns that tell nothing, picks that can be sent, no scripts."""

import re
from dataclasses import replace
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest
from board_page import names, pick
from test_comparison import ONLY, bumped, cheek_bark, warden

from browser import quiet_page, until
from dryfit.batch.batch import Batch, write_batch
from dryfit.batch.board_head import board_head
from dryfit.batch.board_pictures import write_board
from dryfit.batch.task import Task, measure
from dryfit.model.brief import Brief, ShowBrief
from dryfit.model.progress import drain
from dryfit.model.snapshot import Part
from dryfit.model.snapshot_file import save_snapshot
from dryfit.performer.fitting import Fitting

pytestmark = pytest.mark.slow
CHECKS = (*ONLY, "airway")
APPROVED = "1 plain.npz"


def block():
    """A piece of its own above the head, that the approved design lacks."""
    corners = np.array([[x, y, z] for x in (0.0, 9.0) for y in (0.0, 9.0) for z in (0.0, 9.0)]) + [0.0, 160.0, 0.0]
    faces = [[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1], [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4],
             [1, 5, 7], [1, 7, 3]]  # fmt: skip
    return Part("Brow block", "appliance", corners, np.array(faces))


def designs():
    vertices, faces, _, normals = cheek_bark()
    return {
        "1 plain": warden(),
        "2 again": replace(warden(), name="Warden again"),
        "3 bump": warden(bumped(3.0)),
        "4 sunk": warden((vertices - 2.0 * normals, faces)),
        "5 unasked": replace(warden(bumped(2.0)), parts=(*warden(bumped(2.0)).parts, block())),
    }


@pytest.fixture(scope="module")
def board(tmp_path_factory):
    """Five designs, one asked less than the others, and a torn file, held against the first of them."""
    place = tmp_path_factory.mktemp("orchard")
    made, out = designs(), place / "out"
    for name, design in made.items():
        save_snapshot(replace(design, name=f"Warden {name[2:]}"), place / f"{name}.npz")
    (place / "torn.npz").write_bytes(b"PK no zip")
    rows = []
    for name in (*made, "torn"):
        file, held = place / f"{name}.npz", str(place / APPROVED)
        only = ("airway", "load") if name == "5 unasked" else CHECKS
        rows.append(measure(Task(str(file), "", str(out), name[:1], only, pictures=False, approved=held)))
        if name in made:
            drain(write_board(Fitting(made[name], Brief()), out / name[:1]))
    brief = Brief(show=ShowBrief(title="The Salt Orchard", character="Warden"))
    write_batch(Batch(tuple(rows), True), out, board_head(place, brief, place / APPROVED, "2026-11-28"))
    return out


@pytest.fixture
def page(browser, board):
    with quiet_page(browser, (board / "index.html").as_uri()) as opened:
        yield opened


def against(page, name):
    row = page.locator("#board tbody tr").filter(has=page.locator("th", has_text=name))
    return row.locator(".c-change").inner_text()


def test_the_head_says_whose_board_it_is(page):
    assert (
        page.locator(".head").inner_text().split()
        == (
            f"Show The Salt Orchard Character Warden Folder {page.locator('.head dd').nth(2).inner_text()} "
            f"Brief none: every limit as it comes Approved {APPROVED} Measured 2026-11-28"
        ).split()
    )


def test_each_row_says_in_words_and_mm_what_changed(page):
    assert against(page, "Warden plain").startswith("Approved")
    assert against(page, "Warden again").startswith("Unchanged")
    bump = against(page, "Warden bump")
    assert bump.startswith("Changed")
    assert 2.5 < float(re.search(r"Changed, ([\d.]+) mm", bump)[1]) < 3.2
    assert re.search(r"stands out by [\d.]+\smm over [\d.]+\smm²", bump)
    sunk = against(page, "Warden sunk")
    assert "lies deeper by" in sunk and "fail" in sunk
    assert "brow block" in against(page, "Warden unasked")
    assert against(page, "torn") == "not measured"


def test_changed_ones_are_sieved_and_sorted(page):
    page.locator("#changed").check()
    assert set(names(page)) == {"Warden bump", "Warden sunk", "Warden unasked", "torn"}
    page.locator("#clear").click()
    page.locator('[data-sort="change"]').click()
    assert names(page)[-1] == "Warden plain"
    assert names(page).index("Warden again") > names(page).index("Warden bump")


def test_best_first_what_was_not_checked_comes_last(page):
    page.locator('[data-sort="rank"]').click()
    order = page.locator("#board tbody tr").evaluate_all("all => all.map((row) => row.dataset.verdict)")
    assert order[0] in ("pass", "review")
    assert set(order[-2:]) == {"not_checked", "unusable"}
    assert order[-3] == "fail"


def test_columns_that_all_pass_fold_and_come_back(page):
    folds = page.locator("#folds")
    folded = [word.strip() for word in re.search(r"passes: (.+?)\.", folds.inner_text())[1].split(",")]
    assert folded
    for check in folded:
        column = page.locator(f'th:has([data-sort="{check.replace(" ", "_")}"])')
        assert not column.is_visible()
    page.locator("#every").check()
    assert page.locator(f'th:has([data-sort="{folded[0].replace(" ", "_")}"])').is_visible()
    verdicts = page.locator(f'td[data-label="{folded[0]}"] .badge').all_inner_texts()
    assert set(verdicts) == {"Pass"}


def test_four_stand_abreast_with_what_parts_them(page):
    pick(page, "Warden plain", "Warden bump", "Warden sunk", "Warden unasked")
    figures = page.locator("#abreast figure")
    assert figures.count() == 4
    until(page, "[...document.querySelectorAll('#abreast img')].every((image) => image.naturalWidth > 300)")
    assert [text.split("\n")[0] for text in figures.all_inner_texts()] == [
        "Warden plain", "Warden bump", "Warden sunk", "Warden unasked"
    ]  # fmt: skip
    assert page.locator("#parted th").all_inner_texts()[1:] == [
        "Warden plain", "Warden bump", "Warden sunk", "Warden unasked"
    ]  # fmt: skip
    line = page.locator("#parting tr").filter(has_text="additive")
    assert "Fail" in line.locator("td").nth(2).inner_text()


def test_what_is_seen_can_be_sent_as_a_link(browser, page, board):
    page.locator("#find").fill("warden")
    page.locator('[data-sort="additive"]').click()
    page.locator('[data-sort="additive"]').click()
    pick(page, "Warden sunk", "Warden bump")
    page.locator("#view").select_option("profile-left")
    said = parse_qs(urlsplit(page.url).fragment)
    assert said == {"find": ["warden"], "order": ["-additive"], "view": ["profile-left"],
                    "pick": ["4 sunk.npz", "3 bump.npz"]}  # fmt: skip
    seen, order = page.locator("#names").inner_text(), names(page)
    with quiet_page(browser, page.url) as sent:
        assert sent.locator("#names").inner_text() == seen
        assert names(sent) == order
        assert sent.locator("#view").input_value() == "profile-left"
        assert "profile-left" in sent.locator("#abreast img").first.get_attribute("src")


def test_without_scripts_nothing_dead_is_shown(browser, board):
    context = browser.new_context(java_script_enabled=False, viewport={"width": 1400, "height": 900})
    page = context.new_page()
    try:
        page.goto((board / "index.html").as_uri())
        for dead in (".sieve", "#pair", "#plots", "#every", ".pick", ".live"):
            assert not any(each.is_visible() for each in page.locator(dead).all()), dead
        assert page.locator("#board tbody tr").count() == 6
        assert all(cell.is_visible() for cell in page.locator("#board thead th").all()[1:])
        first, second = (
            page.locator(f"#board {row} >> nth=0").bounding_box() for row in ("thead th.c-why", "td.c-why")
        )
        assert abs(first["x"] - second["x"]) < 1.0
    finally:
        context.close()


@pytest.mark.parametrize("width", [900, 1400, 1920])
def test_every_column_fits_or_the_page_says_how_many_lie_right(browser, board, width):
    with quiet_page(browser, (board / "index.html").as_uri(), width=width, height=900) as page:
        page.locator("#every").check()
        beyond = page.locator("#board thead th").evaluate_all(
            "all => all.filter((cell) => cell.offsetWidth && cell.getBoundingClientRect().right > "
            "document.querySelector('.wide').getBoundingClientRect().right + 1).length"
        )
        wider = page.locator("#board thead th, #board .c-check, #board .c-verdict").evaluate_all(
            "all => all.filter((cell) => cell.offsetWidth && cell.scrollWidth > cell.clientWidth + 1)"
            ".map((cell) => `${cell.textContent.trim()} ${cell.scrollWidth} in ${cell.clientWidth}`)"
        )
        assert wider == [], "no word runs into the next column"
        cue = page.locator("#cue")
        assert cue.is_visible() == (beyond > 0)
        if beyond:
            assert cue.inner_text().startswith(f"{beyond} column")


def focused(page):
    return page.evaluate(
        "document.activeElement.id || document.activeElement.dataset.sort || "
        "document.activeElement.getAttribute('aria-label') || ''"
    )


def test_what_was_approved_is_sieved_sorted_and_compared_by_keyboard_alone(page):
    """Tab, Space and Enter alone: only what changed, by how much, every column, and three of them side by side."""
    reached = []
    pressed = {"changed": "Space", "every": "Space", "change": "Enter"}
    pressed |= {f"Pick Warden {name}": "Space" for name in ("bump", "sunk", "unasked")}
    for _ in range(80):
        page.keyboard.press("Tab")
        reached.append(focused(page))
        if reached[-1] in pressed:
            page.keyboard.press(pressed[reached[-1]])
        if reached[-1] == "view":
            break
    assert [name for name in pressed if name not in reached] == []
    assert page.locator("#changed").is_checked() and page.locator("#every").is_checked()
    assert page.locator("th:has([data-sort=change])").get_attribute("aria-sort") in ("ascending", "descending")
    assert set(names(page)) == {"Warden bump", "Warden sunk", "Warden unasked", "torn"}
    assert page.locator("#abreast figure").count() == 3
    assert page.locator("#abreast").is_visible()


def test_on_paper_every_variant_and_every_word_that_decides_is_whole(browser, board):
    """A3 across, less its margins, at 96 dots an inch: no row, column or word is cut."""
    with quiet_page(browser, (board / "index.html").as_uri(), width=1511, height=1047) as page:
        page.emulate_media(media="print")
        assert all(row.is_visible() for row in page.locator("#board tbody tr").all())
        assert page.locator("#board tbody tr").count() == 6
        assert page.evaluate("document.scrollingElement.scrollWidth") <= 1511
        cut = page.locator("#board tbody :is(.why, .c-name, .c-change, .c-verdict)").evaluate_all(
            "all => all.filter((each) => each.scrollWidth > each.clientWidth + 1 || "
            "each.getBoundingClientRect().right > innerWidth + 1).map((each) => each.textContent)"
        )
        assert cut == []
        assert not any(page.locator(dead).first.is_visible() for dead in (".sieve", ".pick"))
        assert page.locator(".head").is_visible()
