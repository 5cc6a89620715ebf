"""Names written beside the pieces of a picture they belong to."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ...model.arrays import FloatArray
from .marks import INK, LETTERS_PX, PAPER, letters, wrapped
from .picture import Pixels

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw

SWATCH_PX, PAD_PX, EDGE_PX = 13, 7, 10
WIDTH_SHARE = 0.46


@dataclass(frozen=True)
class NamedPiece:
    """A piece's name, the pixel that stands for it ``(2,)``, column and row, and its colour."""

    name: str
    place: FloatArray
    colour: tuple[int, int, int]


def name_pieces(pixels: Pixels, pieces: Sequence[NamedPiece], lettering: float = 1.0) -> Pixels:
    """Return the picture with each piece's name in a corner of its own, joined to it by a line.

    The higher piece is named at the top, the next at the foot; each on the side away from the middle of the picture.
    """
    from PIL import Image, ImageDraw

    image = Image.fromarray(pixels)
    draw = ImageDraw.Draw(image)
    typeface = letters(LETTERS_PX * lettering)
    line_px = round(LETTERS_PX * lettering * 1.3)
    for number, piece in enumerate(sorted(pieces, key=lambda piece: float(piece.place[1]))):
        lines = wrapped(piece.name, typeface, round(image.width * WIDTH_SHARE))
        wide = round(max(typeface.getlength(line) for line in lines)) + SWATCH_PX + 3 * PAD_PX
        tall = line_px * len(lines) + PAD_PX
        left = EDGE_PX if piece.place[0] < image.width / 2 else image.width - EDGE_PX - wide
        top = EDGE_PX if number == 0 else image.height - EDGE_PX - tall
        _line(draw, (left + wide / 2, top + tall / 2), piece.place)
        draw.rectangle([left, top, left + wide, top + tall], fill=PAPER, outline=INK, width=2)
        swatch = [left + PAD_PX, top + PAD_PX, left + PAD_PX + SWATCH_PX, top + PAD_PX + SWATCH_PX]
        draw.rectangle(swatch, fill=piece.colour, outline=INK)
        for row, line in enumerate(lines):
            draw.text((left + SWATCH_PX + 2 * PAD_PX, top + 3 + row * line_px), line, fill=INK, font=typeface)
    return np.asarray(image)


def _line(draw: "ImageDraw", start: tuple[float, float], place: FloatArray) -> None:
    end = (float(place[0]), float(place[1]))
    for colour, width in ((PAPER, 5), (INK, 2)):
        draw.line([start, end], fill=colour, width=width)
    column, row = end
    box = [column - 5, row - 5, column + 5, row + 5]
    draw.ellipse(box, fill=INK, outline=PAPER, width=2)
