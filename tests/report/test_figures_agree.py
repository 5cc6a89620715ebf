"""No figure on a page contradicts another: each is read back and held against the JSON; the first screen reads well."""

import json
import re
from datetime import UTC, datetime
from functools import cache
from html.parser import HTMLParser

import pytest

from demo_reports import whole_report
from dryfit.checks.causes import causes
from dryfit.checks.deciding import deciding_figure
from dryfit.checks.headline import headline
from dryfit.checks.registry import CHECKS
from dryfit.model.brief import Brief
from dryfit.report.wording import with_unit

pytest.importorskip("jinja2")
from dryfit.report.page import page_html

WARDENS = (
    "01-warden-plain", "02-warden-tusks", "03-warden-hollow-cheek", "04-warden-thick-edge", "05-warden-short-lips",
    "06-warden-bronze",
)  # fmt: skip
WRITTEN = datetime(2026, 11, 25, 12, 30, tzinfo=UTC)
VOID = {"meta", "link", "img", "br", "path", "rect", "use", "circle", "polygon", "line"}
MEASURED = re.compile(
    r"(?<![\w.])(\d+(?:[ \u202f]\d{3})*(?:\.\d+)?)[ \u00a0]?(mm[²³]?|cm²|g/cm²|J/m²|g|°|%|N·cm)(?![\w/])"
)


class Sheet(HTMLParser):
    """The words of each section of a page, headings, and the cells of its table; drawings and scripts left out."""

    def __init__(self, text):
        super().__init__()
        self.open, self.words, self.headings, self.values, self.scopes = [], {}, [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        if tag not in VOID:
            self.open.append((tag, dict(attrs).get("class", "") or ""))
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag == "th":
            self.scopes.append(dict(attrs).get("scope"))

    def handle_endtag(self, tag):
        if tag not in VOID and self.open:
            self.open.pop()

    def handle_data(self, data):
        tags, classes = [tag for tag, _ in self.open], [name for _, name in self.open]
        if {"svg", "style", "script"} & {*tags}:
            return
        section = next((name for name in classes if name in ("first", "second", "appendix")), "")
        block = "top" if "top" in classes else ""
        self.words.setdefault((section, block), []).append(data.strip())
        if classes and classes[-1] == "value":
            self.values.append(data)

    def text(self, section, block=""):
        return " ".join(" ".join(self.words.get((section, block), ())).split())


@cache
def sheet(name):
    """A design's report as JSON has it, and its page, read back; nobody changes them."""
    report = whole_report(name)
    return report.to_dict(), Sheet(page_html(report, CHECKS, (), Brief(), WRITTEN))


def known_figures(layout):
    """Every figure of a report, as a page may round it, and every figure that its own sentences hold."""
    plain = {key: value for key, value in layout.items() if key != "limits"}
    numbers = [entry["value"] for entry in layout["limits"].values()]
    for check in plain["checks"]:
        numbers += [each for each in check["measures"].values() if isinstance(each, int | float)]
        numbers += [bound["value"] for bound in check["judged"].values()]
        numbers += [entry[key] for entry in check["findings"] for key in ("value", "limit")]
    known = set()
    for number in filter(lambda each: isinstance(each, int | float), numbers):
        for scaled in (number, 100 * number):
            known |= {f"{scaled:.{decimals}f}" for decimals in range(4)}
    said = json.dumps(layout, ensure_ascii=False)
    return known | {found[1].replace("\u202f", "") for found in MEASURED.finditer(said)}


@pytest.mark.slow
@pytest.mark.parametrize("name", WARDENS)
def test_every_figure_of_a_page_stands_in_the_json(name):
    layout, page = sheet(name)
    known = known_figures(layout)
    text = page.text("first") + " " + page.text("second")
    figures = [found[1].replace("\u202f", "") for found in MEASURED.finditer(text)]
    assert len(figures) > 20
    assert [figure for figure in figures if figure not in known] == []


@pytest.mark.slow
@pytest.mark.parametrize("name", WARDENS)
def test_each_row_shows_the_figure_that_decided(name):
    layout, page = sheet(name)
    by_id = {check.id: check for check in CHECKS}
    order = {"fail": 0, "review": 1, "not_checked": 2, "pass": 3}
    shown = []
    for result in sorted(layout["checks"], key=lambda each: order[each["status"]]):
        found = deciding_figure(result, by_id[result["id"]])
        if found is not None:
            yes_no = found.measure and by_id[result["id"]].says_yes_or_no(found.measure)
            shown.append(("yes" if found.value else "no") if yes_no else with_unit(found.value, found.unit))
        if found is not None and result["status"] in ("fail", "review") and found.limit == found.limit:
            worse = found.value < found.limit if found.at_least else found.value > found.limit
            assert worse, f"{result['id']} shows {found.value} against {found.limit}, which would not decide"
    assert page.values == shown


@pytest.mark.slow
@pytest.mark.parametrize("name", WARDENS)
def test_the_first_screen_reads_well(name):
    layout, page = sheet(name)
    text = page.text("first")
    assert layout["headline"] == headline(layout) and layout["headline"] in text
    assert not re.search(r"\b[a-z]+_[a-z_]+\b", text), "a code name"
    for sentence in re.split(r"(?<=[.!?:])\s+(?=[A-Z0-9])", text):
        assert len(sentence.split()) <= 30, sentence
    paired = re.sub(r"\b\d+(\.\d+)? of (?=\d+(\.\d+)? mm)|\b\d+ (?=(Fail|Review))", "", text)
    bare = MEASURED.sub("", paired)
    assert not re.search(r"\d", bare), f"a figure without its unit: {bare}"


@pytest.mark.slow
@pytest.mark.parametrize("name", WARDENS)
def test_a_cause_is_one_step_and_headings_and_tables_are_in_order(name):
    layout, page = sheet(name)
    assert len(causes(layout)) <= {"05-warden-short-lips": 1, "06-warden-bronze": 3}.get(name, 1)
    assert all(after - before <= 1 for before, after in zip(page.headings, page.headings[1:], strict=False))
    assert page.headings[0] == 1 and page.scopes and all(scope in ("row", "col") for scope in page.scopes)
