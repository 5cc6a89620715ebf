"""Bend a template that lies on a scan until it follows it: closest points, moved smoothly, ever more locally."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..model.arrays import BoolArray, FloatArray, IntArray
from .rows import highs, lows, points_at, row_all, row_sums
from .similarity import Similarity
from .surface import OPEN_BORDER, Surface
from .surface_fit import Cloud, says_something, surface_cloud

REACHES_MM = (60.0, 40.0, 25.0, 16.0, 10.0, 7.0)
"""How far one pair's pull reaches on the template, from the whole head to a lip."""
ROUNDS = 4
PULLS = 1000
"""Pairs each way."""
COARSE_MM, COARSE_STEP = 25.0, 3
"""From this reach on one pair in so many is enough."""
FAR_REACHES, CELL_REACHES = 3.5, 2.0
"""Pairs further than this many reaches pull by less than 1/400; points are taken by cells so wide."""
PINNED_WEIGHT = 10.0
"""What is known to lie somewhere pulls like so many pairs."""


@dataclass(frozen=True)
class Bent:
    """A template bent to a scan.

    Attributes
    ----------
    vertices_mm
        The template's vertices on the scan, ``(n, 3)``.
    carried_mm
        The points carried along, ``(k, 3)``.
    gap_mm
        Distance of each template vertex from the scan, ``(n,)``; nan where the scan ends before it.
    """

    vertices_mm: FloatArray
    carried_mm: FloatArray
    gap_mm: FloatArray


@dataclass(frozen=True)
class Pulls:
    """Where the template is drawn: places on its own rest shape ``(k, 3)``, moves ``(k, 3)`` and weights ``(k,)``."""

    places_mm: FloatArray
    moves_mm: FloatArray
    weights: FloatArray

    def joined(self, places_mm: FloatArray, moves_mm: FloatArray, weight: float) -> "Pulls":
        """Return these pulls and some more of one weight."""
        weights = np.append(self.weights, np.full(len(places_mm), weight))
        return Pulls(np.concatenate([self.places_mm, places_mm]), np.concatenate([self.moves_mm, moves_mm]), weights)

    def smoothed(self, points_mm: FloatArray, reach_mm: float) -> FloatArray:
        """Return the mean move at points of the rest shape ``(p, 3)``, pulls weighted by a Gaussian of that reach."""
        scaled = (points_mm / reach_mm).astype(np.float32)
        places = (self.places_mm / reach_mm).astype(np.float32)
        pull = np.column_stack([self.moves_mm * self.weights[:, None], self.weights]).astype(np.float32)
        moved = np.zeros((len(scaled), 4), np.float32)
        for block in _cells(scaled):
            low, high = lows(scaled[block]) - FAR_REACHES, highs(scaled[block]) + FAR_REACHES
            near = np.flatnonzero(row_all((places >= low) & (places <= high)))
            middle = 0.5 * (low + high)
            here, there = scaled[block] - middle, places[near] - middle
            # the exponent is -|a - b|^2 / 2, taken apart so that one matrix product gives it
            halves = 0.5 * row_sums(here**2)[:, None] + 0.5 * row_sums(there**2)
            moved[block] = np.exp(here @ there.T - halves) @ pull[near]
        return np.asarray((moved[:, :3] / (moved[:, 3:] + 1e-3)).astype(np.float64))


def _cells(scaled: npt.NDArray[np.float32]) -> list[IntArray]:
    """Return the numbers of points ``(p, 3)`` by cells of a grid ``CELL_REACHES`` wide."""
    keys = np.floor(scaled / CELL_REACHES).astype(np.int64)
    _, cell = np.unique(keys, axis=0, return_inverse=True)
    order = np.argsort(cell.ravel(), kind="stable")
    return np.split(order, np.flatnonzero(np.diff(cell.ravel()[order])) + 1)


@dataclass(frozen=True)
class Pinned:
    """Carried points that are known to lie somewhere: their numbers ``(h,)`` and places ``(h, 3)``, mm."""

    numbers: IntArray
    places_mm: FloatArray

    @classmethod
    def nothing(cls) -> "Pinned":
        """Return that nothing is known."""
        return cls(np.zeros(0, np.int64), np.zeros((0, 3)))


