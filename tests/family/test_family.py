"""The family of heads: every row is right, and the guide's table tells of every row."""

from collections import Counter
from pathlib import Path

import pytest

from family.marks import marked
from family.pass_rows import DESIGNS
from family.rows import ROWS

GUIDE = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"


@pytest.mark.parametrize("row", [marked(row) for row in ROWS.values() if row.id not in DESIGNS.values()])
def test_the_family_of_heads(row):
    answer = row.answer()
    assert answer.right, f"{row.asks}: {answer.measured}, true is {answer.truth}"


def told_lines():
    """Return the cells of each line of the guide's table: rows, how many, the one shown, measured, true, verdict."""
    table = GUIDE.read_text(encoding="utf-8").split("<!-- family -->")[1]
    lines = [line.strip("| ").split(" | ") for line in table.splitlines() if line.startswith("| `")]
    return [[cell.strip("` ") for cell in line] for line in lines]


def test_the_guides_table_tells_of_every_row_and_of_none_wrong():
    told = {name: int(count) for name, count, *_ in told_lines()}
    assert told == Counter(row.group for row in ROWS.values())
    assert {line[-1] for line in told_lines()} == {"right"}


def test_the_guides_table_shows_what_is_asked():
    asked = {row.asks for row in ROWS.values()}
    assert [line[2] for line in told_lines() if line[2] not in asked] == []
