"""What no head has: landmarks on one spot, a set of another size, lips out of order, pupils beside the eyes.

Every doubt from here is ``impossible``.
"""

from collections.abc import Iterator, Mapping
from itertools import combinations, pairwise

import numpy as np

from ...geometry import Surface
from ...geometry.rows import extents
from ...geometry.similarity import Similarity
from ...model.arrays import FloatArray
from ...model.finding import Severity
from .doubt import Doubt
from .mouth_aperture import mouth_aperture
from .template import head_template

SIZES = (0.55, 1.7)
"""A set this many times the size of the average head's is no head's; a baby's is 0.7."""
NEAR_SHARE = 0.25
"""Two landmarks nearer than this share of the average head's distance, sized, are one spot under two names."""
LEAST_PAIR_MM = 12.0
"""Landmarks that the average head has closer than this (about the lips) are not asked."""
ORDER = (
    "sellion",
    "subnasale",
    "labiale_superius",
    "stomion_superius",
    "stomion_inferius",
    "labiale_inferius",
    "gnathion",
)
"""From above downward on an upright face, whatever the mouth does."""
ORDER_MM = 2.5
"""Shut lips overlap by about 1 mm, and a click is off by as much."""
ACROSS_EYE, ACROSS_EYES = (0.1, 0.9), (0.27, 0.73)
"""Where across the eye, from the inner corner, one pupil can be, and two on average: a gaze to one side moves both."""
OFF_EYE = 0.6
"""A pupil is no further from the line between the eye's corners than this share of the eye's width."""
APART_MM = 5.0
"""Lips further apart than this belong to an open mouth."""
BULGE_MM = 0.5
"""Skin that somewhere stands this far before the straight way from one margin to the other, and nowhere so far behind,
is the skin of one lip."""
PROBES = 15
AHEAD_MM = 60.0


def impossible(
    names: tuple[str, ...], message: str, at_mm: FloatArray, value_mm: float, limit_mm: float, remedy: str
) -> Doubt:
    """Return a doubt about landmarks as no head has them."""
    return Doubt(Severity.REVIEW, names, message, np.asarray(at_mm), value_mm, limit_mm, remedy, impossible=True)


def nowhere(landmarks: Mapping[str, FloatArray]) -> Iterator[Doubt]:
    """Yield landmarks whose coordinates are no numbers."""
    lost = tuple(name for name, point in landmarks.items() if not np.isfinite(point).all())
    if lost:
        yield impossible(
            lost, f"{', '.join(lost)}: the coordinates are no finite numbers.", np.zeros(3), float("inf"), 0.0,
            "place them again",
        )  # fmt: skip


def another_size(landmarks: Mapping[str, FloatArray]) -> Iterator[Doubt]:
    """Yield the set when its size is no head's, or when it is all on one spot."""
    pairs = _pairs(landmarks)
    if not pairs:
        return
    size = _size(pairs)
    if SIZES[0] <= size <= SIZES[1]:
        return
    names = tuple(landmarks)
    wide_mm = float(extents(np.stack(list(landmarks.values()))).max())
    if size < 0.01:
        message = f"All {len(names)} landmarks lie within {wide_mm:.1f} mm: on one spot."
    else:
        message = (
            f"The landmarks as a set are {size:.2g} times the size of an average head, {wide_mm:.0f} mm across: "
            "another unit or another scan."
        )
    yield impossible(
        names, message, landmarks[names[0]], wide_mm, float("nan"), "place them again, in this scan's unit"
    )


def on_one_spot(landmarks: Mapping[str, FloatArray]) -> Iterator[Doubt]:
    """Yield pairs of landmarks that are one spot under two names."""
    pairs = _pairs(landmarks)
    size = _size(pairs) if len(landmarks) > 3 else 1.0
    for (one, other), (far_mm, usual_mm) in pairs.items():
        if far_mm < NEAR_SHARE * size * usual_mm:
            yield impossible(
                (one, other),
                f"{one} and {other} lie {far_mm:.1f} mm apart, where a head has about {size * usual_mm:.0f} mm.",
                landmarks[one], far_mm, NEAR_SHARE * size * usual_mm, "place both again",
            )  # fmt: skip


def _pairs(landmarks: Mapping[str, FloatArray]) -> dict[tuple[str, str], tuple[float, float]]:
    """Return the distance of every two landmarks, here and on the average head, mm."""
    template = head_template()
    usual = dict(zip(template.names, template.points_mm, strict=True))
    found = {}
    for one, other in combinations([name for name in template.names if name in landmarks], 2):
        usual_mm = float(np.linalg.norm(usual[one] - usual[other]))
        if usual_mm > LEAST_PAIR_MM:
            found[one, other] = (float(np.linalg.norm(landmarks[one] - landmarks[other])), usual_mm)
    return found


def _size(pairs: Mapping[tuple[str, str], tuple[float, float]]) -> float:
    return float(np.median([far_mm / usual_mm for far_mm, usual_mm in pairs.values()])) if pairs else 1.0


