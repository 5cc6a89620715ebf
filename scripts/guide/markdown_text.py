"""Markdown as Sphinx reads it here: tables, lists of definitions, words with no sign of its own."""

import re
from collections.abc import Iterable


def table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """Return a Markdown table."""
    head = list(heads)
    lines = [head, ["---"] * len(head), *map(list, rows)]
    return "\n".join("| " + " | ".join(cells) + " |" for cells in lines)


def definitions(entries: Iterable[tuple[str, str]]) -> str:
    """Return terms, each with what is said of it, as a Markdown list of definitions."""
    return "\n\n".join(f"{term}\n: {words}" for term, words in entries)


def plain(words: str) -> str:
    """Return words with no sign that Markdown would take for its own."""
    return re.sub(r"([\\*<\[\]{}|$~^#])", r"\\\1", " ".join(words.split()))


def anchor(heading: str) -> str:
    """Return the address of a heading on its page, as the pages are given them."""
    return re.sub(r"[^\w-]", "", heading.lower())
