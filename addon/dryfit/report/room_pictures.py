"""Pictures of a room: its height painted from five sides, what stops it where, and where an edge may end."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from ..model.arrays import FloatArray, IntArray
from ..model.finding import Field
from ..model.sentences import capital
from ..model.snapshot import Role, Snapshot
from ..model.version import VERSION
from ..rooms.kinds import kinds_of
from ..rooms.room import Room
from .pictures.coat import CLAY, SOFT_GLOSS, Coat
from .pictures.colour_map import from_hex, linear_light
from .pictures.picture import develop, png_bytes
from .pictures.shot import Shot
from .pictures.stage import Stage
from .pictures.studio import Picture, Setting, Studio
from .pictures.viewpoint import Viewpoint

SCALE_MM = 20.0
"""The top of the painted scale: what may stand higher is as good as free for a face piece."""
EDGE = "0072B2"


def room_pictures(room: Room, snapshot: Snapshot) -> Iterator[Picture]:
    """Take every picture of a room, of the bare head alone."""
    bare = replace(snapshot, parts=tuple(part for part in snapshot.parts if _is_head(part.role)), motions={})
    studio = Studio(bare, lambda motion, t: {}, f"dryfit {VERSION}")
    field = Field("room", bare.base.name, room.room_mm, "mm", "Room: how much may be added", 0.0, SCALE_MM)
    for view in studio.portraits:
        yield studio.painted(f"room-{view.name}", "", Setting(), view, [field])()
    kinds, kind = kinds_of(room)
    front, side = studio.portraits[0], studio.portraits[1]
    for view in (front, side):
        colours = [each.colour for each in kinds]
        yield _in_kinds(studio, bare, view, kind, colours, f"stops-{view.name}", "what stops a form, by colour")
    edge = np.where(room.edges.allowed, 0, -1)
    for view in (front, side):
        yield _in_kinds(studio, bare, view, edge, [EDGE], f"edges-{view.name}", "where an edge may end, in blue")


def _is_head(role: Role) -> bool:
    return role in (Role.BASE, Role.EYE_LEFT, Role.EYE_RIGHT)


def _in_kinds(
    studio: Studio, snapshot: Snapshot, view: Viewpoint, kind: IntArray, colours: Sequence[str], name: str, words: str
) -> Picture:
    """Shoot the base with each vertex in the colour of its kind; clay where it is of none."""
    stage, shot = studio.shot(Setting(), view)
    pixels = develop(stage, shot, _kind_coat(stage, shot, snapshot.base.name, kind, colours))
    caption = capital(f"{view.words}, {words}")
    said = f"{capital(snapshot.name)}: {caption}"
    height, width = pixels.shape[:2]
    png = png_bytes(pixels, said, studio.software)
    return Picture(name, "", said, caption, png, (width, height), studio.small(stage))


def _kind_coat(stage: Stage, shot: Shot, part: str, kind: IntArray, colours: Sequence[str]) -> Coat:
    place = stage.index(part)
    samples = np.flatnonzero(shot.part == place)
    corners = stage.surface.faces[shot.face[samples]] - stage.starts[place]
    nearest = corners[np.arange(len(samples)), shot.barycentric[samples].argmax(axis=1)]
    colour: FloatArray = np.tile(linear_light(from_hex(CLAY)), (len(shot.pixel), 1))
    painted = np.zeros(len(colour), dtype=bool)
    for number, text in enumerate(colours):
        own = samples[kind[nearest] == number]
        colour[own], painted[own] = linear_light(from_hex(text)), True
    return Coat(colour, np.full(len(colour), SOFT_GLOSS / 2), painted)
