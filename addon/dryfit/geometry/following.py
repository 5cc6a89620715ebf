"""Follow one piece's clearance while it is sculpted: only vertices that moved are measured again.

The base's index is built once. What the check ``additive`` says is kept up to date from the faces that changed:
the greatest depth and the area below the tolerance. The full check also cuts large faces to the base's detail;
here a face counts by its corners, so small areas may differ by a few percent until the check is run.
"""

import time
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..model.arrays import FloatArray, IntArray
from . import Surface
from .areas import areas_mm2, clip_below
from .lowest import Lowest
from .rows import row_any


@dataclass(frozen=True)
class Followed:
    """What one stroke changed.

    Attributes
    ----------
    moved
        Vertices measured again.
    seconds
        Time it took, ours alone.
    depth_mm
        Greatest depth below the base, 0 where nothing is deeper than the tolerance.
    area_mm2
        Area deeper than the tolerance.
    """

    moved: int
    seconds: float
    depth_mm: float
    area_mm2: float


class Following:
    """One piece over one base.

    Parameters
    ----------
    base
        The base, indexed, facing outward.
    vertices_mm, faces
        The piece as it is now, ``(n, 3)`` and ``(m, 3)``.
    judged
        ``(m,)`` faces that count: those of the outer skin.
    tolerance_mm
        Depth that means nothing.
    """

    def __init__(
        self, base: Surface, vertices_mm: FloatArray, faces: IntArray, judged: IntArray, tolerance_mm: float
    ) -> None:
        self.base = base
        self.faces = np.asarray(faces)[judged]
        self.tolerance_mm = tolerance_mm
        self.vertices_mm = np.array(vertices_mm, dtype=np.float64)
        self.clearance_mm = base.clearance_mm(self.vertices_mm)
        self._judged = np.zeros(len(self.vertices_mm), dtype=bool)
        self._judged[self.faces] = True
        self._lowest = Lowest(np.where(self._judged, self.clearance_mm, np.nan))
        self._first, self._around = _faces_around(self.faces, len(self.vertices_mm))
        self._below_mm2 = self._area_below(np.arange(len(self.faces)))

    def __setstate__(self, state: dict[str, Any]) -> None:
        """Take up what another process began; what the base works out when it is asked first is there afterwards."""
        self.__dict__.update(state)
        self.base.clearance_mm(self.vertices_mm[:1])

    def follow(self, moved: IntArray, points_mm: FloatArray) -> Followed:
        """Measure vertices that moved.

        Parameters
        ----------
        moved
            Their indices, ``(k,)``.
        points_mm
            Where they are now, ``(k, 3)``.
        """
        started = time.perf_counter()
        if len(moved):
            self.vertices_mm[moved] = points_mm
            self.clearance_mm[moved] = self.base.clearance_mm(points_mm)
            self._lowest.change(moved, np.where(self._judged[moved], self.clearance_mm[moved], np.nan))
            touched = self._touching(moved)
            self._below_mm2[touched] = self._area_below(touched)
        return self._verdict(len(moved), time.perf_counter() - started)

    def verdict(self) -> Followed:
        """Return what holds now, with nothing measured again."""
        return self._verdict(0, 0.0)

    def _verdict(self, moved: int, seconds: float) -> Followed:
        area_mm2 = float(self._below_mm2.sum())
        lowest_mm = min(self._lowest.value, 0.0) if area_mm2 > 0.0 else 0.0
        return Followed(moved, seconds, -lowest_mm, area_mm2)

    def _touching(self, vertices: IntArray) -> IntArray:
        """Return the judged faces that have one of the vertices as a corner."""
        first = self._first[vertices]
        count = self._first[vertices + 1] - first
        places = np.repeat(first - np.concatenate([[0], np.cumsum(count)[:-1]]), count) + np.arange(count.sum())
        touched = np.zeros(len(self.faces), dtype=bool)
        touched[self._around[places]] = True
        return np.flatnonzero(touched)

    def _area_below(self, which: IntArray) -> FloatArray:
        """Return the area of each of some faces ``(k,)`` that is deeper than the tolerance, mm2."""
        corners = self.faces[which]
        clearance = self.clearance_mm[corners]
        area = np.zeros(len(which))
        low = np.flatnonzero(row_any(clearance < -self.tolerance_mm))
        if len(low):
            cut = clip_below(clearance[low], -self.tolerance_mm)
            pieces = areas_mm2(cut.of(self.vertices_mm[corners[low]]))
            area += np.bincount(low[cut.face], pieces, minlength=len(which))
        return area


def _faces_around(faces: IntArray, count: int) -> tuple[IntArray, IntArray]:
    """Return for each vertex where its faces start ``(count + 1,)`` in a list of faces, and that list."""
    order = np.argsort(faces.ravel(), kind="stable")
    first = np.zeros(count + 1, np.int64)
    np.cumsum(np.bincount(faces.ravel(), minlength=count), out=first[1:])
    return first, order // 3