class SmoothFit:
    """A template on its way to a scan.

    Parameters
    ----------
    template, scan
        The two surfaces, mm.
    telling
        ``(m,)`` the template's faces that get most of the pairs.
    pose
        Where the template lies on the scan to begin with.
    """

    def __init__(self, template: Surface, scan: Surface, telling: BoolArray, pose: Similarity) -> None:
        self.rest_mm, self.scan = pose.apply(template.vertices_mm), scan
        self.moving = Surface(self.rest_mm, template.oriented_faces, engine=template.engine)
        self.scan_normals = scan.normals
        self.reached_mm = self.rest_mm.copy()
        self.theirs = self._near_scan(surface_cloud(scan, 4 * PULLS))
        self.chosen = self._spread_vertices(telling)

    def _near_scan(self, cloud: Cloud) -> Cloud:
        near = self.moving.closest(cloud.points_mm)
        over = (near.feature != OPEN_BORDER) & (near.distance_mm < 30.0)
        return Cloud(cloud.points_mm[over], cloud.normals[over]).thinned(PULLS)

    def _spread_vertices(self, telling: BoolArray) -> np.ndarray:
        """Return vertices of the face, and fewer of the rest, about ``PULLS`` in all."""
        face = np.unique(self.moving.faces[telling])
        rest = np.setdiff1d(np.unique(self.moving.faces), face)
        half = PULLS // 2
        return np.concatenate([face[:: max(len(face) // (PULLS - half), 1)], rest[:: max(len(rest) // half, 1)]])

    def bend(
        self, carried_mm: FloatArray, reaches_mm: tuple[float, ...] = REACHES_MM, pinned: Pinned | None = None
    ) -> Bent:
        """Follow the scan, from coarse to fine.

        Parameters
        ----------
        carried_mm
            Points ``(k, 3)`` beside the template as posed, carried along with the skin about them.
        reaches_mm
            How locally, step by step.
        pinned
            Which of the carried points are known to lie where.

        Notes
        -----
        Non-rigid closest points from stiff to soft as in Amberg, Romdhani & Vetter 2007, CVPR,
        doi 10.1109/CVPR.2007.383165, with Gaussian averages of the moves in place of a stiffness term.
        """
        rest = np.concatenate([self.rest_mm, carried_mm])
        places = rest.copy()
        count = len(self.rest_mm)
        pinned = pinned or Pinned.nothing()
        known = count + pinned.numbers
        for reach_mm in reaches_mm:
            for _ in range(ROUNDS):
                pulls = self.pulls(reach_mm).joined(rest[known], pinned.places_mm - places[known], PINNED_WEIGHT)
                places += pulls.smoothed(rest, reach_mm)
                self.reached_mm = places[:count]
                self.moving.refit(self.reached_mm)
        near = self.scan.closest(self.reached_mm)
        gap_mm = np.where(near.feature == OPEN_BORDER, np.nan, near.distance_mm)
        return Bent(self.reached_mm.copy(), places[count:], gap_mm)

    def pulls(self, reach_mm: float) -> Pulls:
        """Return what draws the template now, both ways; distant pairs count little when the reach is small."""
        soft_mm = max(0.5 * reach_mm, 5.0)
        step = COARSE_STEP if reach_mm >= COARSE_MM else 1
        forth, back = self._forth(soft_mm, step), self._back(soft_mm, step)
        return Pulls(
            np.concatenate([forth.places_mm, back.places_mm]),
            np.concatenate([forth.moves_mm, back.moves_mm]),
            np.concatenate([forth.weights, back.weights]),
        )

    def _forth(self, soft_mm: float, step: int) -> Pulls:
        chosen = self.chosen[::step]
        placed, normals = self.reached_mm[chosen], self.moving.vertex_normals[chosen]
        near = self.scan.closest(placed)
        good = says_something(near, normals, self.scan_normals[near.face])
        return Pulls(self.rest_mm[chosen], near.point - placed, good * _fading(near.distance_mm, soft_mm))

    def _back(self, soft_mm: float, step: int) -> Pulls:
        theirs = Cloud(self.theirs.points_mm[::step], self.theirs.normals[::step])
        near = self.moving.closest(theirs.points_mm)
        good = says_something(near, theirs.normals, self.moving.normals[near.face])
        places = points_at(near.barycentric, self.rest_mm, self.moving.faces[near.face])
        return Pulls(places, theirs.points_mm - near.point, good * _fading(near.distance_mm, soft_mm))


def _fading(distance_mm: FloatArray, soft_mm: float) -> FloatArray:
    return 1.0 / (1.0 + (distance_mm / soft_mm) ** 2)
