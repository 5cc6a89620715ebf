"""The table of limits as the guide carries it, in Markdown."""

from collections.abc import Iterator

from ..model.limits import Limits, described_limits
from ..model.sentences import capital

HEADINGS = ("limit", "value", "word", "bounds", "says", "rests on")


def limit_table() -> str:
    """Return every limit's default, word, bounds, reason and source as a Markdown table, ending in a newline."""
    return "\n".join(_rows()) + "\n"


def _rows() -> Iterator[str]:
    yield _row(HEADINGS)
    yield _row(("---",) * len(HEADINGS))
    for name, entry in described_limits(Limits()).items():
        value = f"{entry['value']:g} {entry['unit']}"
        bounds = f"{entry['least']:g} to {entry['most']:g}"
        yield _row((f"`{name}`", value, entry["basis"], bounds, capital(entry["reason"]), capital(entry["source"])))


def _row(cells: tuple[str, ...]) -> str:
    return "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"
