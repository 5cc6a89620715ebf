"""The page's colours and the contrast rule they keep (WCAG 2.2, success criteria 1.4.3 and 1.4.11)."""

from collections.abc import Mapping
from types import MappingProxyType

from .pictures.colour_map import from_hex, linear_light

PAPER, CARD, INK, FAINT_INK, RULE = "F6F3EC", "FFFFFF", "1D2126", "4F5660", "7B8088"
STATUS_INKS: Mapping[str, str] = MappingProxyType(
    {"pass": "0B5C7D", "review": "7A5200", "fail": "A63008", "not_checked": "4F5660"}
)
"""Blue, ochre, vermilion and grey: told apart by red-green blind eyes, and never without their word and shape."""
STATUS_WASHES: Mapping[str, str] = MappingProxyType(
    {"pass": "E3EFF4", "review": "F8EDD3", "fail": "FBE6DD", "not_checked": "ECEDEF"}
)
TEXT_CONTRAST, SIGN_CONTRAST = 4.5, 3.0


def luminance(colour: str) -> float:
    """Return the relative luminance, 0..1, of a colour like ``1D2126`` (WCAG 2.2)."""
    red, green, blue = linear_light(from_hex(colour))
    return float(0.2126 * red + 0.7152 * green + 0.0722 * blue)


def contrast_ratio(first: str, second: str) -> float:
    """Return the contrast of two colours, 1..21: ``(lighter + 0.05) / (darker + 0.05)``."""
    lighter, darker = sorted((luminance(first), luminance(second)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def text_pairs() -> list[tuple[str, str]]:
    """Return every (letters, ground) pair the page sets text in."""
    inks = [INK, FAINT_INK]
    grounds = [PAPER, CARD, *STATUS_WASHES.values()]
    pairs = [(ink, ground) for ink in inks for ground in grounds]
    pairs += [(STATUS_INKS[name], STATUS_WASHES[name]) for name in STATUS_INKS]
    pairs += [(ink, ground) for ink in STATUS_INKS.values() for ground in (PAPER, CARD)]
    return pairs + [(CARD, ink) for ink in STATUS_INKS.values()]
