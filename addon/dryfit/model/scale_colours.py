"""Colours for painted values, told apart also by eyes that confuse red and green.

Two scales, as linear stops from low to high. The diverging one runs from burnt orange (below) over chalk to deep
sea blue (above); the plain one from chalk to ink. Lightness alone orders the plain one, and orders each half of the
diverging one. Chosen by eye for this project; no published palette.
"""

from collections.abc import Sequence

Colour = tuple[float, float, float]

DIVERGING: tuple[Colour, ...] = (
    (0.62, 0.20, 0.05),
    (0.90, 0.53, 0.24),
    (0.95, 0.93, 0.88),
    (0.36, 0.62, 0.74),
    (0.05, 0.27, 0.45),
)
PLAIN: tuple[Colour, ...] = (
    (0.95, 0.92, 0.82),
    (0.72, 0.76, 0.66),
    (0.44, 0.58, 0.60),
    (0.24, 0.36, 0.52),
    (0.14, 0.13, 0.34),
)
OVER_LIMIT: Colour = (0.62, 0.20, 0.05)
"""Where a plain scale has passed its limit."""


def scale_of(diverging: bool) -> tuple[Colour, ...]:
    """Return the stops of a scale."""
    return DIVERGING if diverging else PLAIN


def colour_at(stops: Sequence[Colour], share: float) -> Colour:
    """Return the colour at ``share`` (0 low to 1 high) of evenly spaced stops."""
    place = min(max(share, 0.0), 1.0) * (len(stops) - 1)
    lower = min(int(place), len(stops) - 2)
    part = place - lower
    one, other = stops[lower], stops[lower + 1]
    red, green, blue = (a * (1.0 - part) + b * part for a, b in zip(one, other, strict=True))
    return red, green, blue
