"""Pictures of a room: its height painted from five sides, what stops it where, and where an edge may end."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..model.arrays import FloatArray, IntArray
from ..model.finding import Field
from ..model.sentences import capital
from ..model.snapshot import Role, Snapshot
from ..model.version import VERSION
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
COLOURS = ("0072B2", "E69F00", "009E73", "CC79A7", "D55E00", "56B4E9", "F0E442", "7A5CA8", "8C6D46", "5F5F5F")
"""Told apart by colour-blind eyes (Okabe & Ito 2008, Color Universal Design), and two more."""
EDGE = "0072B2"
MOST_KINDS = len(COLOURS)


@dataclass(frozen=True)
class Kind:
    """What stops a share of the skin, with the colour that stands for it."""

    words: str
    colour: str
    share: float


def kinds_of(room: Room) -> tuple[tuple[Kind, ...], IntArray]:
    """Return what stops the skin, the most first, and which of them does at each vertex ``(n,)``, -1 for none."""
    sides = {number: _without_side(stop.words) for number, stop in enumerate(room.stops)}
    words = list(dict.fromkeys(sides.values()))
    each = np.array([words.index(sides[number]) for number in range(len(room.stops))])
    kind = np.where(room.stopped_by >= 0, each[room.stopped_by], -1)
    counts = np.bincount(kind[kind >= 0], minlength=len(words))
    order = np.argsort(-counts, kind="stable")[:MOST_KINDS]
    order = order[counts[order] > 0]
    place = np.full(len(words) + 1, -1)
    place[order] = np.arange(len(order))
    total = max(int(room.told.sum()), 1)
    found = [
        Kind(words[number], colour, float(counts[number] / total))
        for number, colour in zip(order, COLOURS, strict=False)
    ]
    return tuple(found), place[kind]


def _without_side(words: str) -> str:
    return " ".join(word for word in words.split() if word not in ("left", "right"))


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
