"""Do these landmarks belong to this head? Swapped sides, a turned set, strays and points off the skin, by name.

The set is held against the template's landmarks (a similarity to the better agreeing share, so that one stray point
does not bend it), against the base's surface, and against published distances.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np

from ...geometry import Surface
from ...geometry.rigid import rotation_vector
from ...geometry.similarity import Similarity, fit_similarity
from ...geometry.surface import OPEN_BORDER
from ...geometry.surface_fit import best_poses
from ...geometry.trimmed_fit import agreeing
from ...model.arrays import FloatArray
from ...model.finding import Severity
from .proportions import unlike_adults
from .proposal import MOST_MISFIT_MM
from .template import head_template

LEAST_POINTS = 6
"""Fewer landmarks do not tell what is wrong with one of them."""
LIKE_MM = 5.0
"""A set that usually lies this near to the template's is no mirror image."""
STRAY_MM = 20.0
"""Faces differ from the average head, sized to fit, by up to about 15 mm at a landmark: measured on seven heads."""
STRAY_SKULL_MM = 40.0
SKULL = ("vertex_top", "opisthocranion")
OFF_MM = 6.0
"""A point on the skin lies on it; a click or an edited mesh leaves it off by less than this."""
MANY = 0.4
TURNED_DEG = 30.0
SCALES = (0.6, 1.6)
KEEP = 0.7
"""Share of a set of landmarks that agrees with the template's, the better one."""
MIRROR = np.array([-1.0, 1.0, 1.0])
AXES = ("left", "back", "up")
OPPOSITES = ("right", "front", "down")


@dataclass(frozen=True)
class Doubt:
    """Something that looks wrong with some landmarks.

    Attributes
    ----------
    severity
        ``review`` where measures built on them cannot be trusted, ``info`` where a face may be unusual.
    names
        The landmarks meant.
    message
        What looks wrong, by how much.
    at_mm
        Where the first of them is.
    value_mm, limit_mm
        The figure and what it was held against.
    remedy
        What to do.
    """

    severity: Severity
    names: tuple[str, ...]
    message: str
    at_mm: FloatArray
    value_mm: float
    limit_mm: float
    remedy: str


@dataclass(frozen=True)
class Likeness:
    """A set of landmarks against the template's.

    Attributes
    ----------
    names
        The landmarks.
    given_mm
        Where they are, ``(k, 3)``.
    pose
        From the template to them, from the share that agrees best.
    away_mm
        How far each lies from where the others put it, ``(k, 3)``, along the template's axes (left, back, up).
    """

    names: tuple[str, ...]
    given_mm: FloatArray
    pose: Similarity
    away_mm: FloatArray

    @classmethod
    def of(cls, landmarks: Mapping[str, FloatArray], mirrored: bool = False) -> "Likeness":
        """Lay the template's landmarks, or their mirror image, on the given ones."""
        template = head_template()
        names = tuple(name for name in template.names if name in landmarks)
        given = np.stack([landmarks[name] for name in names])
        wanted = np.stack([template.points_mm[template.names.index(name)] for name in names])
        wanted = wanted * MIRROR if mirrored else wanted
        pose = agreeing(partial(fit_similarity, scale_range=SCALES), wanted, given, KEEP).motion
        return cls(names, given, pose, (given - pose.apply(wanted)) @ pose.rotation)

    @property
    def distance_mm(self) -> FloatArray:
        """``(k,)`` how far each lies from where the others put it."""
        return np.asarray(np.linalg.norm(self.away_mm, axis=1))

    @property
    def usual_mm(self) -> float:
        """The median of these distances."""
        return float(np.median(self.distance_mm))


