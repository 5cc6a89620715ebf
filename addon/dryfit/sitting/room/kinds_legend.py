"""The legend of what stops forms: a swatch, words and a share of the skin for each kind."""

from typing import Any

from ..paint_shader import KINDS
from ..screen_text import extent, folded, interface_scale, legend_corner, plate, write
from .kept_room import kept_kinds

LINE, PAD, SWATCH = 16.0, 9.0, 10.0
WIDEST = 250.0


def draw_kinds(context: Any, title: str, more: str) -> None:
    """Draw it where every other legend stands.

    Parameters
    ----------
    title, more
        What is painted, and what else is to be said of it, ``""`` for nothing.
    """
    scale = interface_scale(context)
    rows = [(colour, f"{kind.words} ({100.0 * kind.share:.0f} %)") for kind, colour in _with_colours(context.scene)]
    lines = [line for words in (title, more) if words for line in folded(words, scale, WIDEST * scale)]
    beside = (SWATCH + 8.0) * scale
    wide = max([extent(line, scale)[0] for line in lines] + [extent(words, scale)[0] + beside for _, words in rows])
    width, height = wide + 2 * PAD * scale, ((len(lines) + len(rows)) * LINE + 2 * PAD) * scale
    left, low = legend_corner(context, scale, width, height)
    plate(left, low, width, height)
    y = low + height - (PAD + 11.0) * scale
    for line in lines:
        write(line, left + PAD * scale, y, scale)
        y -= LINE * scale
    for colour, words in rows:
        plate(left + PAD * scale, y - 1.0 * scale, SWATCH * scale, SWATCH * scale, (*colour, 1.0))
        write(words, left + PAD * scale + beside, y, scale)
        y -= LINE * scale


def _with_colours(scene: Any) -> list[tuple[Any, tuple[float, float, float]]]:
    return [*zip(kept_kinds(scene), KINDS, strict=False)]
