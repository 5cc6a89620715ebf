"""What the guide says is what there is: chapters, keys, limits, checks, sources, examples, versions."""

import doctest
import re
import tomllib

import pytest

import dryfit
from dryfit.checks.registry import CHECKS
from dryfit.cli import main
from dryfit.guide import pages
from dryfit.model import brief_reading
from dryfit.model.brief_reading import PROPOSED, TABLES, parse_brief
from dryfit.model.limits import ENTRIES
from dryfit.model.materials import MATERIALS
from dryfit.model.snapshot import LANDMARKS, Role
from dryfit.model.version import VERSION
from guide.guide_text import CHAPTERS, ROOT, blocks, chapter_texts

import brief_tables  # isort: skip
import written  # isort: skip

EVERY_TABLE = """
base = {}
units = {}
roles = {}
landmarks = { proposed_mm = {} }
limits = {}
views = {}
performer = {}
teeth = {}
wear = {}
edges = {}
show = {}
room = {}
motions = { jaw = { hinge = {} }, protrusion = { excursion = {} } }
materials = { mine = { density_g_cm3 = 1.0, max_strain = 1.0 } }
exceptions = [{ check = "additive", reason = "agreed" }]
"""


@pytest.fixture(scope="module")
def whole():
    """Every chapter with what the code states filled in."""
    return {name: written.filled(text) for name, text in chapter_texts().items()}


def test_every_chapter_has_its_page_and_its_name_on_the_command_line():
    assert {*chapter_texts()} == {pages.START, *pages.CHAPTERS}
    listed = re.search(r"```\{toctree\}\n.*?\n\n(.*?)\n```", chapter_texts()["index"], re.S)[1].split()
    assert listed == [*pages.CHAPTERS], "in one order"


def test_the_brief_s_chapter_has_every_key_that_the_reader_lets_in(monkeypatch, whole):
    let_in, only = {}, brief_reading.Table.only

    def noted(table, allowed):
        let_in[table.where] = {*map(str, allowed)}
        return only(table, allowed)

    monkeypatch.setattr(brief_reading.Table, "only", noted)
    parse_brief(EVERY_TABLE)
    for name, table in brief_tables.TABLES.items():
        where = table.where.replace("NAME", {"motions": "jaw", "materials": "mine"}.get(name, ""))
        assert {entry.name for entry in table.entries()} == let_in.pop(where), where
        assert {entry.name for entry in table.entries()} <= {*brief_tables.described(table.values)}, (
            f"{where}: no words"
        )
    assert let_in.pop("roles") == {*Role} == {*brief_tables.ROLES}
    assert let_in.pop("limits") >= {*ENTRIES}
    assert let_in.pop("landmarks") == {*LANDMARKS, PROPOSED}
    assert let_in.pop("landmarks.proposed_mm") == {*LANDMARKS}
    assert let_in.pop("motions.protrusion") == {entry.name for entry in brief_tables.TABLES["motions"].entries()}
    assert let_in.pop("") == {*TABLES}
    assert not let_in, "tables that the chapter knows nothing of"
    heads = {head.strip("`[]") for head in re.findall(r"^##+ (.*)$", whole["brief"], re.M)}
    assert heads == {*TABLES, "hinge", "excursion"}


def test_every_limit_stands_with_value_bounds_word_and_source(whole):
    for name, entry in ENTRIES.items():
        says = entry.metadata
        term = re.search(rf"^`{name}`\n: (.*\n  .*)$", whole["brief"], re.M)[1]
        assert written.value_of(name) in term and f"from {says['least']:g} up to {says['most']:g}" in term
        assert f"*{says['basis']}*: {written.plain(says['source'])}" in term
        assert f"`{name}`" in whole["sources"] and written.plain(says["source"]) in whole["sources"]


def test_what_may_stand_at_a_key_is_what_the_reader_says():
    hinge, views = brief_tables.TABLES["hinge"], brief_tables.TABLES["views"]
    assert brief_tables.wanted(hinge, "rest_deg") == ["a number", "from 0 (closed in the scan) up to 60"]
    assert brief_tables.wanted(views, "cameras") == ["a list of strings"]
    assert brief_tables.wanted(brief_tables.TABLES["units"], "mesh_files") == ["a string", "one of mm, cm, m, in"]


