"""Where the face moves most: lips, lids, nasolabial folds and cheeks, drawn from landmarks.

The zones are common practice, no source: what sculptors call "the parts that have to move".
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..geometry.chains import distance_to_chain_mm
from ..model.arrays import FloatArray
from ..model.limits import Limits
from .regions import SIDES

FOLD_BESIDE_MOUTH = 0.18
"""The nasolabial fold passes the mouth's corner at this share of the mouth's width beside it."""
FOLD_BESIDE_NOSE = 0.12
"""And it starts beside the wing of the nose at this share of the nose's width."""
CHEEK_ALONG = (0.2, 0.5)
"""The moving cheek's middle line lies between these shares of the way from the mouth's corner to the tragion: behind
the nasolabial fold, and before the muscle that closes the jaw (common practice, no source)."""
CHEEK_POINTS = 7
BEFORE_MM = 80.0
"""No cheek stands this far out from a line between mouth and ear."""


@dataclass(frozen=True)
class MobileZone:
    """A part of the face that has to move.

    Attributes
    ----------
    name
        Words for it, for instance ``left nasolabial fold``.
    kind
        ``lip``, ``lid``, ``fold`` or ``cheek``.
    chain_mm
        Its middle line, ``(c, 3)``.
    reach_mm
        How far from that line it goes.
    """

    name: str
    kind: str
    chain_mm: FloatArray
    reach_mm: float

    def beyond_mm(self, points_mm: FloatArray) -> FloatArray:
        """Return how far points ``(k, 3)`` on the base are outside the zone; negative inside."""
        return distance_to_chain_mm(points_mm, self.chain_mm) - self.reach_mm


@dataclass(frozen=True)
class MissingZone:
    """A zone that could not be drawn, and the landmarks it lacks."""

    name: str
    landmarks: tuple[str, ...]


def mobile_zones(
    landmarks: Mapping[str, FloatArray], limits: Limits, base: Surface
) -> tuple[tuple[MobileZone, ...], tuple[MissingZone, ...]]:
    """Return the zones that the landmarks allow on a base, and those they do not."""
    drawn: list[MobileZone] = []
    missing: list[MissingZone] = []
    for name, kind, needed, reach_mm in _plans(limits):
        lacking = tuple(mark for mark in needed if mark not in landmarks)
        if lacking:
            missing.append(MissingZone(name, lacking))
        else:
            drawn.append(MobileZone(name, kind, _chain(kind, [landmarks[mark] for mark in needed], base), reach_mm))
    return tuple(drawn), tuple(missing)


def _plans(limits: Limits) -> Iterator[tuple[str, str, tuple[str, ...], float]]:
    corners = ("cheilion_left", "cheilion_right")
    yield "upper lip", "lip", (corners[0], "labiale_superius", corners[1]), limits.lip_zone_mm
    yield "lower lip", "lip", (corners[0], "labiale_inferius", corners[1]), limits.lip_zone_mm
    for side, other in (SIDES, SIDES[::-1]):
        eye = (f"endocanthion_{side}", f"exocanthion_{side}")
        fold = (f"alare_{side}", f"alare_{other}", f"cheilion_{side}", f"cheilion_{other}")
        yield f"{side} lids", "lid", eye, limits.lid_zone_mm
        yield f"{side} nasolabial fold", "fold", fold, limits.fold_zone_mm
        cheek = (f"cheilion_{side}", f"tragion_{side}", f"tragion_{other}")
        yield f"{side} cheek", "cheek", cheek, limits.cheek_zone_mm


def _chain(kind: str, points: list[FloatArray], base: Surface) -> FloatArray:
    if kind == "cheek":
        mouth, ear, other_ear = points
        straight = np.stack([mouth + share * (ear - mouth) for share in np.linspace(*CHEEK_ALONG, CHEEK_POINTS)])
        return _on_skin(straight, (ear + other_ear) / 2.0, base)
    if kind != "fold":
        return np.stack(points)
    wing, other_wing, corner, other_corner = points
    beside_nose = wing + FOLD_BESIDE_NOSE * (wing - other_wing)
    return np.stack([beside_nose, corner + FOLD_BESIDE_MOUTH * (corner - other_corner)])


def _on_skin(points_mm: FloatArray, middle_mm: FloatArray, base: Surface) -> FloatArray:
    """Return points ``(k, 3)`` inside a head brought out to its skin, away from its middle; as they are where none is.

    A straight line from the mouth to the ear runs a finger's breadth below the cheek.
    """
    outward = points_mm - middle_mm
    outward = outward / np.maximum(np.linalg.norm(outward, axis=1, keepdims=True), 1e-9)
    hit = base.first_hit(points_mm + BEFORE_MM * outward, -outward)
    reached = (hit.face >= 0)[:, None]
    away_mm = np.where(reached, BEFORE_MM - hit.distance_mm[:, None], 0.0)
    onto: FloatArray = points_mm + away_mm * outward
    return onto
