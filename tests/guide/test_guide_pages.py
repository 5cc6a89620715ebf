"""The built pages: no warning, no dead link, nothing from a network, the same twice, quiet and legible in a browser."""

from html.parser import HTMLParser
from urllib.parse import unquote, urlsplit

import pytest

pytest.importorskip("sphinx", reason="Sphinx is not installed: pip install sphinx myst-parser")
pytest.importorskip("myst_parser", reason="pip install myst-parser")
from browser import chromium, quiet_page, until
from dryfit.checks.registry import CHECKS
from dryfit.guide.pages import CHAPTERS, START
from guide.guide_text import CHAPTERS as SOURCES

import build_guide  # isort: skip

LARGEST_MB = 4.0


class Links(HTMLParser):
    """What a page leads to and loads, and the places on it."""

    def __init__(self, text):
        super().__init__()
        self.leads, self.loads, self.places = [], [], set()
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        self.places |= {given[name] for name in ("id", "name") if given.get(name)}
        if tag == "a" and given.get("href"):
            self.leads.append(given["href"])
        elif given.get("src") or (tag == "link" and given.get("href")):
            self.loads.append(given.get("src") or given["href"])


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    return build_guide.build(tmp_path_factory.mktemp("guide") / "pages")


@pytest.fixture(scope="module")
def links(built):
    return {page.name: Links(page.read_text("utf8")) for page in built.glob("*.html")}


def test_every_chapter_has_a_page_and_all_of_it_is_small(built):
    assert {page.stem for page in built.glob("*.html")} == {START, "search", *CHAPTERS}
    assert not [path for path in built.rglob("*") if path.suffix in (".md", ".py", ".inv")]
    assert sum(path.stat().st_size for path in built.rglob("*")) < LARGEST_MB * 1e6


def test_no_link_is_dead(built, links):
    assert sum(len(page.leads) for page in links.values()) > 300
    for name, page in links.items():
        for address in page.leads:
            parts = urlsplit(address)
            target = unquote(parts.path) or name
            assert not parts.scheme or parts.scheme == "https", f"{name}: {address}"
            if not parts.scheme:
                assert (built / target).is_file(), f"{name}: {address}"
                assert not parts.fragment or unquote(parts.fragment) in links[target].places, f"{name}: {address}"


def test_nothing_is_loaded_from_elsewhere(built, links):
    for name, page in links.items():
        for address in page.loads:
            assert address.startswith(("data:", "#")) or (built / urlsplit(address).path).is_file(), (
                f"{name}: {address}"
            )
    for sheet in built.rglob("*.css"):
        assert "http" not in sheet.read_text("utf8").replace("http://www.w3.org", ""), sheet


def test_every_check_has_a_place_to_lead_to(links):
    assert {check.id.replace("_", "-") for check in CHECKS} <= links["checks.html"].places


def test_no_mark_was_left_unwritten(built):
    assert not [page.name for page in built.glob("*.html") if "written:" in page.read_text("utf8")]


def test_the_same_chapters_give_the_same_pages(built, tmp_path):
    again = build_guide.build(tmp_path / "pages")
    first, second = (
        {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
        for folder in (built, again)
    )
    assert first == second


def test_a_dead_link_in_a_chapter_stops_the_build(tmp_path, monkeypatch):
    import shutil

    chapters = tmp_path / "chapters"
    shutil.copytree(SOURCES, chapters)
    text = (chapters / "changes.md").read_text("utf8")
    (chapters / "changes.md").write_text(text + "\nSee [a page](nowhere.md).\n", "utf8")
    monkeypatch.setattr(build_guide, "CHAPTERS", chapters)
    with pytest.raises(build_guide.GuideFailed, match="nowhere"):
        build_guide.build(tmp_path / "pages")
    assert not (tmp_path / "pages").exists()


@pytest.mark.slow
@pytest.mark.parametrize("width", [1200, 400])
def test_every_page_is_quiet_and_fits(built, width):
    with chromium() as browser:
        for chapter in (START, *CHAPTERS):
            with quiet_page(browser, (built / f"{chapter}.html").as_uri(), width, 900) as page:
                wide = page.evaluate("document.documentElement.scrollWidth")
                assert wide <= width, f"{chapter}: {wide}"
                assert page.evaluate("[...document.images].every(each => each.complete && each.naturalWidth)")


@pytest.mark.slow
def test_a_word_is_found_without_a_network(built):
    with chromium() as browser, quiet_page(browser, (built / "index.html").as_uri()) as page:
        page.fill("#searchbox input[name=q]", "condyles")
        page.press("#searchbox input[name=q]", "Enter")
        until(page, "document.querySelectorAll('#search-results li').length > 0")
        found = page.evaluate("[...document.querySelectorAll('#search-results li a')].map(each => each.href)")
        assert any("brief.html" in address or "sources.html" in address for address in found)
