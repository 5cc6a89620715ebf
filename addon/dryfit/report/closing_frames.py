"""The closing mouth, step by step: a strip of a few poses, and the same as a moving picture."""

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ..model.arrays import FloatArray
from ..model.finding import Curve, Field
from ..model.report import CheckResult
from ..model.snapshot import Part
from .coat import field_coat, plain_coat
from .marks import GREY, INK, LETTERS_PX, PAPER, letters
from .picture import Pixels, develop
from .shot import take
from .stage import Posed, Stage
from .studio import Studio
from .viewpoint import Viewpoint

STEPS = 5
"""Poses of the strip; every one is posed for itself."""
BETWEEN = 1
"""Pictures of the moving one between two of those: their vertices are blended on straight lines."""
FRAME_SIZE = (232, 200)
ROOM = 0.62
"""Skin this far from the middle of the picture is kept, as a share of the picture's height."""
FRAME_MS, LAST_MS, TIMES = 220, 1400, 3
"""The moving picture plays this many times, then rests on its last frame."""


@dataclass(frozen=True)
class Frame:
    """One pose of the closing jaw, pictured.

    Attributes
    ----------
    t
        The pose.
    pixels
        The picture.
    posed
        False where the pose was blended from its neighbours.
    """

    t: float
    pixels: Pixels
    posed: bool


def closing_frames(studio: Studio, result: CheckResult, view: Viewpoint, stop_t: float) -> tuple[Frame, ...]:
    """Return the closing mouth from wide open to where it stops.

    Parameters
    ----------
    studio
        The design.
    result
        The closure check's result; fields named ``overlap`` are painted on the parts that block.
    view
        A close view of the mouth.
    stop_t
        Where the jaw stops, or 0.
    """
    view = replace(view, size=FRAME_SIZE, lettering=1.0)
    fields = [field for field in result.fields if field.name == "overlap"]
    times = np.linspace(1.0, stop_t, STEPS).tolist()
    near = _Near(studio, view, [studio.posed("jaw", t) for t in times])
    return tuple(
        Frame(t, _picture(near.stage(place), near, view, fields, studio.frame.front), place % (BETWEEN + 1) == 0)
        for place, t in enumerate(_with_between(times))
    )


def _with_between(times: Sequence[float]) -> list[float]:
    found = [times[0]]
    for start, end in pairwise(times):
        found += np.linspace(start, end, BETWEEN + 2)[1:].tolist()
    return found


class _Near:
    """The parts of a design cut down to what is near the mouth in any of some poses, and staged in them."""

    def __init__(self, studio: Studio, view: Viewpoint, poses: Sequence[Posed]) -> None:
        self._poses = poses
        self._whole = studio.snapshot.parts
        kept = [(part, _near_faces(part, view, poses)) for part in self._whole]
        self._ids = {part.name: np.unique(faces) for part, faces in kept if len(faces)}
        self._parts = tuple(_cut(part, self._ids[part.name], faces) for part, faces in kept if len(faces))
        last = (len(poses) - 1) * (BETWEEN + 1)
        self._open = self._posed_stage(0, None, None)
        self._stopped = self._posed_stage(last, self._open, None)
        self._last = last

    def stage(self, place: int) -> Stage:
        """Return the parts at one frame: every ``BETWEEN + 1`` is a pose, the others are blended.

        Between wide open and stopped, shade is blended too: it changes slowly and costs more than all else.
        """
        if place in (0, self._last):
            return self._open if place == 0 else self._stopped
        share = place / self._last
        shade = (1.0 - share) * self._open.openness + share * self._stopped.openness
        return self._posed_stage(place, self._open, shade)

    def _posed_stage(self, place: int, like: Stage | None, shade: FloatArray | None) -> Stage:
        pose, step = divmod(place, BETWEEN + 1)
        share = step / (BETWEEN + 1)
        later = min(pose + 1, len(self._poses) - 1)
        posed = {
            part.name: (1.0 - share) * self._standing(part, pose) + share * self._standing(part, later)
            for part in self._parts
        }
        return Stage(self._parts, posed, like, shade)

    def cut_field(self, field: Field) -> Field:
        """Return a field's values on the vertices that were kept."""
        return replace(field, values=field.values[self._ids[field.part]])

    def has(self, field: Field) -> bool:
        """Tell whether any of a field's part was kept."""
        return field.part in self._ids

    def _standing(self, part: Part, pose: int) -> FloatArray:
        whole = self._poses[pose].get(part.name)
        return part.vertices_mm if whole is None else np.asarray(whole)[self._ids[part.name]]


