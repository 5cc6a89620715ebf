"""A batch too large for one page: every variant stands on exactly one, worst first over all of them."""

import csv
import json
import re
from pathlib import Path

import pytest

from dryfit.batch.batch import Batch, write_batch
from dryfit.batch.page import PER_PAGE
from dryfit.batch.row import WORST_FIRST, Row
from dryfit.batch.variant_files import report_folders


def row(number):
    verdict = WORST_FIRST[number % len(WORST_FIRST)]
    return Row(f"Warden {number:05}", f"{number:05}.npz", "", "", verdict, reason="as drawn")


@pytest.fixture(scope="module")
def out(tmp_path_factory):
    place = tmp_path_factory.mktemp("large")
    write_batch(Batch(tuple(map(row, range(2 * PER_PAGE + 345))), True), place)
    return place


def verdicts(page):
    return re.findall(r'data-verdict="(\w+)"', page.read_text(encoding="utf8"))


def test_every_variant_is_on_one_page_and_none_on_two(out):
    pages = [out / "index.html", out / "index-2.html", out / "index-3.html"]
    assert sorted(out.glob("index*")) == sorted(pages)
    named = [re.findall(r'data-name="([^"]+)"', page.read_text(encoding="utf8")) for page in pages]
    assert [len(names) for names in named] == [PER_PAGE, PER_PAGE, 345]
    assert sorted(name for names in named for name in names) == [
        f"warden {number:05}" for number in range(2 * PER_PAGE + 345)
    ]


def test_the_worst_stand_first_over_all_pages(out):
    order = verdicts(out / "index.html") + verdicts(out / "index-2.html") + verdicts(out / "index-3.html")
    assert [WORST_FIRST.index(verdict) for verdict in order] == sorted(map(WORST_FIRST.index, order))


def test_each_page_says_what_it_holds_and_leads_to_the_others(out):
    text = (out / "index-2.html").read_text(encoding="utf8")
    assert "This page holds 1001 to 2000 of 2345, worst first over all pages." in text
    assert '<b aria-current="page">1001 to 2000</b>' in text
    assert '<a href="index.html">1 to 1000</a>' in text and '<a href="index-3.html">2001 to 2345</a>' in text
    assert "469 not checked" in text, "the counts are those of the whole batch"


def test_the_tables_hold_them_all(out):
    assert len(json.loads((out / "batch.json").read_text(encoding="utf8"))["variants"]) == 2345
    with (out / "batch.csv").open(encoding="utf8", newline="") as lines:
        assert len(list(csv.DictReader(lines))) == 2345


def test_a_batch_that_fits_one_page_says_nothing_of_pages(tmp_path):
    write_batch(Batch(tuple(map(row, range(PER_PAGE))), True), tmp_path)
    assert [path.name for path in tmp_path.glob("index*")] == ["index.html"]
    assert "This page holds" not in (tmp_path / "index.html").read_text(encoding="utf8")


def test_no_variant_takes_the_name_of_a_page():
    folders = report_folders([Path("index-2.html.npz"), Path("index-2.npz")])
    assert folders[Path("index-2.npz")] == "index-2"
    assert re.fullmatch(r"index-2\.html-[0-9a-f]{8}", folders[Path("index-2.html.npz")])


def test_each_page_says_itself_how_it_is_read(out):
    for page in out.glob("index*.html"):
        text = page.read_text(encoding="utf8")
        assert '<a href="#reading">' in text and text.count('id="reading"') == 1
        assert "dryfit guide" in text.partition('id="reading"')[2]


def test_the_performers_room_is_linked_where_it_was_written(tmp_path):
    rows = (row(1), row(2))
    write_batch(Batch(rows, True), tmp_path)
    assert "room/room.html" not in (tmp_path / "index.html").read_text(encoding="utf8")
    (tmp_path / "room").mkdir()
    (tmp_path / "room" / "room.html").write_text("a page", encoding="utf8")
    write_batch(Batch(rows, True), tmp_path)
    assert '<a href="room/room.html">' in (tmp_path / "index.html").read_text(encoding="utf8")
