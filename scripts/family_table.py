"""Write the table of Dryfit's figures against the truth on the family of heads, as Markdown.

    python scripts/family_table.py [--only PATTERN] [--out FILE] [--guide]

Each row asks one thing of one generated head whose answer is known by construction. The last line counts what is wrong.
With --guide the table in DEVELOPERS.md is written anew: a line for each question, with the row that is nearest to
being wrong.
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
SHORT_HEADINGS = "| rows | | asked, the nearest to being wrong | Dryfit says | true | |\n|---|---|---|---|---|---|"
MARK = "<!-- family -->"
GUIDE = ROOT / "DEVELOPERS.md"


def lines(answered: Iterable[tuple[Any, Any]]) -> Iterator[str]:
    """Yield the table's lines, each item under its own heading, and at last the count."""
    item, asked, wrong = "", 0, 0
    for each, answer in answered:
        if each.item != item:
            item = each.item
            yield f"\n**{item[:1].upper()}{item[1:]}**\n\n{HEADINGS}"
        asked, wrong = asked + 1, wrong + (not answer.right)
        yield _line(f"`{each.id}`", each.asks, answer.measured, answer.truth, "" if answer.right else "**wrong**")
    yield f"\n{_count(asked, wrong)}"


def short_lines(answered: Iterable[tuple[Any, Any]]) -> Iterator[str]:
    """Yield a line for each question, with the row that is wrong or nearest to it, and at last the count."""
    groups: dict[str, list[tuple[Any, Any]]] = {}
    for each, answer in answered:
        groups.setdefault(each.group, []).append((each, answer))
    yield SHORT_HEADINGS
    for name, members in groups.items():
        each, answer = max(members, key=lambda member: (not member[1].right, member[1].used))
        wrong = sum(not other.right for _, other in members)
        verdict = f"**{wrong} wrong**" if wrong else "right"
        yield _line(f"`{name}`", str(len(members)), each.asks, answer.measured, answer.truth, verdict)
    every = [answer for members in groups.values() for _, answer in members]
    yield f"\n{_count(len(every), sum(not answer.right for answer in every))}"


def _line(*cells: str) -> str:
    return "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"


def _count(asked: int, wrong: int) -> str:
    return f"{asked} rows, {wrong} wrong"


def answers(rows: Iterable[Any]) -> Iterator[tuple[Any, Any]]:
    """Yield each row with its answer; a crash is wrong and says so."""
    from family.answers import Answer

    for each in rows:
        try:
            answer = each.answer()
        except Exception as error:
            traceback.print_exc()
            answer = Answer(f"{type(error).__name__}: {error}", "an answer", False)
        yield each, answer


def with_table(guide: str, table: str) -> str:
    """Return the guide's text with the table between its marks written anew."""
    before, _, after = guide.split(MARK)
    return f"{before}{MARK}\n\n{table.strip()}\n\n{MARK}{after}"


def main() -> int:
    """Print or write the table; 1 where a row is wrong."""
    parser = argparse.ArgumentParser(description="Figures against truth on the family of heads.")
    parser.add_argument("--only", default="*", help="rows whose name fits this pattern, such as '7-*'")
    parser.add_argument("--out", type=Path, help="the Markdown file to write; without it the table is printed")
    parser.add_argument("--guide", action="store_true", help="write the short table into DEVELOPERS.md; asks every row")
    chosen = parser.parse_args()
    from family.rows import ROWS

    wanted = "*" if chosen.guide else chosen.only
    answered: list[tuple[Any, Any]] = []
    said: list[str] = []
    for line in lines(_kept(answers(row for row in ROWS.values() if fnmatch.fnmatch(row.id, wanted)), answered)):
        said.append(line)
        if chosen.out is None:
            print(line, flush=True)
    if chosen.out is not None:
        chosen.out.write_text("\n".join(said).strip() + "\n", encoding="utf-8")
    if chosen.guide:
        table = "\n".join(short_lines(answered))
        GUIDE.write_text(with_table(GUIDE.read_text(encoding="utf-8"), table), encoding="utf-8")
    return int(not said[-1].endswith(" 0 wrong"))


def _kept(answered: Iterator[tuple[Any, Any]], kept: list[tuple[Any, Any]]) -> Iterator[tuple[Any, Any]]:
    """Yield what comes and keep it as well."""
    for each in answered:
        kept.append(each)
        yield each


if __name__ == "__main__":
    sys.exit(main())
