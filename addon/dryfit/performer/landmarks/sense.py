"""Do these landmarks belong to this head? Swapped sides, a turned set, strays and points off the skin, by name.

The set is held against the template's landmarks (a similarity to the better agreeing share, so that one stray point
does not bend it, and its jaw as far open as theirs), against the base's surface, and against published distances.
"""

from collections.abc import Iterable, Iterator, Mapping

import numpy as np

from ...geometry import Surface
from ...geometry.rigid import rotation_vector
from ...geometry.similarity import Similarity
from ...geometry.surface import OPEN_BORDER
from ...geometry.surface_fit import best_poses
from ...model.arrays import FloatArray
from ...model.finding import Severity
from ..head_frame import HeadFrame
from .doubt import Doubt
from .likeness import SCALES, Likeness
from .nonsense import another_size, beside_the_eyes, nowhere, on_one_lip, on_one_spot, out_of_order
from .proportions import unlike_adults
from .template import MOST_MISFIT_MM, head_template

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
IMPOSSIBLE = 2.0
"""Beyond so many times what is believed of a stray no head is like it."""
MANY = 0.4
TURNED_DEG = 30.0
AXES = ("left", "back", "up")
OPPOSITES = ("right", "front", "down")


def landmark_doubts(landmarks: Mapping[str, FloatArray], base: Surface | None = None) -> tuple[Doubt, ...]:
    """Return what looks wrong with a set of landmarks, what cannot be first; empty where nothing does.

    Parameters
    ----------
    landmarks
        Landmark -> ``(3,)`` point, mm.
    base
        The head they are meant for, or None to look at the set alone.
    """
    lost = tuple(nowhere(landmarks))
    landmarks = {name: point for name, point in landmarks.items() if np.isfinite(point).all()}
    if not landmarks:
        return lost
    if whole := tuple(another_size(landmarks)):
        return (*lost, *whole)
    off = off_the_skin(landmarks, base)
    found = _few(landmarks, off) if len(landmarks) < LEAST_POINTS else _many(landmarks, off, base)
    return (*lost, *sorted(found, key=lambda doubt: not doubt.impossible))


def _few(landmarks: Mapping[str, FloatArray], off: Mapping[str, float]) -> tuple[Doubt, ...]:
    """Return what can be told of a set too small to tell which of its points is wrong."""
    frame = HeadFrame.from_landmarks(landmarks)
    order = () if frame.assumed else tuple(out_of_order(landmarks, frame.up))
    return (*_once(on_one_spot(landmarks), beside_the_eyes(landmarks), order, _each_off(landmarks, off)),
            *_distances(landmarks))  # fmt: skip


def _many(landmarks: Mapping[str, FloatArray], off: Mapping[str, float], base: Surface | None) -> tuple[Doubt, ...]:
    likeness = Likeness.of(landmarks)
    if likeness.usual_mm > LIKE_MM:
        mirrored = Likeness.of(landmarks, mirrored=True)
        if mirrored.usual_mm < 0.5 * likeness.usual_mm:
            return (_swapped_throughout(mirrored),)
    if base is not None and len(off) >= max(4, MANY * len(landmarks)):
        return (_elsewhere(likeness, landmarks, off, base),)
    named = _once(
        _swapped_pairs(likeness),
        on_one_spot(landmarks),
        beside_the_eyes(landmarks),
        out_of_order(landmarks, likeness.pose.turn([0.0, 0.0, 1.0])),
        () if base is None else on_one_lip(landmarks, base, likeness.pose),
        _strays(likeness),
        _each_off(landmarks, off),
    )
    meant = {name for doubt in named for name in doubt.names}
    return (*named, *_distances({name: point for name, point in landmarks.items() if name not in meant}))


def _once(*found: Iterable[Doubt]) -> tuple[Doubt, ...]:
    """Return the doubts in order without those whose landmarks an earlier one, as grave, has named."""
    kept: list[Doubt] = []
    for doubt in (each for doubts in found for each in doubts):
        named = {name for other in kept if other.impossible or not doubt.impossible for name in other.names}
        if not set(doubt.names) <= named:
            kept.append(doubt)
    return tuple(kept)


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
        impossible=True,
    )  # fmt: skip


def _elsewhere(
    likeness: Likeness, landmarks: Mapping[str, FloatArray], off: Mapping[str, float], base: Surface
) -> Doubt:
    worst = max(off, key=lambda name: off[name])
    usual_mm = float(np.median(list(off.values())))
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
        impossible=known and usual_mm > IMPOSSIBLE * OFF_MM,
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
                at[left], float(straight), 0.6 * apart_mm, "exchange the two names", impossible=True,
            )  # fmt: skip


def _strays(likeness: Likeness) -> Iterator[Doubt]:
    far_mm = likeness.distance_mm
    for number in np.argsort(-far_mm):
        name, limit_mm = likeness.names[number], _limit_mm(likeness.names[number], likeness)
        if far_mm[number] <= limit_mm:
            continue
        yield Doubt(
            Severity.REVIEW, (name,),
            f"{name} is misplaced: it lies {far_mm[number]:.0f} mm from where the other landmarks put it, mostly "
            f"{_way(likeness.away_mm[number])} (at most {limit_mm:.0f} mm is believed).",
            likeness.given_mm[number], float(far_mm[number]), limit_mm, f"place {name} again",
            impossible=bool(far_mm[number] > IMPOSSIBLE * limit_mm),
        )  # fmt: skip


def _each_off(landmarks: Mapping[str, FloatArray], off: Mapping[str, float]) -> Iterator[Doubt]:
    for name, far_mm in off.items():
        yield Doubt(
            Severity.REVIEW, (name,),
            f"{name} is off the skin: {far_mm:.1f} mm from the base (at most {OFF_MM:g} mm is believed).",
            np.asarray(landmarks[name]), far_mm, OFF_MM, f"place {name} on the base again",
        )  # fmt: skip


def _distances(landmarks: Mapping[str, FloatArray]) -> Iterator[Doubt]:
    for each, distance_mm, impossible in unlike_adults(landmarks):
        short = distance_mm < each.low_mm
        limit_mm = each.low_mm if short else each.high_mm
        yield Doubt(
            Severity.REVIEW if impossible else Severity.INFO, each.ends,
            f"The {each.name} is {distance_mm:.0f} mm; adults have {each.low_mm:.0f} to {each.high_mm:.0f} mm "
            f"({each.source}). Check {each.ends[0]} and {each.ends[1]}; a child may be smaller.",
            np.asarray(landmarks[each.ends[0]]), distance_mm, limit_mm, "look at the two points", impossible,
        )  # fmt: skip