def landmark_doubts(landmarks: Mapping[str, FloatArray], base: Surface | None = None) -> tuple[Doubt, ...]:
    """Return what looks wrong with a set of landmarks, the gravest first; empty where nothing does.

    Parameters
    ----------
    landmarks
        Landmark -> ``(3,)`` point, mm.
    base
        The head they are meant for, or None to look at the set alone.
    """
    if not landmarks:
        return ()
    off = off_the_skin(landmarks, base)
    if len(landmarks) < LEAST_POINTS:
        return (*_each_off(landmarks, off), *_distances(landmarks))
    likeness = Likeness.of(landmarks)
    if likeness.usual_mm > LIKE_MM:
        mirrored = Likeness.of(landmarks, mirrored=True)
        if mirrored.usual_mm < 0.5 * likeness.usual_mm:
            return (_swapped_throughout(mirrored),)
    if base is not None and len(off) >= max(4, MANY * len(landmarks)):
        return (_elsewhere(likeness, landmarks, off, base),)
    pairs = tuple(_swapped_pairs(likeness))
    strays = tuple(_strays(likeness, {name for each in pairs for name in each.names}))
    named = {name for each in (*pairs, *strays) for name in each.names}
    rest = {name: far_mm for name, far_mm in off.items() if name not in named}
    honest = {name: point for name, point in landmarks.items() if name not in named}
    return (*pairs, *strays, *_each_off(landmarks, rest), *_distances(honest))


def off_the_skin(landmarks: Mapping[str, FloatArray], base: Surface | None) -> dict[str, float]:
    """Return the landmarks that lie off the base's skin and how far, mm; pupils, on the eyes, are not asked."""
    names = [name for name in landmarks if not name.startswith("pupil")]
    if base is None or not names:
        return {}
    near = base.closest(np.stack([landmarks[name] for name in names]))
    beyond = (near.distance_mm > OFF_MM) & (near.feature != OPEN_BORDER) | (near.distance_mm > 5.0 * OFF_MM)
    return {name: float(far) for name, far, flag in zip(names, near.distance_mm, beyond, strict=True) if flag}


def _swapped_throughout(mirrored: Likeness) -> Doubt:
    paired = tuple(name for name in mirrored.names if name.endswith(("_left", "_right")))
    return Doubt(
        Severity.REVIEW, paired,
        f"Left and right are swapped: {len(paired)} landmarks with a side fit a face's mirror image "
        f"(to {mirrored.usual_mm:.0f} mm) and no face. Left is the performer's left.",
        mirrored.given_mm[0], mirrored.usual_mm, float("nan"),
        "exchange _left and _right in the names of all of them",
    )  # fmt: skip


def _elsewhere(
    likeness: Likeness, landmarks: Mapping[str, FloatArray], off: Mapping[str, float], base: Surface
) -> Doubt:
    worst = max(off, key=lambda name: off[name])
    template = head_template()
    head = best_poses(template.surface, base, template.face)[0]
    known = head.misfit_mm <= MOST_MISFIT_MM
    cause = _cause(likeness.pose, head.pose) if known else "They may belong to another scan, unit or pose"
    return Doubt(
        Severity.REVIEW, tuple(off),
        f"The landmarks do not lie on this head: {len(off)} of {len(landmarks)} are more than {OFF_MM:g} mm off its "
        f"skin, {worst} by {off[worst]:.0f} mm. {cause}.",
        np.asarray(landmarks[worst]), off[worst], OFF_MM,
        "place them again, or propose them and confirm each",
    )  # fmt: skip


def _cause(given: Similarity, head: Similarity) -> str:
    """Say how the pose that landmarks give differs from the head's own."""
    turn = head.rotation.T @ given.rotation
    angle_deg = given.angle_to_deg(head)
    if angle_deg > TURNED_DEG:
        axis = rotation_vector(turn)
        number = int(np.argmax(np.abs(axis)))
        about = ("ear to ear", "nose to back of head", "upright")[number]
        behind = "; the face is behind the head" if number == 2 and angle_deg > 150.0 else ""
        return f"As a set they are turned by about {angle_deg:.0f} degrees about the head's {about} axis{behind}"
    size = given.scale / head.scale
    if not 0.8 < size < 1.25:
        bound = "at most " if given.scale <= SCALES[0] else "at least " if given.scale >= SCALES[1] else ""
        return f"As a set they are {bound}{size:.2f} times the size of this head: another unit or another scan"
    middle = np.zeros(3)
    shift = (given.apply(middle) - head.apply(middle)) @ head.rotation
    return f"As a set they lie {_way(shift)} of where this head's own are"


