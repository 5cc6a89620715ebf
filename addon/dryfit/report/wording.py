"""Words for statuses, units and figures: the same on the page, in the terminal and under a picture."""

import math
from collections.abc import Mapping
from types import MappingProxyType

from ..model.measure_units import unit_of

LOCK_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "held": "unchanged since it was locked",
        "changed": "changed since it was locked",
        "unlocked": "never locked, so a later change would go unseen",
    }
)
UNIT_SIGNS: Mapping[str, str] = MappingProxyType(
    {
        "mm2": "mm²", "mm3": "mm³", "cm2": "cm²", "deg": "°", "n_cm": "N·cm", "g_cm2": "g/cm²", "g/cm2": "g/cm²",
        "j_m2": "J/m²", "J/m2": "J/m²", "fraction": "%", "count": "", "t": "of the motion",
    }
)  # fmt: skip
DECIMALS: Mapping[str, int] = MappingProxyType(
    {
        "mm": 2, "mm2": 1, "mm3": 0, "cm2": 0, "deg": 1, "g": 1, "n_cm": 1, "j_m2": 0, "J/m2": 0, "fraction": 1,
        "count": 0, "t": 3, "s": 1, "times": 5,
    }
)  # fmt: skip
NARROW, HARD_SPACE = "\u202f", "\u00a0"
NOT_MEASURED = "not measured"
ASCII_SIGNS: Mapping[str, str] = MappingProxyType(
    {
        "²": "2", "³": "3", "°": " deg", "·": ".", "×": "x", "–": "-", "—": "-", "’": "'", "“": '"', "”": '"',
        "±": "+-", "≤": "<=", "≥": ">=", "…": "...", "µ": "u", "→": "->", "\u202f": " ", "\u00a0": " ",
    }
)  # fmt: skip


def rounded(value: float, unit: str) -> str:
    """Return a figure as text, rounded as its unit deserves (lengths to 0.01 mm), never ``-0.00``."""
    shown = value * 100 if unit == "fraction" else value
    decimals = DECIMALS.get(unit, 2)
    text = f"{shown:,.{decimals}f}".replace(",", NARROW)
    return text.removeprefix("-") if float(text.replace(NARROW, "")) == 0 else text


def with_unit(value: float | str | None, unit: str) -> str:
    """Return a figure with its unit, for instance ``2.51 mm``; nan and None are ``not measured``."""
    if isinstance(value, str):
        return value
    if value is None or not math.isfinite(value):
        return NOT_MEASURED
    if not unit and value == round(value):
        unit = "count"
    sign = UNIT_SIGNS.get(unit, unit)
    gap = "" if sign in ("°", "") else HARD_SPACE
    return f"{rounded(value, unit)}{gap}{sign}"


def measure_said(measure: str, value: float | str | None, yes_no: bool = False) -> str:
    """Return a measure's figure in words: a count, a figure with its unit, or where it is one a yes or no."""
    if yes_no and isinstance(value, int | float) and math.isfinite(value):
        return "yes" if value else "no"
    return with_unit(value, unit_of(measure))


def measure_name(measure: str) -> str:
    """Return a readable name for a measure nobody described: ``max_depth_mm`` is ``max depth``."""
    unit = unit_of(measure)
    words = [word for word in measure.replace(".", "_").split("_") if word]
    drop = unit.split("_")
    kept = [word for word in words if word not in drop or not unit]
    return " ".join(kept or words)


def ascii_only(text: str) -> str:
    """Return text for a terminal that knows no more than ASCII; what has no near sign becomes ``?``."""
    for sign, plain in ASCII_SIGNS.items():
        text = text.replace(sign, plain)
    return text.encode("ascii", "replace").decode("ascii")


def counted(count: int, one: str, many: str = "") -> str:
    """Return ``1 finding`` or ``3 findings``."""
    return f"{count} {one if count == 1 else many or one + 's'}"
