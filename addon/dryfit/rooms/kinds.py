"""What stops a form, in kinds with a colour each: what is left and right of the face is one kind."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np

from ..geometry.areas import vertex_areas_mm2
from ..model.arrays import IntArray
from .room import Room

COLOURS = ("0072B2", "E69F00", "009E73", "CC79A7", "D55E00", "56B4E9", "F0E442", "7A5CA8", "8C6D46", "5F5F5F")
"""Told apart by colour-blind eyes (Okabe & Ito 2008, Color Universal Design), and two more."""
MOST_KINDS = len(COLOURS)


@dataclass(frozen=True)
class Kind:
    """What stops a share of the skin's area, with the colour that stands for it."""

    words: str
    colour: str
    share: float


def kinds_of(room: Room) -> tuple[tuple[Kind, ...], IntArray]:
    """Return what stops the skin, the most first, and which of them does at each vertex ``(n,)``, -1 for none.

    Shares are of area: an ear has more vertices than a forehead, and less skin.
    """
    sides = {number: _without_side(stop.words) for number, stop in enumerate(room.stops)}
    words = list(dict.fromkeys(sides.values()))
    each = np.array([words.index(sides[number]) for number in range(len(room.stops))])
    kind = np.where(room.stopped_by >= 0, each[room.stopped_by], -1)
    areas = vertex_areas_mm2(room.vertices_mm, room.faces)
    counts = np.bincount(kind[kind >= 0], weights=areas[kind >= 0], minlength=len(words))
    order = np.argsort(-counts, kind="stable")[:MOST_KINDS]
    order = order[counts[order] > 0.0]
    place = np.full(len(words) + 1, -1)
    place[order] = np.arange(len(order))
    total = max(float(areas[room.told].sum()), 1e-9)
    found = [
        Kind(words[number], colour, float(counts[number] / total))
        for number, colour in zip(order, COLOURS, strict=False)
    ]
    return tuple(found), place[kind]


def _without_side(words: str) -> str:
    """Return words without the side of the face: "the left ear" is "the ear", and what must be left stays left."""
    return re.sub(r"\b(left|right) (?=\w)", "", words)
