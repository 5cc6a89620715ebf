"""Names for rims: where a worn piece ends round the mouth, a nostril or an eye, and its outer rim.

A place on such a rim is near many regions of the face, and the rim itself says more.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from ..geometry.outer_skin import OuterSkin
from ..geometry.rim import RimSamples
from ..geometry.rows import row_means, row_sums
from ..model.arrays import FloatArray, IntArray
from .regions import SIDES, Regions

OUTER_RIM = "outer rim"
LONG_MM = 350.0
"""A stretch longer than this is no one place: the rims of mouth, eyes and nostrils are 30 to 250 mm round."""
SEVERAL = 4
"""A stretch along more regions than this is no one place either."""
MOUTH = ("cheilion_left", "cheilion_right", "stomion_superius", "stomion_inferius")
NOSTRIL = {"alare_{}": 0.5, "subnasale": 0.3, "pronasale": 0.2}
"""The middle of a nostril in terms of landmarks, as for the airway: common practice, no source."""
NOSTRIL_REACH, EYE_REACH, MOUTH_REACH = 0.5, 0.6, 0.5
"""The middle of an opening's rim lies this near to the opening's own: shares of the way between both nostrils' middles,
of the eye's width, and of the mouth's."""


@dataclass(frozen=True)
class Opening:
    """An opening of the face: what its rim is called, its middle ``(3,)``, and how near a rim's middle must be, mm."""

    rim: str
    middle_mm: FloatArray
    reach_mm: float


def openings(landmarks: Mapping[str, FloatArray]) -> Iterator[Opening]:
    """Yield the openings of the face that the landmarks allow."""
    if all(name in landmarks for name in MOUTH):
        wide_mm = float(np.linalg.norm(landmarks[MOUTH[0]] - landmarks[MOUTH[1]]))
        middle = np.mean([landmarks[name] for name in MOUTH], axis=0)
        yield Opening("rim of the mouth opening", middle, MOUTH_REACH * wide_mm)
    for side in SIDES:
        corners = [f"{which}_{side}" for which in ("endocanthion", "exocanthion")]
        if all(name in landmarks for name in corners):
            inner, outer = (landmarks[name] for name in corners)
            reach_mm = EYE_REACH * float(np.linalg.norm(outer - inner))
            yield Opening(f"rim of the {side} eye opening", 0.5 * (inner + outer), reach_mm)
    middles = {side: _nostril(landmarks, side) for side in SIDES}
    left, right = (middles[side] for side in SIDES)
    if left is not None and right is not None:
        reach_mm = NOSTRIL_REACH * float(np.linalg.norm(left - right))
        yield Opening("rim of the left nostril", left, reach_mm)
        yield Opening("rim of the right nostril", right, reach_mm)


def _nostril(landmarks: Mapping[str, FloatArray], side: str) -> FloatArray | None:
    shares = {name.format(side): share for name, share in NOSTRIL.items()}
    if not all(name in landmarks for name in shares):
        return None
    return np.asarray(np.sum([share * landmarks[name] for name, share in shares.items()], axis=0))


@dataclass(frozen=True)
class RimNames:
    """What the chains of one piece's rim are called; ``""`` where the places along one say more."""

    names: tuple[str, ...]

    @classmethod
    def of(cls, skin: OuterSkin, samples: RimSamples, landmarks: Mapping[str, FloatArray]) -> "RimNames":
        """Name the chains of a rim: a loop with the skin outside it is that of the opening whose middle is its own."""
        known = tuple(openings(landmarks))
        chains = range(len(samples.closed))
        return cls(tuple(_name(skin, samples, chain, known) if samples.closed[chain] else "" for chain in chains))

    def region(self, samples: RimSamples, run: IntArray, regions: Regions) -> str | None:
        """Return what to call a stretch of rim, the numbers of its steps given; None where its place says more."""
        length_mm = samples.lengths_mm[run]
        by_name: dict[str, float] = {}
        for chain in np.unique(samples.chain[run]):
            share_mm = float(length_mm[samples.chain[run] == chain].sum())
            by_name[self.names[chain]] = by_name.get(self.names[chain], 0.0) + share_mm
        most = max(by_name, key=lambda name: by_name[name])
        if most:
            return most
        along = {regions.name(point) for point in samples.points_mm[run]} if regions.names else set()
        return OUTER_RIM if by_name[most] > LONG_MM or len(along) > SEVERAL else None


def _name(skin: OuterSkin, samples: RimSamples, chain: int, known: tuple[Opening, ...]) -> str:
    own = np.flatnonzero(samples.chain == chain)
    points, lengths_mm = samples.points_mm[own], samples.lengths_mm[own]
    if not lengths_mm.sum() > 0.0:
        return ""  # all its vertices lie in one point, as at the pole of a ball made of rings
    middle = lengths_mm @ points / lengths_mm.sum()
    away_mm = {each.rim: float(np.linalg.norm(each.middle_mm - middle)) / each.reach_mm for each in known}
    nearest = min(away_mm, key=lambda rim: away_mm[rim], default="")
    if not nearest or away_mm[nearest] > 1.0 or lengths_mm.sum() > LONG_MM:
        return ""
    return nearest if _skin_outside(skin, samples.edge[own], middle) else ""


def _skin_outside(skin: OuterSkin, edges: IntArray, middle_mm: FloatArray) -> bool:
    """Tell whether the skin along a loop lies on the far side of its edges, seen from its middle."""
    faces = skin.top_faces
    touching = faces[row_sums(np.isin(faces, edges)) >= 2]
    if not len(touching):
        return False
    corners = skin.vertices_mm[touching]
    on_rim = np.isin(touching, edges)[:, :, None]
    rim_mm = row_sums(corners * on_rim) / row_sums(on_rim)
    inward_mm = row_means(corners) - rim_mm
    return bool((inward_mm * (rim_mm - middle_mm)).sum() > 0.0)
