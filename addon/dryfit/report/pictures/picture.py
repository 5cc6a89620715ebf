"""From a shot and a coat to pixels."""

import io
from collections.abc import Mapping, Sequence
from functools import cache
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from ...model.arrays import FloatArray
from ...model.finding import Field
from .coat import Coat, field_at
from .colour_map import display_values, from_hex, linear_light
from .lighting import gloss, painted_light, studio_light
from .shot import Shot
from .stage import Stage

BACKDROP_TOP, BACKDROP_FOOT = "F3F1EC", "DEDAD2"
LIMIT_LINE = "101214"
TABLE_STEPS = 16384
FACT = "dryfit:"
"""Begins the name of every text chunk that says something of the design."""
Pixels = npt.NDArray[np.uint8]
"""``(height, width, 3)``."""


def develop(stage: Stage, shot: Shot, coat: Coat, limits_of: Sequence[Field] = (), raking: bool = False) -> Pixels:
    """Return the lit picture over the backdrop.

    Parameters
    ----------
    stage, shot, coat
        What is there, what is seen of it and how it is coloured.
    limits_of
        Fields whose limit is drawn as a dark line.
    raking
        Whether light grazes what is looked at.
    """
    openness = open_shares(stage, shot)
    light = studio_light(shot, openness, raking)
    light = np.where(coat.painted, painted_light(light), light)
    colour = coat.colour * light[:, None] + (coat.gloss * gloss(shot, openness))[:, None]
    lit = np.stack([shot.gathered(channel) for channel in colour.T], axis=-1)
    behind = _backdrop(shot.viewpoint.size) * (1.0 - shot.coverage()[..., None])
    shown = lit + behind
    for field in limits_of:
        shown[_limit_line(stage, shot, field)] = linear_light(from_hex(LIMIT_LINE))
    return _to_bytes(shown)


def open_shares(stage: Stage, shot: Shot) -> FloatArray:
    """Return the share of its surroundings that each sample sees, ``(s,)``."""
    seen, place = np.unique(stage.faces[shot.face], return_inverse=True)
    shares = stage.openness.at(seen)[place.reshape(-1, 3)]
    return np.asarray(np.einsum("sc,sc->s", shot.barycentric, shares))


def _to_bytes(linear: FloatArray) -> Pixels:
    """Return sRGB bytes of linear light by table: exact to the byte above the darkest shades."""
    steps = np.clip(linear * TABLE_STEPS, 0, TABLE_STEPS).astype(np.int64)
    pixels: Pixels = _byte_table()[steps]
    return pixels


@cache
def _byte_table() -> npt.NDArray[np.uint8]:
    levels = display_values((np.arange(TABLE_STEPS + 1) + 0.5) / TABLE_STEPS)
    return np.round(levels * 255).astype(np.uint8)


def png_bytes(pixels: Pixels, words: str, software: str, facts: Mapping[str, str] = MappingProxyType({})) -> bytes:
    """Return a PNG file with its description and the program that made it written inside; no time.

    Parameters
    ----------
    pixels, words, software
        The picture, what it shows, and what made it.
    facts
        What else is said, each in a text chunk of its own name: ``dryfit:verdict`` and so on.

    Raises
    ------
    ImportError
        Without Pillow.
    """
    from PIL import Image, PngImagePlugin

    notes = PngImagePlugin.PngInfo()
    notes.add_text("Software", software)
    notes.add_itxt("Description", words)
    for name, said in facts.items():
        notes.add_itxt(f"{FACT}{name}", said)
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, "PNG", pnginfo=notes, compress_level=5)
    return stream.getvalue()


def _backdrop(size: tuple[int, int]) -> FloatArray:
    width, height = size
    share = np.linspace(0.0, 1.0, height)[:, None, None]
    ends = linear_light(from_hex(BACKDROP_TOP)), linear_light(from_hex(BACKDROP_FOOT))
    column: FloatArray = np.broadcast_to(ends[0] * (1 - share) + ends[1] * share, (height, width, 3))
    return column


def _limit_line(stage: Stage, shot: Shot, field: Field) -> npt.NDArray[np.bool_]:
    """Return the pixels ``(height, width)`` where the field passes its limit between neighbours of one part."""
    width, height = shot.viewpoint.size
    grid = np.full(width * height, np.nan)
    if np.isfinite(field.limit):
        samples, values = field_at(stage, shot, field)
        grid[shot.pixel[samples]] = values - field.limit
    over = grid.reshape(height, width)
    line = np.zeros((height, width), dtype=bool)
    for first, second in ((np.s_[:, :-1], np.s_[:, 1:]), (np.s_[:-1], np.s_[1:])):
        crossing = over[first] * over[second] < 0
        line[first] |= crossing
    return line
