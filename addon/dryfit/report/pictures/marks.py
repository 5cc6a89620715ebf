"""Numbered marks and a legend drawn over a picture."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ...model.arrays import FloatArray
from ...model.finding import Field
from ...model.sentences import capital
from ..wording import HARD_SPACE, NARROW, with_unit
from .colour_map import field_colours
from .picture import Pixels

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw

INK, PAPER, GREY = (22, 24, 28), (255, 255, 255), (92, 94, 98)
LETTERS_PX, RADIUS_PX, AWAY_PX = 15, 15, 46
BAR_PX = 14
LONGEST_UNIT = 4
"""Longer units stand in the title only."""
ROUNDS = 60


@dataclass(frozen=True)
class Mark:
    """A finding's label at its place on the picture, ``(2,)`` column and row; ``hidden`` where something covers it."""

    label: str
    place: FloatArray
    hidden: bool = False


def mark(pixels: Pixels, marks: Sequence[Mark], lettering: float = 1.0) -> Pixels:
    """Return the picture with a labelled disc for each mark, joined by a line to the place it means.

    A hidden place has a broken line and a grey disc. ``lettering`` enlarges the discs of pictures that will be
    shown small.
    """
    from PIL import Image, ImageDraw

    image = Image.fromarray(pixels)
    draw = ImageDraw.Draw(image)
    discs = spread([entry.place for entry in marks], image.size, lettering)
    for entry, disc in zip(marks, discs, strict=True):
        _leader(draw, disc, entry)
    for entry, disc in zip(marks, discs, strict=True):
        _disc(draw, disc, entry, lettering)
    return np.asarray(image)


def spread(places: Sequence[FloatArray], size: tuple[int, int], lettering: float = 1.0) -> list[FloatArray]:
    """Return a disc's middle for each place: off the place, inside the picture, apart from one another."""
    centre = np.array(size) / 2
    discs = []
    for place in places:
        away = np.asarray(place, dtype=np.float64) - centre
        length = float(np.linalg.norm(away))
        direction = away / length if length > 1 else np.array([0.6, -0.8])
        discs.append(np.asarray(place) + direction * AWAY_PX * lettering)
    radius = RADIUS_PX * lettering
    margin = radius + 4
    for _ in range(ROUNDS):
        _push_apart(discs, 2 * radius + 4)
        discs = [np.clip(disc, margin, np.array(size) - margin) for disc in discs]
    return discs


def _push_apart(discs: list[FloatArray], apart: float) -> None:
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


def _disc(draw: "ImageDraw", disc: FloatArray, entry: Mark, lettering: float) -> None:
    column, row = disc
    radius = RADIUS_PX * lettering
    box = [column - radius, row - radius, column + radius, row + radius]
    colour = GREY if entry.hidden else INK
    draw.ellipse(box, fill=PAPER, outline=colour, width=2)
    draw.text((column, row), entry.label, fill=colour, font=letters(LETTERS_PX * lettering), anchor="mm")


def with_legend(pixels: Pixels, field: Field, lettering: float = 1.0) -> Pixels:
    """Return the picture with the field's scale beneath: words, unit, ends, zero and the limit."""
    from PIL import Image, ImageDraw

    height, width = pixels.shape[:2]
    typeface = letters(LETTERS_PX * lettering)
    line_px = round(LETTERS_PX * lettering * 1.3)
    title = wrapped(_title(field), typeface, width - 44)
    top = height + 10 + line_px * len(title) + 6
    image = Image.new("RGB", (width, top + BAR_PX + 14 + line_px), PAPER)
    image.paste(Image.fromarray(pixels))
    left, right = 22, width - 22
    values = np.linspace(field.low, field.high, right - left)
    bar = np.round(field_colours(field, values) * 255).astype(np.uint8)
    image.paste(Image.fromarray(np.repeat(bar[None], BAR_PX, axis=0)), (left, top))
    draw = ImageDraw.Draw(image)
    draw.rectangle([left - 1, top - 1, right, top + BAR_PX], outline=GREY)
    for number, line in enumerate(title):
        draw.text((left, height + 9 + number * line_px), line, fill=INK, font=typeface)
    _ticks(draw, field, (left, right), top, lettering)
    return np.asarray(image)


def _title(field: Field) -> str:
    label = capital(field.label)
    return f"{label}, in {field.unit}" if field.unit and field.unit not in field.label else label


def wrapped(text: str, typeface: Any, width: int) -> list[str]:
    """Return text broken into lines no wider than ``width`` pixels, where its words allow."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if typeface.getlength(longer) > width and lines[-1]:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def _ticks(draw: "ImageDraw", field: Field, ends: tuple[int, int], top: int, lettering: float) -> None:
    taken: list[tuple[float, float]] = []
    left, right = ends
    span = (field.high - field.low) or 1.0
    typeface = letters((LETTERS_PX - 1) * lettering)
    for value, words in _tick_words(field):
        at = left + (value - field.low) / span * (right - left)
        half = draw.textlength(words, font=typeface) / 2
        middle = float(np.clip(at, left + half, right - half))
        if any(abs(middle - other) < half + other_half + 8 for other, other_half in taken):
            continue
        taken.append((middle, half))
        lead = 9 if words.startswith("limit") else 5
        draw.line([at, top - lead + 3, at, top + BAR_PX + 5], fill=INK, width=2)
        draw.text((middle, top + BAR_PX + 7 + LETTERS_PX * lettering / 2), words, fill=INK, font=typeface, anchor="mm")


def _tick_words(field: Field) -> list[tuple[float, str]]:
    ticks: list[tuple[float, str]] = []
    if np.isfinite(field.limit) and field.low <= field.limit <= field.high:
        ticks.append((field.limit, f"limit {_said(field.limit, field)}"))
    ticks += [(field.low, _said(field.low, field)), (field.high, _said(field.high, field))]
    if field.low < 0 < field.high:
        ticks.append((0.0, "0"))
    else:
        middle = (field.low + field.high) / 2
        ticks.append((middle, _said(middle, field)))
    return ticks


def _said(value: float, field: Field) -> str:
    """Return the figure with its unit, in letters the picture's typeface has."""
    unit = field.unit if len(field.unit) <= LONGEST_UNIT else ""
    return with_unit(value, unit).replace(HARD_SPACE, " ").replace(NARROW, " ")


def letters(size: float) -> Any:
    """Return the pictures' typeface at a size in pixels."""
    from PIL import ImageFont

    return ImageFont.load_default(size)
