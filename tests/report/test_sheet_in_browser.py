"""The fitting sheet where it is read: on a phone, on a desk, and on two printed pages of A4 and of A3."""

import re

import pytest

from dryfit.model.brief import Brief
from dryfit.model.finding import Severity
from dryfit.model.progress import drain
from dryfit.report.writing import write_report
from worn_sphere import check, clearance, finding, key_framed, report, result, worn_sphere

pytest.importorskip("jinja2")
pytest.importorskip("PIL")
from browser import quiet_page

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    out = tmp_path_factory.mktemp("sheet")
    snapshot = worn_sphere("Warden")
    found = [finding(), finding(severity=Severity.REVIEW, region="chin", at_mm=(0, -98.5, 0))]
    stated = report(snapshot, [result(findings=found, fields=(clearance(snapshot),))])
    drain(write_report(stated, snapshot, Brief(), out, checks=[check()], posed=key_framed(snapshot)))
    return (out / "report.html").as_uri()


@pytest.mark.parametrize(("width", "height"), [(400, 850), (1200, 900), (1920, 1080)])
def test_sentence_picture_and_step_stand_on_the_first_screen(browser, sheet, width, height):
    with quiet_page(browser, sheet, width, height) as page:
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        for wanted in (".lead", ".fault img", ".change"):
            box = page.locator(wanted).first.bounding_box()
            assert box["y"] + box["height"] <= height, wanted
        assert page.evaluate("document.documentElement.scrollHeight") < 9000


def test_every_picture_has_words_and_a_link_opens_its_row(browser, sheet):
    with quiet_page(browser, sheet) as page:
        alts = page.eval_on_selector_all("main img", "all => all.map(each => each.alt)")
        assert alts and all(alts)
        assert not page.locator("#additive-1").is_visible()
        page.goto(sheet + "#additive-1")
        assert page.locator("#additive-1").is_visible()


@pytest.mark.parametrize("paper", ["A4", "A3"])
def test_it_prints_on_two_pages_with_letters_of_nine_points(browser, sheet, paper):
    with quiet_page(browser, sheet) as page:
        assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper, print_background=True))) == 2
        page.emulate_media(media="print")
        sizes = page.evaluate(
            "[...document.querySelectorAll('main *')].filter(e => e.offsetParent && e.childNodes.length && "
            "[...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())).map(e => "
            "parseFloat(getComputedStyle(e).fontSize) * 0.75)"
        )
        assert min(sizes) >= 8.99
        style = page.evaluate("document.querySelector('style').textContent")
        assert "counter(page)" in style and "Warden" in style.replace("\\\\", "").title()
