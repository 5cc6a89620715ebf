"""What the guide calls a button or a panel is what the window calls it."""

import re
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[2] / "addon" / "dryfit"
CHAPTER = PACKAGE / "guide" / "chapters" / "first-fit.md"
KEYS = {"N"}


def test_every_name_in_bold_is_one_of_the_window():
    said = re.findall(r"\*\*([^*]+)\*\*", CHAPTER.read_text(encoding="utf8"))
    names = {name for each in said for name in " ".join(each.split()).split(", ")} - KEYS
    sources = "".join(
        path.read_text(encoding="utf8") for room in ("ui", "sitting") for path in (PACKAGE / room).rglob("*.py")
    )
    assert len(names) > 9
    assert not sorted(name for name in names if f'"{name}"' not in sources)
