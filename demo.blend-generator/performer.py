"""The performer of The Salt Orchard: a scan to sculpt on, with eyes, teeth, landmarks, areas and face shapes."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from .cutting import cut
from .dentition import Row, lower_row, upper_row
from .head import Head, load_head
from .lips import distance_to_line, lip_line, lips_together, nearer_to_upper
from .subdivision import catmull_clark, triangles_of

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

LEVELS = 2
NECK_CUT_MM = -122.0
HINGE_MM = np.array([0.0, -21.9, -26.1])
"""A point of the jaw's axis, parallel to x: the turn that fits the stored jaw shape's lower teeth (0.4 mm)."""
OPEN_DEG = 24.4

FACE_SHAPES: Mapping[str, tuple[str, ...]] = {
    "JawOpen": ("jawOpen",),
    "BlinkLeft": ("eyeBlinkLeft",),
    "BlinkRight": ("eyeBlinkRight",),
    "Smile": ("mouthSmileLeft", "mouthSmileRight"),
    "BrowRaise": ("browInnerUp", "browOuterUpLeft", "browOuterUpRight"),
    "Pucker": ("mouthPucker",),
}
"""Shape key -> the head's face shapes it adds up."""

MOTIONS: Mapping[str, tuple[str, ...]] = {
    "jaw": ("JawOpen",),
    "blink": ("BlinkLeft", "BlinkRight"),
    "smile": ("Smile",),
    "brow_raise": ("BrowRaise",),
    "pucker": ("Pucker",),
}
"""Motion -> the shape keys that run from 0 to 1."""

# Vertices of the stored head at anatomical points; those with a side are the performer's left.
MIDLINE_MARKS = {
    "labiale_superius": 455, "labiale_inferius": 492, "stomion_superius": 520, "stomion_inferius": 523,
    "subnasale": 343, "pronasale": 297, "gnathion": 1688, "sellion": 132, "vertex_top": 881, "opisthocranion": 962,
}  # fmt: skip
PAIRED_MARKS = {"tragion": 4079, "cheilion": 2664, "endocanthion": 2331, "exocanthion": 3633, "alare": 2576}
LIP_UPPER_RING = (520, 521, 522, 514, 515, 1823, 516, 533, 525, 524, 528, 1439, 526, 527)
LIP_LOWER_RING = (523, 517, 518, 519, 530, 529, 1418, 527)
VERMILION_MM = 9.5
NOSTRIL_MM = np.array([8.0, -102.0, -18.0])
NOSTRIL_RADIUS_MM = 5.5
EYE_SHAPES = {"eye_left": "eye_L", "eye_right": "eye_R"}


@dataclass(frozen=True)
class Eye:
    """One eyeball, mm."""

    vertices_mm: FloatArray
    faces: IntArray

    @property
    def pupil_mm(self) -> FloatArray:
        """The foremost point ``(3,)``."""
        point: FloatArray = self.vertices_mm[self.vertices_mm[:, 1].argmin()]
        return point


@dataclass(frozen=True)
class Performer:
    """Everything a sculptor gets before sculpting, mm; x left, y back, z up.

    Attributes
    ----------
    vertices_mm, faces
        The scan: skin with a mouth lining, open at the neck.
    shapes_mm
        Shape key -> displacement ``(n, 3)`` at 1.
    areas
        Vertex group -> weights ``(n,)``.
    landmarks
        Landmark -> point ``(3,)``.
    eyes
        ``eye_left`` and ``eye_right``.
    upper, lower
        The teeth, jaw closed.
    outer
        ``(n,)`` whether a vertex is on the outside of the head, not in the mouth or behind the lids.
    """

    vertices_mm: FloatArray
    faces: IntArray
    shapes_mm: Mapping[str, FloatArray]
    areas: Mapping[str, FloatArray]
    landmarks: Mapping[str, FloatArray]
    eyes: Mapping[str, Eye]
    upper: Row
    lower: Row
    outer: npt.NDArray[np.bool_]


def jaw_turned(points_mm: FloatArray, t: float) -> FloatArray:
    """Return points ``(n, 3)`` that belong to the lower jaw, at opening ``t``: a rigid turn about the hinge."""
    angle = np.radians(OPEN_DEG * t)
    back, up = points_mm[:, 1] - HINGE_MM[1], points_mm[:, 2] - HINGE_MM[2]
    return np.column_stack(
        [
            points_mm[:, 0],
            HINGE_MM[1] + back * np.cos(angle) - up * np.sin(angle),
            HINGE_MM[2] + back * np.sin(angle) + up * np.cos(angle),
        ]
    )