def _near_faces(part: Part, view: Viewpoint, poses: Sequence[Posed]) -> np.ndarray:
    near = np.zeros(len(part.vertices_mm), bool)
    for posed in poses:
        off = np.asarray(posed.get(part.name, part.vertices_mm)) - view.centre_mm
        across = np.stack([off @ view.right, off @ view.up], axis=1)
        near |= np.abs(across).max(axis=1) < ROOM * view.height_mm
    return part.faces[near[part.faces].all(axis=1)]


def _cut(part: Part, ids: np.ndarray, faces: np.ndarray) -> Part:
    place = np.zeros(len(part.vertices_mm), np.int64)
    place[ids] = np.arange(len(ids))
    return Part(part.name, part.role, part.vertices_mm[ids], place[faces], part.material)


def _picture(stage: Stage, near: _Near, view: Viewpoint, fields: Sequence[Field], front: FloatArray) -> Pixels:
    shot = take(stage, view)
    painted = [near.cut_field(field) for field in fields if near.has(field)]
    return develop(stage, shot, field_coat(stage, shot, painted) if painted else plain_coat(stage, shot, front))


def strip(frames: Sequence[Frame], gap: Curve | None) -> Pixels:
    """Return the posed frames side by side, each with how far the jaw is open and the gap between the lips."""
    from PIL import Image

    labelled = [_labelled(frame, gap) for frame in frames if frame.posed]
    height, width = labelled[0].shape[:2]
    image = Image.new("RGB", (len(labelled) * (width + 6) - 6, height), PAPER)
    for place, pixels in enumerate(labelled):
        image.paste(Image.fromarray(pixels), (place * (width + 6), 0))
    return np.asarray(image)


def moving_png(frames: Sequence[Frame], gap: Curve | None, words: str, software: str) -> bytes:
    """Return an animated PNG of all frames; a viewer that cannot move pictures shows the first.

    Raises
    ------
    ImportError
        Without Pillow.
    """
    from PIL import Image, PngImagePlugin

    notes = PngImagePlugin.PngInfo()
    notes.add_text("Software", software)
    notes.add_itxt("Description", words)
    images = [Image.fromarray(_labelled(frame, gap)) for frame in frames]
    times = [*[FRAME_MS] * (len(images) - 1), LAST_MS]
    stream = io.BytesIO()
    images[0].save(
        stream, "PNG", save_all=True, append_images=images[1:], duration=times, loop=TIMES, pnginfo=notes,
        compress_level=4,
    )  # fmt: skip
    return stream.getvalue()


def _labelled(frame: Frame, gap: Curve | None) -> Pixels:
    from PIL import Image, ImageDraw

    height, width = frame.pixels.shape[:2]
    image = Image.new("RGB", (width, height + 2 * LETTERS_PX + 14), PAPER)
    image.paste(Image.fromarray(frame.pixels))
    draw = ImageDraw.Draw(image)
    for row, (line, ink) in enumerate(zip(_lines(frame, gap), (INK, GREY), strict=False)):
        draw.text((4, height + 4 + row * (LETTERS_PX + 4)), line, fill=ink, font=letters(LETTERS_PX - 1))
    return np.asarray(image)


def _lines(frame: Frame, gap: Curve | None) -> Iterator[str]:
    yield "mouth closed" if frame.t == 0.0 else f"jaw {100 * frame.t:.0f} % open"
    if gap is not None and len(gap.x) > 1:
        yield f"lips {np.interp(frame.t, gap.x, gap.y):.1f} mm apart"
