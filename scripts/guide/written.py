"""What the code states of itself, as text of the guide's chapters: nothing here is typed twice."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping

import brief_tables
from markdown_text import anchor, definitions, plain, table

from dryfit.checks.check import Check
from dryfit.checks.registry import CHECKS
from dryfit.guide.pages import CHAPTERS
from dryfit.model.limit_basis import MEANINGS, Basis
from dryfit.model.limits import ENTRIES
from dryfit.model.materials import MATERIALS
from dryfit.model.sentences import capital
from dryfit.report.landmark_table import ABOUT
from dryfit.report.wording import with_unit
from test_blenders import PYTHON_FOR

MARK = re.compile(r"^<!-- written: ([a-z-]+) -->$", re.M)


def filled(text: str) -> str:
    """Return a chapter with what the code states in the place of each mark.

    Raises
    ------
    KeyError
        When a mark asks for what nobody writes.
    """
    return MARK.sub(lambda mark: PASSAGES[mark[1]](), text)


def _asked() -> str:
    rows = ([f"[`{check.id}`](checks.md#{anchor(check.id)})", plain(check.question)] for check in CHECKS)
    return table(("check", "question"), rows)


def _chapters() -> str:
    return definitions((f"[](<{name}.md>)", words) for name, words in CHAPTERS.items())


def _checks() -> str:
    return "\n\n".join("\n\n".join(_check(check)) for check in CHECKS)


def _check(check: Check) -> Iterator[str]:
    yield f"## {check.id}\n\n**{plain(check.question)}**"
    yield "**Measures**"
    yield definitions((f"`{name}`", plain(words)) for name, words in check.measured)
    yield "**Method**\n\n" + plain(check.method)
    yield f"**Limits** (change them under [`[limits]`](brief.md#{anchor('limits')}))"
    yield "\n".join(f"- {_limit_line(name)}" for name in check.limits) or "none"
    if check.material_figures:
        named = ", ".join(f"`{name}`" for name in check.material_figures)
        yield f"**Of a piece's material** (change it under [`[materials]`](brief.md#{anchor('materials')})): {named}"
    yield "**What it cannot tell you**\n\n" + plain(check.blind_spots)
    if check.caution:
        yield f":::{{warning}}\n{plain(check.caution)}\n:::"


def _limit_line(name: str) -> str:
    entry = ENTRIES[name]
    says = entry.metadata
    return f"`{name}` = {value_of(name)} ({says['basis']}): {plain(says['reason'])}"


def value_of(limit: str) -> str:
    """Return a limit's default with its unit."""
    entry = ENTRIES[limit]
    return with_unit(float(str(entry.default)), entry.metadata["unit"])


def _landmarks() -> str:
    lines = ABOUT.split("\n\n")
    return "\n\n".join(_landmark_passages(lines[1:]))


def _landmark_passages(passages: Iterable[str]) -> Iterator[str]:
    for passage in passages:
        head, _, rest = passage.strip("\n").partition("\n")
        yield f"**{plain(head)}**\n\n{plain(' '.join(rest.split()))}"


def _limits() -> str:
    return definitions((f"`{name}`", _limit_words(name)) for name in ENTRIES)


def _limit_words(name: str) -> str:
    says = ENTRIES[name].metadata
    asked = [f"[{check.id}](checks.md#{anchor(check.id)})" for check in CHECKS if name in check.limits]
    by = f" Asked by {', '.join(asked)}." if asked else ""
    return (
        f"**{value_of(name)}**, from {says['least']:g} up to {says['most']:g}. {plain(capital(says['reason']))}.{by}"
        f"\n  *{says['basis']}*: {plain(says['source'])}."
    )


def _sources_of(basis: Basis) -> Callable[[], str]:
    def passage() -> str:
        grouped: dict[str, list[str]] = {}
        for name, entry in ENTRIES.items():
            if entry.metadata["basis"] == basis:
                grouped.setdefault(entry.metadata["source"], []).append(name)
        return "\n".join(
            f"- {', '.join(f'`{name}` {value_of(name)}' for name in names)}: {plain(source)}"
            for source, names in grouped.items()
        )

    return passage


def _practice() -> str:
    listed = ((name, entry.metadata) for name, entry in ENTRIES.items() if entry.metadata["basis"] == Basis.PRACTICE)
    return definitions(
        (f"`{name}`", f"{value_of(name)}. {plain(capital(says['reason']))}; {plain(says['source'])}.")
        for name, says in listed
    )


def _words() -> str:
    return definitions((f"*{basis}*", plain(meaning)) for basis, meaning in MEANINGS.items())


def _methods() -> str:
    return definitions((f"[{check.id}](checks.md#{anchor(check.id)})", plain(check.method)) for check in CHECKS)


def _material_sources() -> str:
    return definitions((f"`{name}`", plain(material.source)) for name, material in MATERIALS.items())


def _blenders() -> str:
    return table(("Blender", "Python"), ([blender, python] for blender, python in PYTHON_FOR.items()))


PASSAGES: Mapping[str, Callable[[], str]] = {
    "asked": _asked,
    "chapters": _chapters,
    "checks": _checks,
    "landmarks": _landmarks,
    "limits": _limits,
    "words": _words,
    "measured": _sources_of(Basis.MEASURED),
    "practice": _practice,
    "choice": _sources_of(Basis.CHOICE),
    "methods": _methods,
    "material-sources": _material_sources,
    "blenders": _blenders,
    **brief_tables.PASSAGES,
}
"""Name of a mark -> what writes its passage."""
