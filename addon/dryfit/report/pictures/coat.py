"""What each part is coloured: plain materials by role, and a painted field over them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.finding import Field
from ...model.snapshot import Part, Role
from .colour_map import field_colours, from_hex, linear_light
from .shot import Shot
from .stage import Stage

ROLE_COLOURS: Mapping[str, str] = MappingProxyType(
    {
        Role.BASE: "C9B3A2",
        Role.APPLIANCE: "9A7B5F",
        Role.UPPER_TEETH: "EFE7D4",
        Role.LOWER_TEETH: "EFE7D4",
        Role.HARDWARE: "A77B3C",
        Role.EYE_LEFT: "F1EEE9",
        Role.EYE_RIGHT: "F1EEE9",
    }
)
MATERIAL_COLOURS: Mapping[str, str] = MappingProxyType(
    {"bronze": "8E6A35", "brass": "B08D3E", "aluminium": "A9ADB0", "acrylic": "E9DFCB", "printed_resin": "8C8F93"}
)
CLAY = "B8B3AC"
"""Parts that carry no paint in a painted picture."""
GLOSS: Mapping[str, float] = MappingProxyType(
    {Role.HARDWARE: 0.45, Role.UPPER_TEETH: 0.30, Role.LOWER_TEETH: 0.30, Role.EYE_LEFT: 0.5, Role.EYE_RIGHT: 0.5}
)
TINT, TINT_FROM = "E4572E", 0.5
"""Where something is to change, and from which value of a field of 0 and 1 on."""
SOFT_GLOSS = 0.06
IRIS_DEG, PUPIL_DEG = 28.0, 11.0
"""Half angles of iris and pupil seen from the middle of the eye: 11.7 and 4 mm wide on a 24 mm eye (from memory)."""
IRIS_COLOUR, PUPIL_COLOUR, IRIS_RING = "5B6B62", "16181A", "2E3A35"


@dataclass(frozen=True)
class Coat:
    """Colour of every sample of a shot.

    Attributes
    ----------
    colour
        Linear light, ``(s, 3)``.
    gloss
        Strength of the highlight, ``(s,)``.
    painted
        Samples that carry a measured value, ``(s,)``.
    """

    colour: FloatArray
    gloss: FloatArray
    painted: BoolArray


def plain_coat(stage: Stage, shot: Shot, front: FloatArray) -> Coat:
    """Return the parts in their own colours; eyes look along ``front``, a unit vector."""
    colours = np.array([linear_light(from_hex(_plain_colour(part))) for part in stage.parts])
    shine = np.array([GLOSS.get(part.role, SOFT_GLOSS) for part in stage.parts])
    colour = colours[shot.part]
    for place, part in enumerate(stage.parts):
        if part.role in (Role.EYE_LEFT, Role.EYE_RIGHT):
            _paint_iris(colour, shot, place, stage.vertices_of(part.name).mean(axis=0), front)
    return Coat(colour, shine[shot.part], np.zeros(len(colour), dtype=bool))


def tinted_coat(stage: Stage, shot: Shot, front: FloatArray, fields: Sequence[Field]) -> Coat:
    """Return the parts in their own colours, and in one strong colour where a field of 0 and 1 is over a half."""
    plain = plain_coat(stage, shot, front)
    colour, painted = plain.colour.copy(), plain.painted.copy()
    for field in fields:
        samples, values = field_at(stage, shot, field)
        over = samples[values > TINT_FROM]
        colour[over], painted[over] = linear_light(from_hex(TINT)), True
    return Coat(colour, plain.gloss, painted)


def field_coat(stage: Stage, shot: Shot, fields: Sequence[Field]) -> Coat:
    """Return clay with fields painted on the parts they name; where a value is nan the clay shows."""
    colour = np.tile(linear_light(from_hex(CLAY)), (len(shot.pixel), 1))
    painted = np.zeros(len(colour), dtype=bool)
    for field in fields:
        samples, values = field_at(stage, shot, field)
        known = np.isfinite(values)
        colour[samples[known]] = linear_light(field_colours(field, values[known]))
        painted[samples[known]] = True
    return Coat(colour, np.full(len(colour), SOFT_GLOSS / 2), painted)


def field_at(stage: Stage, shot: Shot, field: Field) -> tuple[IntArray, FloatArray]:
    """Return the samples ``(k,)`` on the field's part and the field's values there ``(k,)``.

    Raises
    ------
    KeyError
        When the part is not on stage.
    """
    place = stage.index(field.part)
    samples = np.flatnonzero(shot.part == place)
    corner = stage.surface.faces[shot.face[samples]] - stage.starts[place]
    return samples, np.einsum("sc,sc->s", shot.barycentric[samples], field.values[corner])


def _plain_colour(part: Part) -> str:
    own = MATERIAL_COLOURS.get(part.material, "") if part.role == Role.HARDWARE else ""
    return own or ROLE_COLOURS.get(part.role, CLAY)


def _paint_iris(colour: FloatArray, shot: Shot, place: int, centre: FloatArray, front: FloatArray) -> None:
    samples = np.flatnonzero(shot.part == place)
    outward = shot.point_mm[samples] - centre
    cosine = outward @ front / np.maximum(np.linalg.norm(outward, axis=1), 1e-9)
    for half_deg, text in ((IRIS_DEG, IRIS_RING), (IRIS_DEG - 4, IRIS_COLOUR), (PUPIL_DEG, PUPIL_COLOUR)):
        colour[samples[cosine > np.cos(np.radians(half_deg))]] = linear_light(from_hex(text))
