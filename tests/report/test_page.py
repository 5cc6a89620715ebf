import re
import shutil
import subprocess
from datetime import UTC, datetime
from html.parser import HTMLParser

import pytest

from dryfit.checks.registry import check_named
from dryfit.model.brief import Brief
from dryfit.model.exceptions import WrittenException
from dryfit.model.finding import STATUS_WORDS, Curve, Severity, Status
from dryfit.report import palette
from dryfit.report.figures import Figure, key_figures
from dryfit.report.gauge import INSET, strip_svg
from dryfit.report.labels import labelled
from dryfit.report.page import page_html
from dryfit.report.pictures.gallery import photograph
from dryfit.report.plots import draw_plots, families
from worn_sphere import check, clearance, finding, key_framed, report, result, worn_sphere

pytest.importorskip("jinja2")
pytest.importorskip("PIL")
WRITTEN = datetime(2026, 11, 25, 12, 30, tzinfo=UTC)
EVIL = "<script>alert('x')</script>\"&"
VOID = {"meta", "link", "img", "br", "path", "rect", "use", "circle"}


def page(stated=None, pictures=(), checks=None):
    return page_html(stated or report(), [check()] if checks is None else checks, pictures, Brief(), WRITTEN)


class Reader(HTMLParser):
    """Collects text, tags, attributes and ids, and notes tags that are not closed in order."""

    def __init__(self):
        super().__init__()
        self.words, self.tags, self.open, self.crossed = [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        if tag in VOID:
            return
        if not self.open or self.open.pop() != tag:
            self.crossed.append(tag)

    def handle_data(self, data):
        if not self.open or self.open[-1] not in ("style", "script"):
            self.words.append(data)


def read(text):
    reader = Reader()
    reader.feed(text)
    reader.text = " ".join(" ".join(reader.words).split())
    return reader


def test_tags_are_balanced_and_ids_are_unique():
    reader = read(page())
    assert (reader.crossed, reader.open) == ([], [])
    ids = [attributes["id"] for _, attributes in reader.tags if "id" in attributes]
    assert len(ids) == len(set(ids))
    links = [a["href"] for tag, a in reader.tags if tag == "a" and a.get("href", "").startswith("#")]
    assert links
    assert {link[1:] for link in links} <= set(ids)


def test_verdict_row_finding_limit_and_cautions_are_said():
    text = read(page()).text.replace("\u00a0", " ")
    for words in (
        "Fail", "The nose tip is 1.5 mm inside the performer", "Is the appliance everywhere outside the base?",
        "Measured: deepest below the base, 1.50 mm, where at most 0.20 mm is allowed (practice).", "A1", "additive-1",
        "Could not be measured: There are no teeth.", "additive_tolerance_mm", "common practice, no source",
        "What this cannot tell you It cannot feel.", "It never clears a design for wear", "Ask the performer.",
        "it is a mask", "unchanged since it was locked", "25 November 2026, 12:30 UTC", "Part of step 1",
    ):  # fmt: skip
        assert words in text, words


def test_every_status_colour_stands_with_its_word():
    statuses = [result(f"check_{status}", status=status, reason="why" if status == Status.NOT_CHECKED else "")
                for status in Status]  # fmt: skip
    text = page(report(results=statuses), checks=[])
    for status, word in (("pass", "Pass"), ("review", "Review"), ("fail", "Fail"), ("not_checked", "Not checked")):
        badges = re.findall(rf'<span class="badge {status}"><svg.*?</svg>(.*?)</span>', text)
        assert badges
        assert set(badges) == {word}


def test_nothing_a_user_named_becomes_markup():
    snapshot = worn_sphere(EVIL)
    bad = finding(message=EVIL, object=EVIL, region=EVIL, fix=EVIL, exception=EVIL)
    curve = Curve((0, 1), (0, 1), EVIL, EVIL)
    stated = report(
        snapshot,
        [result(findings=[bad, finding(object=EVIL)], measures={"note": EVIL}, curves={"odd": curve})],
        exceptions=(WrittenException("additive", EVIL, EVIL, EVIL, EVIL, EVIL),),
        inputs={"parts": [], "landmarks": [EVIL], "motions": [EVIL], "notes": [EVIL], "brief": EVIL},
    )
    text = page(stated, checks=[check(question=EVIL, blind_spots=EVIL, caution=EVIL)])
    reader = read(text)
    assert [tag for tag, _ in reader.tags].count("script") == 1
    assert not [name for _, attributes in reader.tags for name in attributes if name.startswith("on")]
    assert EVIL not in text
    assert reader.crossed == []


def test_the_page_asks_for_nothing_from_outside():
    text = page()
    assert not re.search(r"""(?:src|href)=["'](?!data:|#)""", text)
    assert not re.search(r"""url\(["']?(?!#)""", text)
    assert "@import" not in text
    assert "Content-Security-Policy" in text


def test_the_same_input_gives_the_same_page():
    assert page() == page()


def test_pictures_have_words():
    snapshot = worn_sphere()
    stated = report(snapshot, [result(findings=[finding()], fields=(clearance(snapshot),))])
    pictures = list(photograph(stated, snapshot, key_framed(snapshot), labelled(stated, [check()])))
    reader = read(page(stated, pictures))
    images = [attributes for tag, attributes in reader.tags if tag == "img"]
    assert len({image["src"] for image in images}) == len({picture.png for picture in pictures}) + 1
    assert all(image["alt"] for image in images[:-1])


def test_letters_stay_with_their_check_when_only_some_are_asked():
    checks = [check("additive"), check("edge"), check("closure")]
    stated = report(results=[result("closure", findings=[finding()])])
    assert [label for label, _ in labelled(stated, checks)["closure"]] == ["C1"]
    assert ">C1<" in page(stated, checks=checks)


def test_many_findings_are_folded_and_counted():
    stated = report(results=[result(findings=[finding()] * 9)])
    text = read(page(stated)).text
    assert "4 more findings" in text
    assert text.count("What to change, in this order") == 1 and "Part of step 1" in text


def test_the_page_says_itself_how_it_is_read():
    html = page(report())
    assert '<a href="#reading">' in html and html.count('id="reading"') == 1
    told = html.partition('id="reading"')[2].partition("</details>")[0]
    assert all(f"<b>{word}</b>" in told for word in STATUS_WORDS.values()) and "dryfit guide" in told


def test_notes_do_not_ask_for_a_change():
    stated = report(results=[result(findings=[finding(severity=Severity.INFO)], status=Status.PASS)])
    assert "What to change" not in read(page(stated)).text


def test_the_strip_puts_pointer_and_limit_where_they_belong():
    strip = strip_svg(Figure("max_depth_mm", "depth", 1.0, "mm", limit=2.0))
    pointer = float(re.search(r'class="pointer" d="M([\d.]+)', strip)[1])
    limit = float(re.search(r'class="limit" d="M([\d.]+)', strip)[1])
    assert pointer - INSET == pytest.approx((limit - INSET) / 2, abs=0.1)
    assert strip_svg(Figure("max_depth_mm", "depth", float("nan"), "mm", limit=2.0)) == ""
    assert strip_svg(Figure("max_depth_mm", "depth", 1.0, "mm")) == ""


@pytest.mark.parametrize("value", [0.0, 1e-9, 0.2, 17.3, 1e5])
def test_the_strip_has_a_few_numbers_at_any_size(value):
    assert 2 <= strip_svg(Figure("x_mm", "x", value, "mm", limit=0.2)).count("<text") <= 8


def test_a_check_nobody_knows_still_has_figures():
    figures = key_figures(result("novel", measures={"a_mm": 1, "b_mm": 2, "c_mm": 3, "d_mm": 4}))
    assert [figure.words for figure in figures] == ["a", "b", "c"]


def test_plots_have_labels_reference_lines_and_their_own_ids():
    stated = report(
        results=[
            result(
                "closure",
                measures={"contact_t": 0.25},
                curves={
                    "gap_by_t": Curve((0, 1), (0, 34), "jaw opening", "gap, mm"),
                    "gap_along_lips": Curve((-20, 20), (1, 4), "place, mm", "gap, mm"),
                    "bare_gap_along_lips": Curve((-20, 20), (0, 1), "place, mm", "gap, mm"),
                    "lonely": Curve((0,), (1,), "x", "y"),
                },
            )
        ]
    )
    plots = list(draw_plots(stated.checks[0], stated.limits, check_named("closure")))
    assert [plot.name for plot in plots] == ["gap_by_t", "gap_along_lips"]
    assert "first contact: 0.25" in plots[0].svg
    assert "jaw opening" in plots[0].svg
    assert "gap, mm" in plots[0].svg
    assert "lips apart: 3.00" in plots[1].svg
    assert "bare base" in plots[1].svg
    ids = [re.findall(r'\bid="([^"]+)"', plot.svg) for plot in plots]
    assert not set(ids[0]) & set(ids[1])
    assert "34.00 (at 1.00)" in plots[0].words


def test_a_limit_without_a_curve_is_no_plot():
    """An edge whose failing span has no two measured points leaves its limit alone."""
    limit = Curve((0.0, 9.0), (0.3, 0.3), "from the rim, mm", "thickness, mm")
    bare = Curve((0.0, 9.0), (float("nan"), float("nan")), "from the rim, mm", "thickness, mm")
    span = "section_by_distance"
    stated = result("edge", status=Status.PASS, measures={}, curves={span: bare, f"{span}_limit": limit})
    assert list(draw_plots(stated, {}, check_named("edge"))) == []


def test_one_measure_in_several_motions_is_one_plot():
    curves = {
        f"stretch_by_t_{motion}": Curve((0, 1), (1, high), f"{motion}, t", "largest stretch, length now / at rest")
        for motion, high in (("jaw", 1.4), ("smile", 1.6))
    }
    (family,) = families(curves)
    assert [word for word, _ in family.members] == ["jaw", "smile"]
    assert family.x_label == "share of the motion, 0 to 1"
    assert family.y_label == "largest stretch, length now / at rest"


def drawn(check_id, curves, **measures):
    stated = report(results=[result(check_id, measures=measures, curves=curves)])
    return list(draw_plots(stated.checks[0], stated.limits, check_named(check_id)))


def test_the_span_that_fails_carries_the_verdict_and_its_limit_ends_at_the_rim():
    curves = {
        "thickness_by_distance": Curve((0, 10, 20), (0.1, 1, 3), "distance, mm", "median thickness, mm"),
        "thickness_by_distance_failing_span": Curve((0, 10, 20), (1.2, 2, 4), "distance, mm", "greatest thickness, mm"),
        "thickness_by_distance_limit": Curve((0, 1), (0.3, 0.3), "distance, mm", "greatest allowed thickness, mm"),
    }
    (plot,) = drawn("edge", curves)
    assert "failing span" in plot.svg and "the whole rim, median" in plot.svg
    assert "limit at the rim: 0.30" in plot.svg
    assert f'stroke="#{palette.STATUS_INKS["fail"]}" stroke-width="3.2"' in plot.svg
    assert plot.svg.count('stroke-width="3.2"') == 2, "the curve and its sign: nothing else stands out as much"
    assert "failing span: from 1.20 (at 0.00)" in plot.words


def test_a_cut_is_drawn_to_scale_and_says_how_large():
    curves = {
        "section_by_distance": Curve((0, 4, 8), (1.2, 1.3, 1.0), "distance, mm", "median thickness, mm"),
        "section_by_distance_limit": Curve((0, 1), (0.3, 0.3), "distance, mm", "greatest allowed thickness, mm"),
    }
    (plot,) = drawn("edge", curves)
    assert "drawn 10 times as large, both ways" in plot.svg
    edge = re.search(r'd="M4 ([\d.]+)V([\d.]+)"', plot.svg).groups()
    assert float(edge[0]) - float(edge[1]) == pytest.approx(12.0), "1.2 mm of edge, ten times"
    assert "edge 1.20" in plot.svg and "limit 0.30" in plot.svg
    wide, tall = map(float, re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', plot.svg).groups())
    stated = float(re.search(r"width:([\d.]+)mm", plot.svg)[1])
    # a unit of the drawing is a millimetre of the page, and 10 of them are 1 mm in either direction
    assert wide == pytest.approx(stated)
    assert stated == pytest.approx(10 * (8 + 0.8), abs=0.1)
    assert tall == pytest.approx(10 * (1.3 + 1.2 + 1.8), abs=0.1)


def test_sight_is_round_and_left_out_where_nothing_of_it_is_lost():
    meridians = tuple(float(degrees) for degrees in range(0, 360, 15))
    bare = Curve(meridians, (80.0,) * 24, "meridian", "ends at, degrees")
    lost = Curve(meridians, (80.0,) * 12 + (40.0,) * 12, "meridian", "ends at, degrees")
    (plot,) = drawn("sightline", {"field_left_eye": lost, "bare_field_left_eye": bare})
    assert all(words in plot.svg for words in ("own left", "own right", "up", "down", "60°", "bare base"))
    assert drawn("sightline", {"field_left_eye": bare, "bare_field_left_eye": bare}) == []


def test_ages_are_plotted_for_a_performer_whose_age_is_known():
    curves = {"display_by_age_upper": Curve((20, 70), (3.0, 0.5), "age, years", "central incisors shown, mm")}
    assert drawn("coverage", curves) == []
    assert len(drawn("coverage", curves, norm_display_mm_upper=2.0)) == 1


def test_curves_that_hide_each_other_are_one_and_say_whose():
    curves = {
        f"lid_gap_by_t_{side}": Curve((0, 1), (8.0 + more, 0), "blink, t", f"gap between the bare {side} lids, mm")
        for side, more in (("left", 0.0), ("right", 0.01))
    }
    (plot,) = drawn("blink", curves)
    assert "left, right" in plot.svg
    assert "gap between the bare lids, mm" in plot.svg


@pytest.mark.slow
def test_a_browser_opens_it_without_a_word_of_complaint(tmp_path):
    browser = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    if browser is None:
        pytest.skip("no Chromium on this machine")
    snapshot = worn_sphere(EVIL)
    stated = report(snapshot, [result(findings=[finding()], fields=(clearance(snapshot),))])
    pictures = list(photograph(stated, snapshot, key_framed(snapshot), labelled(stated, [check()])))
    sheet = tmp_path / "report.html"
    sheet.write_text(page(stated, pictures), encoding="utf-8")
    opened = subprocess.run(
        [browser, "--headless", "--no-sandbox", "--disable-gpu", "--enable-logging=stderr", "--v=0",
         f"--user-data-dir={tmp_path / 'profile'}", "--virtual-time-budget=3000", "--dump-dom", sheet.as_uri()],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert "Fitting sheet" in opened.stdout
    said = [line for line in opened.stderr.splitlines() if ":CONSOLE" in line or "Refused" in line or "net::" in line]
    assert said == []
