"""Names for places: every finding says "left cheek", not a coordinate.

A region is named by the nearest of some anchor points, each built from landmarks. Anchors whose
landmarks are missing are left out; with none at all a place is named by its coordinates.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..geometry.rows import row_norms
from ..model.arrays import FloatArray, IntArray

SIDES = ("left", "right")

# Region -> weights over landmarks. Weights add up to 1; those beyond 0..1 reach past the landmarks.
MIDLINE: Mapping[str, Mapping[str, float]] = {
    "forehead": {"sellion": 0.45, "vertex_top": 0.55},
    "brow": {"sellion": 0.82, "vertex_top": 0.18},
    "nose bridge": {"sellion": 0.6, "pronasale": 0.4},
    "nose tip": {"pronasale": 1.0},
    "upper lip": {"labiale_superius": 0.75, "subnasale": 0.25},
    "lower lip": {"labiale_inferius": 1.0},
    "chin": {"gnathion": 0.75, "labiale_inferius": 0.25},
    "underside of the chin": {"gnathion": 1.25, "subnasale": -0.25},
    "crown": {"vertex_top": 1.0},
    "back of the head": {"opisthocranion": 1.0},
}
PAIRED: Mapping[str, Mapping[str, float]] = {
    "{} brow": {"exocanthion_{}": 0.45, "endocanthion_{}": 0.3, "vertex_top": 0.25},
    "{} temple": {"exocanthion_{}": 0.55, "tragion_{}": 0.2, "vertex_top": 0.25},
    "{} eye": {"exocanthion_{}": 0.5, "endocanthion_{}": 0.5},
    "{} cheek": {"exocanthion_{}": 0.3, "cheilion_{}": 0.3, "tragion_{}": 0.25, "alare_{}": 0.15},
    "{} side of the nose": {"alare_{}": 1.0},
    "{} corner of the mouth": {"cheilion_{}": 1.0},
    "{} jaw": {"gnathion": 0.45, "tragion_{}": 0.4, "cheilion_{}": 0.15},
    "{} ear": {"tragion_{}": 1.0},
    "{} side of the head": {"tragion_{}": 0.4, "vertex_top": 0.45, "opisthocranion": 0.15},
}


@dataclass(frozen=True)
class Regions:
    """Anchor points of one head, ``(r, 3)`` mm, and their names."""

    names: tuple[str, ...]
    anchors_mm: FloatArray

    @classmethod
    def from_landmarks(cls, landmarks: Mapping[str, FloatArray]) -> "Regions":
        """Build the anchors that the given landmarks allow."""
        anchors = dict(_anchors(landmarks))
        places = np.array(list(anchors.values())).reshape(-1, 3)
        return cls(tuple(anchors), places)

    def name(self, point_mm: npt.ArrayLike) -> str:
        """Return the name of the region nearest to a point ``(3,)``, mm; its coordinates where there is none."""
        if not self.names:
            x, y, z = (float(value) for value in np.asarray(point_mm))
            return f"point ({x:.0f}, {y:.0f}, {z:.0f}) mm"
        return self.names[int(row_norms(self.anchors_mm - np.asarray(point_mm)).argmin())]

    def numbers(self, points_mm: FloatArray) -> IntArray:
        """Return which region each of some points ``(k, 3)`` is in, ``(k,)``; -1 where there is none."""
        if not self.names:
            return np.full(len(points_mm), -1)
        away_mm = row_norms(points_mm[:, None] - self.anchors_mm[None])
        return np.asarray(away_mm.argmin(axis=1))


def _anchors(landmarks: Mapping[str, FloatArray]) -> Iterator[tuple[str, FloatArray]]:
    recipes = dict(MIDLINE)
    for name, recipe in PAIRED.items():
        for side in SIDES:
            recipes[name.format(side)] = {mark.format(side): weight for mark, weight in recipe.items()}
    for name, recipe in recipes.items():
        if all(mark in landmarks for mark in recipe):
            yield name, np.sum([weight * landmarks[mark] for mark, weight in recipe.items()], axis=0)