@cache
def performer() -> Performer:
    """Build the performer from the stored head; the same one every time."""
    stored = load_head()
    skin = stored.part("skin")
    keys = list(FACE_SHAPES)
    moved = [np.sum([skin.shapes_mm[shape] for shape in FACE_SHAPES[key]], axis=0) for key in keys]
    rings = [mirrored_ring(skin.vertices_mm, ring) for ring in (LIP_UPPER_RING, LIP_LOWER_RING)]
    above = nearer_to_upper(skin.vertices_mm, skin.quads, *rings)
    outside = outside_of(skin.quads, np.concatenate(rings), MIDLINE_MARKS["vertex_top"], len(skin.vertices_mm))
    sides = np.stack([outside, above], axis=1)
    values, quads = np.concatenate([skin.vertices_mm, *moved, sides], axis=1), skin.quads
    for _ in range(LEVELS):
        values, quads = catmull_clark(values, quads)
    rest, above = values[:, :3], values[:, -1] > 0.5
    line = lip_line(rest, *rings)
    rest = rest + lips_together(rest, triangles_of(quads), line, above)
    marks = landmark_points(rest, stored)
    recipe = cut(triangles_of(quads), rest[:, 2] - NECK_CUT_MM)
    below = recipe.carry(values[:, -1]) <= 0.5
    vertices = recipe.carry(rest)
    shapes = {key: recipe.carry(values[:, 3 + 3 * n : 6 + 3 * n]) for n, key in enumerate(keys)}
    return Performer(
        vertices_mm=vertices,
        faces=recipe.faces,
        shapes_mm=shapes,
        areas=marked_areas(vertices, shapes, line, below, marks),
        landmarks=marks,
        eyes={role: smooth_eye(stored.part(name)) for role, name in EYE_SHAPES.items()},
        upper=upper_row(),
        lower=lower_row(),
        outer=recipe.carry(values[:, -2]) > 0.5,
    )


def smooth_eye(part: Head) -> Eye:
    """Return an eyeball subdivided twice."""
    vertices, quads = part.vertices_mm, part.quads
    for _ in range(2):
        vertices, quads = catmull_clark(vertices, quads)
    return Eye(vertices, triangles_of(quads))


def mirrored_ring(head: FloatArray, ring: tuple[int, ...]) -> IntArray:
    """Return a ring of vertices on one side together with its mirror image."""
    one_side = np.array(ring)
    return np.unique(np.concatenate([one_side, [opposite(head, index) for index in ring]]))


def opposite(head: FloatArray, index: int) -> int:
    """Return the vertex nearest to a vertex's mirror image."""
    return int(np.linalg.norm(head - head[index] * [-1.0, 1.0, 1.0], axis=1).argmin())


def landmark_points(head: FloatArray, stored: Head) -> dict[str, FloatArray]:
    """Return every landmark's place on the smooth head, ``(3,)`` mm."""
    marks = {name: head[index] for name, index in MIDLINE_MARKS.items()}
    for name, index in PAIRED_MARKS.items():
        marks[f"{name}_left"] = head[index]
        marks[f"{name}_right"] = head[opposite(head, index)]
    for role, part in EYE_SHAPES.items():
        marks[role.replace("eye", "pupil")] = smooth_eye(stored.part(part)).pupil_mm
    return marks


def marked_areas(
    head: FloatArray,
    shapes: Mapping[str, FloatArray],
    line: FloatArray,
    below: npt.NDArray[np.bool_],
    marks: Mapping[str, FloatArray],
) -> dict[str, FloatArray]:
    """Return the vertex groups of lips, lids and nostrils, weights 0 or 1."""
    near_lips = distance_in_reach(head, line, VERMILION_MM) & (np.abs(head[:, 0]) < 25.0)
    areas = {"dryfit_lip_upper": near_lips & ~below, "dryfit_lip_lower": near_lips & below}
    for side, sign in (("left", 1.0), ("right", -1.0)):
        lid, upper = lid_areas(head, shapes[f"Blink{side.title()}"], marks, side)
        areas[f"dryfit_lid_upper_{side}"] = lid & upper
        areas[f"dryfit_lid_lower_{side}"] = lid & ~upper
        opening = NOSTRIL_MM * [sign, 1.0, 1.0]
        areas[f"dryfit_nostril_{side}"] = np.linalg.norm(head - opening, axis=1) < NOSTRIL_RADIUS_MM
    return {name: chosen.astype(np.float64) for name, chosen in areas.items()}


def distance_in_reach(head: FloatArray, line: FloatArray, reach_mm: float) -> npt.NDArray[np.bool_]:
    """Tell which vertices are within a reach of a line."""
    chosen = np.linalg.norm(head - line.mean(axis=0), axis=1) < 40.0
    chosen[chosen] = distance_to_line(head[chosen], line) < reach_mm
    return chosen


def lid_areas(
    head: FloatArray, blink: FloatArray, marks: Mapping[str, FloatArray], side: str
) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """Return which vertices are lid skin on one side, and which are above the line between the eye's corners."""
    inner, outer = marks[f"endocanthion_{side}"], marks[f"exocanthion_{side}"]
    middle = (inner + outer) / 2.0
    reach = np.linalg.norm(head[:, [0, 2]] - middle[[0, 2]], axis=1) < 0.75 * np.linalg.norm(outer - inner)
    front = head[:, 1] < middle[1] + 6.0
    moving = np.linalg.norm(blink, axis=1) > 0.25
    share = (head[:, 0] - inner[0]) / (outer[0] - inner[0])
    return reach & front & moving, head[:, 2] > inner[2] + share * (outer[2] - inner[2])


def outside_of(quads: IntArray, fence: IntArray, seed: int, count: int) -> npt.NDArray[np.bool_]:
    """Tell which vertices ``(count,)`` edges reach from a seed without passing a fence; the fence counts."""
    pairs = np.stack([quads, np.roll(quads, -1, axis=1)], axis=-1).reshape(-1, 2)
    pairs = pairs[~np.isin(pairs, fence).any(axis=1)]
    reached = np.zeros(count, bool)
    reached[seed] = True
    while True:
        touching = pairs[reached[pairs].any(axis=1)]
        if reached[touching].all():
            break
        reached[touching] = True
    reached[fence] = True
    return reached


__all__ = ["HINGE_MM", "MOTIONS", "OPEN_DEG", "Eye", "Performer", "jaw_turned", "performer"]
