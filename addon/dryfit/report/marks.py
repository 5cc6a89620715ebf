"""Numbered marks and a legend drawn over a picture."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ..model.arrays import FloatArray
from ..model.finding import Field
from .colour_map import field_colours
from .picture import Pixels
from .wording import with_unit

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw

INK, PAPER, GREY = (22, 24, 28), (255, 255, 255), (92, 94, 98)
LETTERS_PX, RADIUS_PX, LEGEND_PX = 15, 15, 74
AWAY_PX = 46
ROUNDS = 60


@dataclass(frozen=True)
class Mark:
    """A finding's label at its place on the picture, ``(2,)`` column and row; ``hidden`` where something covers it."""

    label: str
    place: FloatArray
    hidden: bool = False


def mark(pixels: Pixels, marks: Sequence[Mark]) -> Pixels:
    """Return the picture with a labelled disc for each mark, joined by a line to the place it means.

    A hidden place has a broken line and a grey disc.
    """
    from PIL import Image, ImageDraw

    image = Image.fromarray(pixels)
    draw = ImageDraw.Draw(image)
    discs = spread([entry.place for entry in marks], image.size)
    for entry, disc in zip(marks, discs, strict=True):
        _leader(draw, disc, entry)
    for entry, disc in zip(marks, discs, strict=True):
        _disc(draw, disc, entry)
    return np.asarray(image)


def spread(places: Sequence[FloatArray], size: tuple[int, int]) -> list[FloatArray]:
    """Return a disc's middle for each place: off the place, inside the picture, apart from one another."""
    centre = np.array(size) / 2
    discs = []
    for place in places:
        away = np.asarray(place, dtype=np.float64) - centre
        length = float(np.linalg.norm(away))
        direction = away / length if length > 1 else np.array([0.6, -0.8])
        discs.append(np.asarray(place) + direction * AWAY_PX)
    margin = RADIUS_PX + 4
    for _ in range(ROUNDS):
        _push_apart(discs)
        discs = [np.clip(disc, margin, np.array(size) - margin) for disc in discs]
    return discs


def _push_apart(discs: list[FloatArray]) -> None:
    apart = 2 * RADIUS_PX + 4
    for first in range(len(discs)):
        for second in range(first + 1, len(discs)):
            between = discs[second] - discs[first]
            gap = float(np.linalg.norm(between))
            if gap < apart:
                direction = between / gap if gap > 0.1 else np.array([1.0, 0.3 * (second - first)])
                discs[first] = discs[first] - direction * (apart - gap) / 2
                discs[second] = discs[second] + direction * (apart - gap) / 2


def _leader(draw: "ImageDraw", disc: FloatArray, entry: Mark) -> None:
    ends = np.linspace(disc, entry.place, 13)
    step = 2 if entry.hidden else 1
    for at in range(0, 12, step):
        piece = [tuple(ends[at]), tuple(ends[at + 1])]
        draw.line(piece, fill=PAPER, width=5)
    for at in range(0, 12, step):
        draw.line([tuple(ends[at]), tuple(ends[at + 1])], fill=GREY if entry.hidden else INK, width=2)
    column, row = entry.place
    draw.ellipse([column - 4, row - 4, column + 4, row + 4], fill=GREY if entry.hidden else INK, outline=PAPER, width=1)


def _disc(draw: "ImageDraw", disc: FloatArray, entry: Mark) -> None:
    column, row = disc
    box = [column - RADIUS_PX, row - RADIUS_PX, column + RADIUS_PX, row + RADIUS_PX]
    colour = GREY if entry.hidden else INK
    draw.ellipse(box, fill=PAPER, outline=colour, width=2)
    draw.text((column, row), entry.label, fill=colour, font=_letters(LETTERS_PX), anchor="mm")


def with_legend(pixels: Pixels, field: Field) -> Pixels:
    """Return the picture with the field's scale beneath: words, unit, ends, zero and the limit."""
    from PIL import Image, ImageDraw

    height, width = pixels.shape[:2]
    image = Image.new("RGB", (width, height + LEGEND_PX), PAPER)
    image.paste(Image.fromarray(pixels))
    left, right, top = 22, width - 22, height + 30
    values = np.linspace(field.low, field.high, right - left)
    bar = np.round(field_colours(field, values) * 255).astype(np.uint8)
    image.paste(Image.fromarray(np.repeat(bar[None], 14, axis=0)), (left, top))
    draw = ImageDraw.Draw(image)
    draw.rectangle([left - 1, top - 1, right, top + 14], outline=GREY)
    draw.text((left, height + 9), _title(field), fill=INK, font=_letters(LETTERS_PX))
    _ticks(draw, field, left, right, top)
    return np.asarray(image)


def _title(field: Field) -> str:
    return f"{field.label}, in {field.unit}" if field.unit and field.unit not in field.label else field.label


def _ticks(draw: "ImageDraw", field: Field, left: int, right: int, top: int) -> None:
    taken: list[float] = []
    span = (field.high - field.low) or 1.0
    for value, words in _tick_words(field):
        at = left + (value - field.low) / span * (right - left)
        width = draw.textlength(words, font=_letters(LETTERS_PX - 2))
        text_at = float(np.clip(at, left + width / 2, right - width / 2))
        if any(abs(text_at - other) < width / 2 + 44 for other in taken):
            continue
        taken.append(text_at)
        lead = 9 if words.startswith("limit") else 5
        draw.line([at, top - lead + 5, at, top + 14 + lead], fill=INK, width=2)
        draw.text((text_at, top + 32), words, fill=INK, font=_letters(LETTERS_PX - 2), anchor="mm")


def _tick_words(field: Field) -> list[tuple[float, str]]:
    ticks: list[tuple[float, str]] = []
    if np.isfinite(field.limit) and field.low <= field.limit <= field.high:
        ticks.append((field.limit, f"limit {with_unit(field.limit, field.unit)}"))
    ticks += [(field.low, with_unit(field.low, field.unit)), (field.high, with_unit(field.high, field.unit))]
    if field.low < 0 < field.high:
        ticks.append((0.0, f"0 {field.unit}"))
    else:
        middle = (field.low + field.high) / 2
        ticks.append((middle, with_unit(middle, field.unit)))
    return ticks


def _letters(size: int) -> Any:
    from PIL import ImageFont

    return ImageFont.load_default(size)
