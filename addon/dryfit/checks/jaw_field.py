"""How much of the jaw's turn each point of a face takes: 1 on the lower jaw, 0 on skull and upper lip."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..geometry.harmonic import WeightedGraph, harmonic_field, mesh_graph
from ..model.arrays import BoolArray, FloatArray, IntArray
from .head_frame import HeadFrame
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
    """

    frame: HeadFrame
    corners: FloatArray
    middle: FloatArray
    axis: FloatArray
    chin: FloatArray

    @classmethod
    def of(cls, landmarks: Mapping[str, FloatArray], frame: HeadFrame, hinge: Hinge) -> Parting:
        """Read the sheet from landmarks."""
        corners = frame.coordinates(np.stack([landmarks["cheilion_right"], landmarks["cheilion_left"]]))
        lips = frame.coordinates(np.stack([landmarks["stomion_superius"], landmarks["stomion_inferius"]]))
        axis, chin = frame.coordinates(np.stack([hinge.point_mm, landmarks["gnathion"]]))
        return cls(frame, corners, lips.mean(axis=0), axis, chin)

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


def jaw_field(vertices_mm: FloatArray, faces: IntArray, parting: Parting) -> JawField:
    """Return each vertex's share of the jaw's turn, as smooth as the skin allows.

    First the skin itself tells the lips apart: what lies within ``BAND_MM`` of the parting sheet goes with the lip it
    is joined to. Where that leaves lips half and half they are one skin (sealed in the scan, or a groove without an
    inside); then they are parted along the mouth line, and triangles across it pass nothing on.
    """
    places = parting.frame.coordinates(vertices_mm)
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
    return bool((parting.aside(places[faces[across]].mean(axis=1)) <= LOWER_SHARE).any())


def _solve(graph: WeightedGraph, lower: BoolArray, upper: BoolArray, height_mm: FloatArray) -> FloatArray:
    start = np.where(lower, 1.0, np.where(upper, 0.0, np.clip(0.5 - height_mm / (2 * CHEEK_MM), 0.0, 1.0)))
    return np.clip(harmonic_field(graph, lower | upper, start), 0.0, 1.0)


def _firm(parting: Parting, places: FloatArray, band_mm: float) -> tuple[BoolArray, BoolArray]:
    """Return which vertices go firmly with the lower jaw, and which stay firmly with the skull or the neck."""
    height_mm, aside = parting.height_mm(places), parting.aside(places)
    behind_lips_mm = parting.middle[1] - places[:, 1]
    lower = (height_mm < -band_mm) & (aside <= LOWER_SHARE) & (behind_lips_mm <= LIP_DEPTH_MM)
    lower &= places[:, 2] >= parting.chin[2]
    lower |= (np.linalg.norm(places - parting.chin, axis=1) <= CHIN_REACH_MM) & (height_mm < 0.0)
    upper = (height_mm >= band_mm) & (aside <= UPPER_SHARE) & (behind_lips_mm <= PALATE_DEPTH_MM)
    upper |= (height_mm > CHEEK_MM) | (places[:, 1] < parting.axis[1] - BEHIND_AXIS_MM)
    upper |= places[:, 2] < parting.chin[2] - NECK_MM
    return lower & ~upper, upper


def across_lips(parting: Parting, places: FloatArray, faces: IntArray) -> BoolArray:
    """Return which triangles reach across the parting sheet between the corners of the mouth, ``(m,)``."""
    above = parting.height_mm(places)[faces] >= 0.0
    mixed = above.any(axis=1) & ~above.all(axis=1)
    between = (parting.aside(places)[faces] < 1.0).all(axis=1)
    near_lips = (parting.middle[1] - places[faces][:, :, 1] <= LIP_DEPTH_MM).all(axis=1)
    return np.asarray(mixed & between & near_lips)
