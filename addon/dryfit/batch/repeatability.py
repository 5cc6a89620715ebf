"""How far a figure moves when nothing of the design changed, so that smaller moves are not taken for a change.

Two things move figures of an unchanged design. The measuring itself: the same design saved again, with its vertices in
another order, the whole scene moved and the coordinates rounded to 32 bits. That was measured, figure by figure, by
``scripts/measure_repeatability.py`` on the demonstration designs, and is kept in ``repeatability.json`` beside this
file. And the thing that is made: below the noise of a print or scan a difference cannot be held in the hand.
"""

import json
from collections.abc import Mapping
from functools import cache
from importlib import resources
from types import MappingProxyType

MADE: Mapping[str, float] = MappingProxyType(
    {"mm": 0.05, "mm2": 1.0, "mm3": 10.0, "deg": 0.2, "g": 0.5, "fraction": 0.01, "n_cm": 0.5, "t": 0.005, "count": 0.0}
)
"""Unit -> what cannot be held in the hand: the noise of a print or scan is 0.05-0.1 mm (common practice, no source)."""
SHARE = 0.01
"""Nor can a change below this share of the figure (common practice, no source)."""


def repeatable_within(check: str, measure: str, unit: str, figure: float) -> float:
    """Return how far a figure may move before it says anything, in its own unit, never negative.

    Parameters
    ----------
    check, measure, unit
        Which figure.
    figure
        Its size.
    """
    return max(measured_spread().get(f"{check}.{measure}", 0.0), MADE.get(unit, 0.0), SHARE * abs(figure))


@cache
def measured_spread() -> Mapping[str, float]:
    """Return ``check.measure`` -> the most that it moved when the same design was measured again, saved anew."""
    text = resources.files(__package__).joinpath("repeatability.json").read_text(encoding="utf8")
    spread: dict[str, float] = json.loads(text)["spread"]
    return MappingProxyType(spread)
