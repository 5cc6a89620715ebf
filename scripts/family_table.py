"""Write the table of Dryfit's figures against the truth on the family of heads, as Markdown.

    python scripts/family_table.py [--only PATTERN] [--out FILE]

Each row asks one thing of one generated head whose answer is known by construction. The last line counts what is wrong.
"""

import argparse
import fnmatch
import sys
import traceback
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "addon"), str(ROOT / "tests")]

HEADINGS = "| row | asked | measured | true | |\n|---|---|---|---|---|"


def lines(rows: Iterable[Any]) -> Iterator[str]:
    """Yield the table's lines, each item under its own heading, and at last the count."""
    item, asked, wrong = "", 0, 0
    for each in rows:
        if each.item != item:
            item = each.item
            yield f"\n**{item[:1].upper()}{item[1:]}**\n\n{HEADINGS}"
        measured, truth, right = answered(each)
        asked, wrong = asked + 1, wrong + (not right)
        cells = (f"`{each.id}`", each.asks, measured, truth, "" if right else "**wrong**")
        yield "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"
    yield f"\n{asked} rows, {wrong} wrong"


def answered(each: Any) -> tuple[str, str, bool]:
    """Return what was measured, what is true, and whether they agree; a crash is wrong and says so."""
    try:
        answer = each.answer()
    except Exception as error:
        traceback.print_exc()
        return f"{type(error).__name__}: {error}", "an answer", False
    return answer.measured, answer.truth, answer.right


def main() -> int:
    """Print or write the table; 1 where a row is wrong."""
    parser = argparse.ArgumentParser(description="Figures against truth on the family of heads.")
    parser.add_argument("--only", default="*", help="rows whose name fits this pattern, such as '7-*'")
    parser.add_argument("--out", type=Path, help="the Markdown file to write; without it the table is printed")
    chosen = parser.parse_args()
    from family.rows import ROWS

    said = []
    for line in lines(row for row in ROWS.values() if fnmatch.fnmatch(row.id, chosen.only)):
        said.append(line)
        if chosen.out is None:
            print(line, flush=True)
    if chosen.out is not None:
        chosen.out.write_text("\n".join(said).strip() + "\n", encoding="utf-8")
    return int(not said[-1].endswith(" 0 wrong"))


if __name__ == "__main__":
    sys.exit(main())