def beside_the_eyes(landmarks: Mapping[str, FloatArray]) -> Iterator[Doubt]:
    """Yield pupils that lie beside their eye: beyond its corners, or as a pair too far out or in."""
    shares = {}
    for side in ("left", "right"):
        pupil, inner, outer = (f"{which}_{side}" for which in ("pupil", "endocanthion", "exocanthion"))
        if not {pupil, inner, outer} <= landmarks.keys():
            continue
        across, way = landmarks[outer] - landmarks[inner], landmarks[pupil] - landmarks[inner]
        wide_mm = float(np.linalg.norm(across))
        if not wide_mm:
            continue
        share = float(across @ way) / wide_mm**2
        off_mm = float(np.linalg.norm(way - share * across))
        if not ACROSS_EYE[0] <= share <= ACROSS_EYE[1] or off_mm > OFF_EYE * wide_mm:
            yield _beside(landmarks, (pupil,), off_mm, share, wide_mm)
        else:
            shares[pupil] = share, wide_mm
    if len(shares) == 2:
        share, wide_mm = np.mean(list(shares.values()), axis=0)
        if not ACROSS_EYES[0] <= share <= ACROSS_EYES[1]:
            yield _beside(landmarks, tuple(shares), 0.0, float(share), float(wide_mm))


def _beside(
    landmarks: Mapping[str, FloatArray], names: tuple[str, ...], off_mm: float, share: float, wide_mm: float
) -> Doubt:
    away_mm = float(np.hypot(off_mm, (share - 0.5) * wide_mm))
    which = " and ".join(names)
    return impossible(
        names,
        f"{which} cannot be there: {away_mm:.1f} mm from the middle of the eye, which is {wide_mm:.0f} mm wide between "
        "its corners.",
        landmarks[names[0]], away_mm, OFF_EYE * wide_mm, f"place {which} again",
    )  # fmt: skip


def out_of_order(landmarks: Mapping[str, FloatArray], up: FloatArray) -> Iterator[Doubt]:
    """Yield neighbours down the middle of the face of which the lower one lies above the upper.

    Parameters
    ----------
    landmarks
        The set.
    up
        Toward the crown, unit ``(3,)``.
    """
    here = [name for name in ORDER if name in landmarks]
    for upper, lower in pairwise(here):
        above_mm = float((landmarks[lower] - landmarks[upper]) @ up)
        if above_mm > ORDER_MM:
            yield impossible(
                (upper, lower), f"{lower} lies {above_mm:.1f} mm above {upper}, and belongs below it.",
                landmarks[upper], above_mm, ORDER_MM, "exchange the two, or place both again",
            )  # fmt: skip


ASIDE_SHARE = 0.2
"""Points nearer to the middle of an opening than this share of it are on neither lip, and only roughly placed."""


def on_one_lip(landmarks: Mapping[str, FloatArray], base: Surface, pose: Similarity) -> Iterator[Doubt]:
    """Yield the margins of the lips when both lie on one lip.

    The mouth is seen open and both are on one side of the opening, or they are apart and the skin between them stands
    forward, as a lip's does.

    Parameters
    ----------
    landmarks
        The set.
    base
        The head.
    pose
        Where the template's axes (left, back, up) lie on it.
    """
    names = ("stomion_superius", "stomion_inferius")
    if not all(name in landmarks for name in names):
        return
    upper, lower = pose.inverse.apply(np.stack([landmarks[name] for name in names]))
    apart_mm = float(upper[2] - lower[2]) * pose.scale
    seen = mouth_aperture(base, pose, 0.5 * float(upper[0] + lower[0]))
    if seen is not None and seen.open_mm > APART_MM:
        top, bottom = pose.inverse.apply(np.stack([seen.upper_mm, seen.lower_mm]))[:, 2]
        middle, aside = 0.5 * (top + bottom), ASIDE_SHARE * (top - bottom)
        if upper[2] < middle - aside or lower[2] > middle + aside:
            which = "lower" if upper[2] < middle else "upper"
            yield _one_lip(landmarks, which, f"the mouth is {seen.open_mm:.0f} mm open there", apart_mm, seen.open_mm)
    elif seen is None and apart_mm > APART_MM and _stands_out(base, pose, upper, lower):
        yield _one_lip(landmarks, "same", "unbroken skin stands out between them", apart_mm, APART_MM)


def _one_lip(landmarks: Mapping[str, FloatArray], which: str, why: str, value_mm: float, limit_mm: float) -> Doubt:
    return impossible(
        ("stomion_superius", "stomion_inferius"),
        f"stomion_superius and stomion_inferius both lie on the {which} lip: {why}.",
        landmarks["stomion_superius"], value_mm, limit_mm, "place each on the margin of its own lip",
    )  # fmt: skip


def _stands_out(base: Surface, pose: Similarity, upper: FloatArray, lower: FloatArray) -> bool:
    """Tell whether the skin between two points, seen from the front, stands before the straight way between them."""
    way = upper + np.linspace(0.0, 1.0, PROBES + 2)[1:-1, None] * (lower - upper)
    starts = pose.apply(way - [0.0, AHEAD_MM, 0.0])
    met_mm = base.first_hit(starts, np.tile(pose.turn([0.0, 1.0, 0.0]), (PROBES, 1))).distance_mm
    ahead_mm = AHEAD_MM * pose.scale - met_mm
    return bool(ahead_mm.min() > -BULGE_MM and ahead_mm.max() > BULGE_MM)
