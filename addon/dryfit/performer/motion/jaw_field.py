"""How much of the jaw's turn each point of a face takes: 1 on the lower jaw, 0 on skull and upper lip."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ...geometry.harmonic import WeightedGraph, harmonic_field, mesh_graph
from ...geometry.rows import row_all, row_any, row_means, row_norms
from ...model.arrays import BoolArray, FloatArray, IntArray
from ..head_frame import OPEN_MM, HeadFrame
from .hinge import Hinge

UPPER_SHARE, LOWER_SHARE = 0.85, 0.6
"""Upper and lower lip are firm over these shares of the mouth's half width; toward the corners they share the turn."""
LIP_DEPTH_MM = 25.0
PALATE_DEPTH_MM = 45.0
"""How far behind the lips skin of the mouth's inside goes firmly with the lower and the upper jaw."""
CHEEK_MM = 25.0
"""Skin this far above the parting plane goes with the skull."""
CHIN_REACH_MM = 20.0
NECK_MM = 45.0
"""Skin within ``CHIN_REACH_MM`` of gnathion goes with the jaw; skin ``NECK_MM`` below it stays with the neck."""
MARGIN_MM = 4.0
"""On an open mouth skin this near to the line of a lip's margin is that margin."""
MARGIN_DEPTH_MM, MARGIN_SHARE = 5.0, 0.85
"""Open margins are read from skin this far before or behind their lines, up to this share of the half width."""
CORNER_SHARES = (0.2, 0.7)
"""Bounds for the share of the turn that the corners of an open mouth take."""
BEHIND_AXIS_MM = 5.0
"""Skin this far behind the axis stays."""
BAND_MM = 3.0
HALF = (0.1, 0.9)
SEALED_SHARE = 0.2
"""Lips are one skin when over ``SEALED_SHARE`` of what lies within ``BAND_MM`` of the mouth line is neither upper nor
lower (a share of the turn within ``HALF``)."""


