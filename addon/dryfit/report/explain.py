"""What a check measures, how, against what, and what it cannot see: for ``dryfit explain CHECK``."""

import textwrap
from collections.abc import Iterator, Mapping

from ..checks.check import Check
from ..model.limit_basis import MEANINGS, Basis
from ..model.limits import Limits, described_limits
from ..model.materials import MATERIALS, Material
from .wording import ascii_only, with_unit

WIDTH = 96


def explain(
    check: Check,
    limits: Limits | None = None,
    ascii_signs: bool = False,
    materials: Mapping[str, Material] = MATERIALS,
) -> str:
    """Return a page of plain text about one check.

    Parameters
    ----------
    check
        The check.
    limits
        The limits to print; the defaults when None.
    ascii_signs
        True for a terminal that knows ASCII only.
    materials
        The materials to print, where the check compares with any of their figures.

    Returns
    -------
    str
        Text of lines up to 96 characters, ending in a newline.
    """
    text = "\n".join(_lines(check, described_limits(limits or Limits()), materials)) + "\n"
    return ascii_only(text) if ascii_signs else text


def explain_limits(limits: Limits | None = None, ascii_signs: bool = False) -> str:
    """Return every limit as plain text: its value, its word, its bounds, its reason and what the word rests on.

    Parameters
    ----------
    limits
        The limits to print; the defaults when None.
    ascii_signs
        True for a terminal that knows ASCII only.
    """
    text = "\n".join(_whole_table(described_limits(limits or Limits()))) + "\n"
    return ascii_only(text) if ascii_signs else text


def _whole_table(limits: dict[str, dict[str, object]]) -> Iterator[str]:
    words = [str(entry["basis"]) for entry in limits.values()]
    counts = ", ".join(f"{words.count(basis)} {basis}" for basis in Basis)
    yield f"limits: what the measures are held against ({counts}; change them under [limits] in the brief)"
    for basis, meaning in MEANINGS.items():
        yield from _hanging(f"{basis}: ", meaning)
    for name, entry in limits.items():
        yield ""
        yield from _limit_lines(name, entry)


def _lines(check: Check, limits: dict[str, dict[str, object]], materials: Mapping[str, Material]) -> Iterator[str]:
    yield f"{check.id}: {check.question}"
    yield from _section("Measures")
    for measure, words in check.measured:
        yield from _hanging(f"{measure}: ", words)
    yield from _section("Method")
    yield from _paragraphs(check.method)
    yield from _section("Limits (change them under [limits] in the brief)")
    for name in check.limits:
        yield from _limit_lines(name, limits.get(name))
    if not check.limits:
        yield "  none"
    if check.material_figures:
        yield from _section("Materials (change them under [materials.NAME] in the brief)")
        for name, material in materials.items():
            yield from _material_lines(name, material, check.material_figures)
    yield from _section("What it cannot tell you")
    yield from _paragraphs(check.blind_spots)
    if check.caution:
        yield from _section("Caution")
        yield from _paragraphs(check.caution)


def _material_lines(name: str, material: Material, figures: tuple[str, ...]) -> Iterator[str]:
    yield from _hanging(f"{name}: ", ", ".join(f"{figure} = {_said(getattr(material, figure))}" for figure in figures))
    yield from _hanging("    source: ", material.source)


def _said(figure: float | str) -> str:
    return figure if isinstance(figure, str) else f"{figure:g}"


def _limit_lines(name: str, entry: dict[str, object] | None) -> Iterator[str]:
    if entry is None:
        yield f"  {name}: not a limit of this version"
        return
    value = with_unit(float(str(entry["value"])), str(entry["unit"]))
    yield f"  {name} = {value} ({entry['basis']}; from {entry['least']:g} up to {entry['most']:g})"
    yield from _hanging("    why: ", str(entry["reason"]))
    yield from _hanging("    source: ", str(entry["source"]))


def _section(title: str) -> Iterator[str]:
    yield ""
    yield title


def _paragraphs(text: str) -> Iterator[str]:
    for paragraph in text.strip().split("\n\n"):
        yield from textwrap.wrap(" ".join(paragraph.split()), WIDTH, initial_indent="  ", subsequent_indent="  ")


def _hanging(lead: str, words: str) -> list[str]:
    lead = lead if lead.startswith(" ") else f"  {lead}"
    indent = " " * (len(lead) - len(lead.lstrip()) + 4)
    return textwrap.wrap(lead + words, WIDTH, subsequent_indent=indent)
