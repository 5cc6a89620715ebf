"""Put the table of outside check values into the guide, from the files of tests/outside.

    python scripts/outside_table.py

A test holds the guide to it, and every check to two values at least.
"""

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "addon"), str(ROOT / "tests" / "outside")]

GUIDE = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- outside: written by scripts/outside_table.py -->\n", "<!-- end of outside -->\n"


def main() -> int:
    """Write the table between its two marks."""
    head, rest = GUIDE.read_text(encoding="utf-8").split(BEGIN)
    _, tail = rest.split(END)
    GUIDE.write_text(f"{head}{BEGIN}{outside_table()}{END}{tail}", encoding="utf-8")
    return 0


def outside_table() -> str:
    """Return a row for each check value, those of one check together, in the order the checks run."""
    from gathering import place_of, values

    from dryfit.checks.registry import CHECKS

    order = [check.id for check in CHECKS]
    rows = sorted(values(), key=lambda row: (order.index(row[2].check), row[0]))
    lines = ["| check | says | source | seen | held by |", "| --- | --- | --- | --- | --- |"]
    for name, source, value in rows:
        path, test = place_of(name, value)
        held = f"`{path.relative_to(ROOT / 'tests').as_posix()}` {test.removeprefix('test_').replace('_', ' ')}"
        lines.append(f"| {value.check} | {value.says} | {source.citation} | {value.seen} | {held} |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.exit(main())