def _way(away_mm: FloatArray) -> str:
    """Return a vector along (left, back, up) in words: its largest part."""
    number = int(np.argmax(np.abs(away_mm)))
    word = AXES[number] if away_mm[number] > 0.0 else OPPOSITES[number]
    return f"{abs(away_mm[number]):.0f} mm to the {word}" if number < 2 else f"{abs(away_mm[number]):.0f} mm {word}"


def _limit_mm(name: str, likeness: Likeness) -> float:
    limit_mm = STRAY_SKULL_MM if name in SKULL else STRAY_MM
    return max(limit_mm, 3.5 * likeness.usual_mm)


def _swapped_pairs(likeness: Likeness) -> Iterator[Doubt]:
    """Yield the pairs that fit when exchanged and do not as they are."""
    at = dict(zip(likeness.names, likeness.given_mm, strict=True))
    wanted = dict(zip(likeness.names, likeness.given_mm - likeness.pose.turn(likeness.away_mm), strict=True))
    for left in (name for name in likeness.names if name.endswith("_left")):
        right = left.removesuffix("left") + "right"
        if right not in at:
            continue
        apart_mm = float(np.linalg.norm(wanted[left] - wanted[right]))
        crossed = max(np.linalg.norm(at[left] - wanted[right]), np.linalg.norm(at[right] - wanted[left]))
        straight = min(np.linalg.norm(at[left] - wanted[left]), np.linalg.norm(at[right] - wanted[right]))
        if crossed < 0.4 * apart_mm and straight > 0.6 * apart_mm:
            yield Doubt(
                Severity.REVIEW, (left, right),
                f"{left} and {right} are swapped: each lies where the other belongs.",
                at[left], float(straight), 0.6 * apart_mm, "exchange the two names",
            )  # fmt: skip


def _strays(likeness: Likeness, known: set[str]) -> Iterator[Doubt]:
    far_mm = likeness.distance_mm
    for number in np.argsort(-far_mm):
        name, limit_mm = likeness.names[number], _limit_mm(likeness.names[number], likeness)
        if far_mm[number] <= limit_mm or name in known:
            continue
        yield Doubt(
            Severity.REVIEW, (name,),
            f"{name} is misplaced: it lies {far_mm[number]:.0f} mm from where the other landmarks put it, mostly "
            f"{_way(likeness.away_mm[number])} (at most {limit_mm:.0f} mm is believed).",
            likeness.given_mm[number], float(far_mm[number]), limit_mm, f"place {name} again",
        )  # fmt: skip


def _each_off(landmarks: Mapping[str, FloatArray], off: Mapping[str, float]) -> Iterator[Doubt]:
    for name, far_mm in off.items():
        yield Doubt(
            Severity.REVIEW, (name,),
            f"{name} is off the skin: {far_mm:.1f} mm from the base (at most {OFF_MM:g} mm is believed).",
            np.asarray(landmarks[name]), far_mm, OFF_MM, f"place {name} on the base again",
        )  # fmt: skip


def _distances(landmarks: Mapping[str, FloatArray]) -> Iterator[Doubt]:
    for each, distance_mm in unlike_adults(landmarks):
        short = distance_mm < each.low_mm
        limit_mm = each.low_mm if short else each.high_mm
        yield Doubt(
            Severity.INFO, each.ends,
            f"The {each.name} is {distance_mm:.0f} mm; adults have {each.low_mm:.0f} to {each.high_mm:.0f} mm "
            f"({each.source}). Check {each.ends[0]} and {each.ends[1]}; a child may be smaller.",
            np.asarray(landmarks[each.ends[0]]), distance_mm, limit_mm, "look at the two points",
        )  # fmt: skip