@dataclass(frozen=True)
class Parting:
    """The sheet that parts upper from lower face: from the hinge axis to the mouth line and straight on from there.

    Attributes
    ----------
    frame
        Which way is left, front and up.
    corners
        Right and left corner of the mouth in head coordinates, ``(2, 3)``.
    middle
        Middle of the lips in head coordinates, ``(3,)``.
    axis
        Middle of the hinge axis in head coordinates, ``(3,)``.
    chin
        Gnathion in head coordinates, ``(3,)``.
    margins
        Upper and lower margin at the midline in head coordinates, ``(2, 3)``.
    """

    frame: HeadFrame
    corners: FloatArray
    middle: FloatArray
    axis: FloatArray
    chin: FloatArray
    margins: FloatArray

    @classmethod
    def of(cls, landmarks: Mapping[str, FloatArray], frame: HeadFrame, hinge: Hinge) -> Parting:
        """Read the sheet from landmarks."""
        corners = frame.coordinates(np.stack([landmarks["cheilion_right"], landmarks["cheilion_left"]]))
        lips = frame.coordinates(np.stack([landmarks["stomion_superius"], landmarks["stomion_inferius"]]))
        axis, chin = frame.coordinates(np.stack([hinge.point_mm, landmarks["gnathion"]]))
        return cls(frame, corners, lips.mean(axis=0), axis, chin, lips)

    def aside(self, places: FloatArray) -> FloatArray:
        """Return how far to the side points ``(k, 3)`` lie, ``(k,)``: 0 at the midline, 1 at the corners."""
        right, left = self.corners[0, 0], self.corners[1, 0]
        return np.asarray(np.abs(places[:, 0] - 0.5 * (right + left)) / (0.5 * (left - right)))

    def height_mm(self, places: FloatArray) -> FloatArray:
        """Return the height of points in head coordinates over the sheet, ``(k,)``, mm."""
        side = np.clip(self.aside(places), 0.0, 1.0) ** 2
        corner = self.corners.mean(axis=0)
        front = self.middle[1] + side * (corner[1] - self.middle[1])
        level = self.middle[2] + side * (corner[2] - self.middle[2])
        share = np.clip((places[:, 1] - self.axis[1]) / (front - self.axis[1]), 0.0, 1.0)
        return np.asarray(places[:, 2] - (self.axis[2] + share * (level - self.axis[2])))

    @property
    def open_mm(self) -> float:
        """How far the lips are apart at the midline in the scan, mm."""
        return float(self.margins[0, 2] - self.margins[1, 2])

    def margin_lines(self, aside: FloatArray) -> FloatArray:
        """Return front and height of both margins of an open mouth at shares of the half width, ``(2, k, 2)``, mm.

        The margins run from corner to corner as parabolas, as the mouth line does.
        """
        corner = self.corners.mean(axis=0)[1:]
        side = (np.clip(aside, 0.0, 1.0) ** 2)[:, None]
        return np.stack([margin[1:] + side * (corner - margin[1:]) for margin in self.margins])

    def margin_distance_mm(self, places: FloatArray) -> FloatArray:
        """Return how far points ``(k, 3)`` lie from the upper and the lower margin of an open mouth, ``(2, k)``, mm."""
        aside = self.aside(places)
        beyond_mm = np.maximum(aside - 1.0, 0.0) * 0.5 * (self.corners[1, 0] - self.corners[0, 0])
        across_mm = row_norms(places[:, 1:] - self.margin_lines(aside))
        return np.asarray(np.hypot(across_mm, beyond_mm))

    def open_margins(self, places: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return where the margins of open lips run, read from the skin ``(n, 3)`` itself.

        Returns
        -------
        aside
            Shares of the half width, ``(k,)``, from the midline outward.
        margins
            Front and height of the upper and the lower margin there, ``(2, k, 2)``, mm.
        """
        aside, lines = self.aside(places), self.margin_lines(self.aside(places))
        near = np.abs(places[:, 1] - lines[:, :, 0]) <= MARGIN_DEPTH_MM
        above = places[:, 2] >= lines[:, :, 1].mean(axis=0)
        shares, margins = [0.0], [self.margins[:, 1:]]
        for low, high in pairwise(np.linspace(0.0, MARGIN_SHARE, 9).tolist()):
            inside = (aside >= low) & (aside < high)
            upper, lower = places[inside & above & near[0], 1:], places[inside & ~above & near[1], 1:]
            if len(upper) and len(lower):
                # lips draw together outward, so the extremes of a strip stand at its outer side
                shares.append(high)
                margins.append(np.stack([upper[upper[:, 1].argmin()], lower[lower[:, 1].argmax()]]))
        return np.array(shares), np.stack(margins, axis=1)


@dataclass(frozen=True)
class JawField:
    """How a face takes part in the jaw's turn.

    Attributes
    ----------
    weights
        Each vertex's share of the turn, ``(n,)``, 0 to 1.
    sealed
        Whether upper and lower lip are one skin in the scan and had to be parted along the mouth line.
    """

    weights: FloatArray
    sealed: bool


def jaw_field(vertices_mm: FloatArray, faces: IntArray, parting: Parting, hinge: Hinge) -> JawField:
    """Return each vertex's share of the jaw's turn, as smooth as the skin allows.

    First the skin itself tells the lips apart: what lies within ``BAND_MM`` of the parting sheet goes with the lip it
    is joined to. Where that leaves lips half and half they are one skin (sealed in the scan, or a groove without an
    inside); then they are parted along the mouth line, and triangles across it pass nothing on.
    """
    places = parting.frame.coordinates(vertices_mm)
    if hinge.rest_t > 0.0 and parting.open_mm > OPEN_MM:
        return JawField(_solve_open(mesh_graph(vertices_mm, faces), parting, hinge, places), False)
    height_mm, aside = parting.height_mm(places), parting.aside(places)
    graph = mesh_graph(vertices_mm, faces)
    weights = _solve(graph, *_firm(parting, places, BAND_MM), height_mm)
    band = (np.abs(height_mm) < BAND_MM) & (aside <= LOWER_SHARE) & (parting.middle[1] - places[:, 1] <= BAND_MM)
    half = (weights > HALF[0]) & (weights < HALF[1])
    if not half[band].mean() > SEALED_SHARE if band.any() else not _joined(parting, places, faces):
        return JawField(weights, False)
    graph = mesh_graph(vertices_mm, faces, across_lips(parting, places, faces))
    return JawField(_solve(graph, *_firm(parting, places, 0.0), height_mm), True)


def _joined(parting: Parting, places: FloatArray, faces: IntArray) -> bool:
    """Tell whether any triangle joins the lips at the middle of the mouth."""
    across = across_lips(parting, places, faces)
    return bool((parting.aside(row_means(places[faces[across]])) <= LOWER_SHARE).any())


def _solve(graph: WeightedGraph, lower: BoolArray, upper: BoolArray, height_mm: FloatArray) -> FloatArray:
    start = np.where(lower, 1.0, np.where(upper, 0.0, np.clip(0.5 - height_mm / (2 * CHEEK_MM), 0.0, 1.0)))
    return np.clip(harmonic_field(graph, lower | upper, start), 0.0, 1.0)


def _solve_open(graph: WeightedGraph, parting: Parting, hinge: Hinge, places: FloatArray) -> FloatArray:
    """Return the shares on a mouth that is open in the scan.

    There the lips are apart and dragged: upper and lower margin take more and more alike shares of the turn from the
    midline (0 and 1) to the corner, so that the closed jaw brings them together all along.
    """
    aside, height_mm = np.clip(parting.aside(places), 0.0, 1.0), parting.height_mm(places)
    lower, upper = _firm(parting, places, BAND_MM)
    near_lips = parting.middle[1] - places[:, 1] <= LIP_DEPTH_MM
    free = near_lips & (np.abs(height_mm) <= 0.5 * parting.open_mm + CHEEK_MM) & (aside < 1.0)
    free &= row_norms(places - parting.chin) > CHIN_REACH_MM
    distance_mm = parting.margin_distance_mm(places)
    margin = distance_mm.min(axis=0) <= MARGIN_MM
    at, shares = margin_shares(parting, hinge, places)
    on_margins = np.stack([np.interp(aside, at, share) for share in shares])
    nearest = np.take_along_axis(on_margins, distance_mm.argmin(axis=0)[None], axis=0)[0]
    fixed = ((lower | upper) & ~free) | margin
    values = np.where(margin, nearest, np.where(lower, 1.0, 0.0))
    start = np.where(fixed, values, np.clip(0.5 - height_mm / (2 * CHEEK_MM), 0.0, 1.0))
    return np.clip(harmonic_field(graph, fixed, start), 0.0, 1.0)


def margin_shares(parting: Parting, hinge: Hinge, places: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the shares of the turn with which the margins of open lips close.

    Shut, the margins lie on one line: level with the upper lip at the midline, and with the corners, which rise to
    that level as far as ``CORNER_SHARES`` lets them.

    Returns
    -------
    aside
        Shares of the half width, ``(k,)``, 0 to 1.
    shares
        Of the upper and of the lower margin, ``(2, k)``.
    """
    aside, margins = parting.open_margins(places)
    level_mm = float(parting.margins[0, 2])
    corner = parting.corners.mean(axis=0)[None]
    share = np.clip(_raising(parting, hinge, corner, np.array([level_mm])), *CORNER_SHARES)
    reached_mm = float(_raised_mm(parting, hinge, corner, share)[0])
    wanted_mm = level_mm + aside**2 * (reached_mm - level_mm)
    across = np.full((len(aside), 1), parting.middle[0])
    shares = [_raising(parting, hinge, np.hstack([across, margin]), wanted_mm) for margin in margins]
    return np.append(aside, 1.0), np.array([np.append(lip, share) for lip in shares])


def _raising(parting: Parting, hinge: Hinge, places: FloatArray, wanted_mm: FloatArray) -> FloatArray:
    """Return the share of the turn that brings each place ``(k, 3)`` to a height when the jaw closes, ``(k,)``."""
    low, high = np.zeros(len(places)), np.ones(len(places))
    for _ in range(40):
        middle = 0.5 * (low + high)
        short = _raised_mm(parting, hinge, places, middle) < wanted_mm
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return low


def _raised_mm(parting: Parting, hinge: Hinge, places: FloatArray, shares: FloatArray) -> FloatArray:
    closed_mm = hinge.carried(parting.frame.points(places), shares, 0.0)
    return np.asarray(parting.frame.coordinates(closed_mm)[:, 2])


def _firm(parting: Parting, places: FloatArray, band_mm: float) -> tuple[BoolArray, BoolArray]:
    """Return which vertices go firmly with the lower jaw, and which stay firmly with the skull or the neck."""
    height_mm, aside = parting.height_mm(places), parting.aside(places)
    behind_lips_mm = parting.middle[1] - places[:, 1]
    lower = (height_mm < -band_mm) & (aside <= LOWER_SHARE) & (behind_lips_mm <= LIP_DEPTH_MM)
    lower &= places[:, 2] >= parting.chin[2]
    lower |= (row_norms(places - parting.chin) <= CHIN_REACH_MM) & (height_mm < 0.0)
    upper = (height_mm >= band_mm) & (aside <= UPPER_SHARE) & (behind_lips_mm <= PALATE_DEPTH_MM)
    upper |= (height_mm > CHEEK_MM) | (places[:, 1] < parting.axis[1] - BEHIND_AXIS_MM)
    upper |= places[:, 2] < parting.chin[2] - NECK_MM
    return lower & ~upper, upper


def across_lips(parting: Parting, places: FloatArray, faces: IntArray) -> BoolArray:
    """Return which triangles reach across the parting sheet between the corners of the mouth, ``(m,)``."""
    above = parting.height_mm(places)[faces] >= 0.0
    mixed = row_any(above) & ~row_all(above)
    between = row_all(parting.aside(places)[faces] < 1.0)
    near_lips = row_all(parting.middle[1] - places[faces][:, :, 1] <= LIP_DEPTH_MM)
    return np.asarray(mixed & between & near_lips)
