"""Colours for painted values in the viewport: the scales of the reports' pages, thinned to evenly spaced stops.

``report.colour_map`` holds both scales in full, with their sources (cividis: Nunez, Anderton & Renslow 2018, PLoS ONE
13(7):e0199239; diverging: Moreland 2009, doi 10.1007/978-3-642-10520-3_9). A shader wants few stops and Blender's own
Python has no need for the rest; a test holds the two together. Told apart also by eyes that confuse red and green.
"""

from collections.abc import Sequence

Colour = tuple[float, float, float]


def _colours(stops: str) -> tuple[Colour, ...]:
    return tuple((int(one[:2], 16) / 255, int(one[2:4], 16) / 255, int(one[4:], 16) / 255) for one in stops.split())


DIVERGING = _colours(
    "A03C00 B25918 C27432 CE8E4C D7A569 DDB986 DFC9A4 DFD5C1 DDDDDD "
    "CDDADF BED5E0 AED0E1 9FC9E2 91C2E2 83B9E1 77B0DF 6CA6DC"
)
"""Dark orange below zero, lighter blue above, colourless at zero."""
PLAIN = _colours(
    "00224E 002E6A 1A386F 32436D 434E6C 52596D 61656F 6F7073 7C7B78 "
    "8B8778 9B9376 ABA072 BBAD6C CCBA64 DDC958 EFD748 FEE838"
)
"""From low (dark blue) to high (yellow), lightness alone in order."""


def scale_of(diverging: bool) -> tuple[Colour, ...]:
    """Return the stops of a scale."""
    return DIVERGING if diverging else PLAIN


def share_on(value: float, low: float, high: float, diverging: bool) -> float:
    """Return where a value lies on its scale, 0 low to 1 high; zero is the middle of a diverging one."""
    if not diverging:
        share = (value - low) / ((high - low) or 1.0)
    else:
        share = 0.5 + 0.5 * (value / max(high, 1e-12) if value > 0.0 else value / max(-low, 1e-12))
    return min(max(share, 0.0), 1.0)


def value_at(share: float, low: float, high: float, diverging: bool) -> float:
    """Return the value that lies at a share of its scale, the inverse of ``share_on`` within it."""
    if not diverging:
        return low + (high - low) * share
    return low * (1.0 - 2.0 * share) if share < 0.5 else high * (2.0 * share - 1.0)


def colour_at(stops: Sequence[Colour], share: float) -> Colour:
    """Return the colour at ``share`` (0 low to 1 high) of evenly spaced stops."""
    place = min(max(share, 0.0), 1.0) * (len(stops) - 1)
    lower = min(int(place), len(stops) - 2)
    part = place - lower
    one, other = stops[lower], stops[lower + 1]
    red, green, blue = (a * (1.0 - part) + b * part for a, b in zip(one, other, strict=True))
    return red, green, blue
