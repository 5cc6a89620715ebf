"""Pictures of the closing put together into one that moves."""

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image as Still

STEP_MS, HELD_MS = 260, 1300
COLOURS = 96


def closing_gif(pngs: Sequence[bytes]) -> bytes:
    """Return a GIF that closes the mouth, waits, and opens it again, for ever; ``b""`` for fewer than two pictures.

    Parameters
    ----------
    pngs
        The steps, wide open first, all of one size.

    Raises
    ------
    ImportError
        Without Pillow.
    """
    from PIL import Image

    if len(pngs) < 2:
        return b""
    stills = [Image.open(io.BytesIO(png)).convert("RGB") for png in pngs]
    inks = _common_inks(stills)
    frames = [still.quantize(palette=inks, dither=Image.Dither.NONE) for still in stills]
    order = [*range(len(frames)), *range(len(frames) - 2, 0, -1)]
    waits = [HELD_MS if place in (0, len(frames) - 1) else STEP_MS for place in order]
    stream = io.BytesIO()
    frames[0].save(
        stream, "GIF", save_all=True, append_images=[frames[place] for place in order[1:]], duration=waits, loop=0,
        optimize=False, comment=b"dryfit ",
    )  # fmt: skip
    return stream.getvalue()


def _common_inks(stills: Sequence["Still"]) -> "Still":
    """Return one palette for all steps, so that nothing but the mouth changes from step to step."""
    from PIL import Image

    width, height = stills[0].size
    sheet = Image.new("RGB", (width * len(stills), height))
    for place, still in enumerate(stills):
        sheet.paste(still, (width * place, 0))
    return sheet.quantize(COLOURS)
