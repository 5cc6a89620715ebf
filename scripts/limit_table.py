"""Put the table of limits into the guide, from where the limits are declared.

    python scripts/limit_table.py

A test holds the guide to it.
"""

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "addon"))

GUIDE = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- limits: written by scripts/limit_table.py -->\n", "<!-- end of limits -->\n"


def main() -> int:
    """Write the table between its two marks."""
    from dryfit.report.limit_table import limit_table

    head, rest = GUIDE.read_text(encoding="utf-8").split(BEGIN)
    _, tail = rest.split(END)
    GUIDE.write_text(f"{head}{BEGIN}{limit_table()}{END}{tail}", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
