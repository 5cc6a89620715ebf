"""Every limit has a word, bounds, a reader, and where it was measured a year and people."""

import re
from dataclasses import fields
from pathlib import Path

import pytest

from dryfit.model.brief_reading import parse_brief
from dryfit.model.errors import BadValue
from dryfit.model.limit_basis import NO_SOURCE, Basis
from dryfit.model.limits import ENTRIES, Limits, basis_of_value, described_limits
from dryfit.model.materials import Material
from dryfit.report.limit_table import limit_table

ROOT = Path(__file__).resolve().parents[2]
CODE = {path: path.read_text("utf8") for path in sorted((ROOT / "addon" / "dryfit").rglob("*.py"))}
READ_THROUGH = {
    "stiffness_kpa": "film_n_m", "skin_stiffness_kpa": "bending_kpa", "skin_max_strain": "breaks_at",
}  # fmt: skip
"""Figures that checks take together, and what of a material does so."""


@pytest.mark.parametrize("name", ENTRIES)
def test_every_limit_has_a_word_bounds_and_what_it_rests_on(name):
    entry = described_limits(Limits())[name]
    assert entry["unit"] and entry["reason"] and entry["source"]
    assert entry["basis"] in set(Basis)
    assert 0.0 <= entry["least"] <= entry["value"] <= entry["most"] < 1e6 and entry["least"] < entry["most"]
    assert "_mm" not in name or entry["unit"].startswith("mm")
    assert entry["from_memory"] == ("from memory" in entry["source"])


@pytest.mark.parametrize("name", ENTRIES)
def test_every_word_keeps_what_it_promises(name):
    metadata = ENTRIES[name].metadata
    if metadata["basis"] == Basis.MEASURED:
        assert re.search(r"\b(19|20)\d\d\b", metadata["source"]), "a measured limit names the year"
        assert metadata["people"] and metadata["people"] in metadata["source"]
        assert not metadata["from_memory"], "what was not seen is not measured"
    if metadata["basis"] == Basis.PRACTICE:
        assert metadata["source"].startswith(NO_SOURCE)
    if metadata["basis"] == Basis.CHOICE:
        assert len(metadata["source"]) > len("the project's own choice: ") + 10


def read_outside(name, *declaring):
    """Whether any file but those that declare or list it takes the value of a field, by itself or from a table."""
    taken, tabled = re.compile(rf"\.{name}\b"), re.compile(rf"^LIMIT_NAMES\b.*\"{name}\"", re.M | re.S)
    others = [text for path, text in CODE.items() if path.name not in declaring]
    return any(taken.search(text) or tabled.search(text) for text in others)


@pytest.mark.parametrize("name", ENTRIES)
def test_every_limit_has_a_reader(name):
    assert read_outside(name, "limits.py")


@pytest.mark.parametrize("name", [entry.name for entry in fields(Material)])
def test_every_figure_of_a_material_has_a_reader(name):
    shown = ("brief_reading.py", "materials_state.py", "adopting.py")
    assert read_outside(READ_THROUGH.get(name, name), *shown)


@pytest.mark.parametrize(
    ("name", "value"), [("contact_mm", "4"), ("additive_tolerance_mm", "1e308"), ("sight_fraction", "1.5"),
                        ("strain_share", "0"), ("rim_thickness_mm", "-1")]
)  # fmt: skip
def test_a_value_beyond_its_bounds_is_refused_with_the_place_and_the_bounds(name, value):
    entry = ENTRIES[name].metadata
    words = rf"\[limits\] {name} must be from {entry['least']:g} up to {entry['most']:g}"
    with pytest.raises(BadValue, match=words):
        parse_brief(f"[limits]\n{name} = {value}")


def test_a_value_at_its_bounds_is_taken():
    for name, entry in ENTRIES.items():
        for value in (entry.metadata["least"], entry.metadata["most"]):
            assert getattr(parse_brief(f"[limits]\n{name} = {value}").limits, name) == value


def test_the_word_of_a_value_is_that_of_the_limits_that_have_it():
    described = described_limits(Limits())
    some = {name: described[name] for name in ("rim_thickness_mm", "rim_span_mm", "lip_seal_mm")}
    assert basis_of_value(0.3, some) == "practice"
    assert basis_of_value(0.2, some) == "choice"
    assert basis_of_value(17.0, some) == ""


def test_the_guide_carries_the_table_as_it_is():
    assert limit_table() in (ROOT / "DEVELOPERS.md").read_text("utf8"), "run scripts/limit_table.py"