def test_every_check_stands_with_all_that_explain_says(whole):
    for check in CHECKS:
        part = whole["checks"].split(f"## {check.id}\n")[1].split("\n## ")[0]
        for words in (check.question, check.method, check.blind_spots, check.caution, *dict(check.measured).values()):
            assert written.plain(words) in part, check.id
        assert all(f"`{name}` = " in part for name in check.limits)
        assert f"`{check.id}`" in whole["index"]


def test_every_material_stands_with_its_source(whole):
    for name, material in MATERIALS.items():
        assert f"| `{name}` |" in whole["brief"]
        assert f"`{name}`\n: {written.plain(material.source)}" in whole["sources"]


def test_every_name_of_the_library_is_told_of():
    told = chapter_texts()["library"]
    for name in {*dryfit.__all__} - {"__version__", "geometry"}:
        assert re.search(rf"\.\. auto(function|exception):: dryfit\.{name}$", told, re.M), name
    for name in ("Surface", "Closest", "Hits", "distance_along"):
        assert f"dryfit.geometry.{name}" in told


def test_every_brief_in_the_guide_is_read():
    briefs = [block for text in chapter_texts().values() for block in blocks(text, "toml")]
    assert len(briefs) >= 4
    for block in briefs:
        assert tomllib.loads(block)
        parse_brief(block)


def test_the_example_of_the_library_runs(tmp_path, monkeypatch, capsys):
    import numpy as np

    from shapes import sheet, worn

    rim = lambda x, y: 30 - np.maximum(abs(x), abs(y))  # noqa: E731
    design = worn(sheet(160.0, 40), sheet(60.0, 60, lambda x, y: 0.1 * rim(x, y)))
    dryfit.save_snapshot(design, tmp_path / "warden-plain.npz")
    monkeypatch.chdir(tmp_path)
    (example,) = blocks(chapter_texts()["library"], "python")
    exec(compile(example, "library.md", "exec"), {})
    assert re.fullmatch(r"(pass|review|fail|not_checked) [\d.]+\n", capsys.readouterr().out)
    assert not doctest.DocTestParser().get_examples(chapter_texts()["library"]), "doctests stand on the pipeline's page"


def test_every_picture_is_there():
    for text in chapter_texts().values():
        for words, path in re.findall(r"!\[(.*?)\]\((.*?)\)", text):
            assert len(words) > 20 and (CHAPTERS / path).is_file(), path


def test_the_newest_version_that_is_told_of_is_this_one():
    told = re.findall(r"^## (\d+\.\d+\.\d+)$", chapter_texts()["changes"], re.M)
    assert told[0] == VERSION == dryfit.__version__
    assert told == sorted(told, key=lambda each: [*map(int, each.split("."))], reverse=True)
    assert tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["dynamic"] == ["version"]


def test_a_copy_without_pages_says_so(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(pages, "FOLDER", tmp_path)
    assert main(["guide"]) == 2
    assert "build_guide.py" in capsys.readouterr().err


def test_an_address_can_be_had_without_a_browser(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(pages, "FOLDER", tmp_path)
    monkeypatch.setattr(pages.webbrowser, "open", lambda address: pytest.fail(address))
    (tmp_path / "checks.html").write_text("")
    assert main(["guide", "checks", "--address"]) == 0
    assert capsys.readouterr().out.strip() == (tmp_path / "checks.html").as_uri()
    assert pages.guide_address("checks", "closure").endswith("/checks.html#closure")


@pytest.mark.parametrize(
    "page", ["README.md", "DEVELOPERS.md", "scripts/examples/pipeline.md", "demo.blend-generator/README.md"]
)
def test_no_link_of_a_page_in_the_project_is_dead(page):
    text = re.sub(r"^```.*?^```", "", (ROOT / page).read_text("utf8"), flags=re.M | re.S)
    links = [link.partition("#")[0] for link in re.findall(r"\]\(([^)\s]+)\)", text)]
    near = [link for link in links if link and not re.match(r"[a-z]+:", link)]
    assert near or page != "README.md"
    assert [link for link in near if not ((ROOT / page).parent / link).exists()] == []
