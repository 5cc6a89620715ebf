"""Cut a surface into compact tiles of about equal size, so that a local change touches few of them."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .rows import extents


@dataclass(frozen=True)
class Tile:
    """A part of a surface that stands by itself.

    Attributes
    ----------
    vertices
        Indices into the surface's vertices ``(k,)``, ascending, each once.
    faces
        Its triangles as indices into ``vertices``, ``(m, 3)``, int32.
    """

    vertices: IntArray
    faces: IntArray


def tiles(vertices: FloatArray, faces: IntArray, largest: int) -> tuple[Tile, ...]:
    """Cut a surface into tiles by halving it across its longest side, again and again.

    Parameters
    ----------
    vertices, faces
        The surface, ``(n, 3)`` and ``(m, 3)``.
    largest
        No tile has more triangles than this.
    """
    centres = vertices[faces[:, 0]]
    return tuple(_tile(faces[which]) for which in _halves(centres, np.arange(len(faces)), largest))


def _halves(centres: FloatArray, which: IntArray, largest: int) -> Iterator[IntArray]:
    if len(which) <= largest:
        if len(which):
            yield which
        return
    here = centres[which]
    axis = int(np.argmax(extents(here)))
    middle = len(which) // 2
    order = np.argpartition(here[:, axis], middle)
    yield from _halves(centres, which[order[:middle]], largest)
    yield from _halves(centres, which[order[middle:]], largest)


def _tile(faces: IntArray) -> Tile:
    vertices, corners = np.unique(faces, return_inverse=True)
    return Tile(vertices, np.ascontiguousarray(corners.reshape(-1, 3), np.int32))
