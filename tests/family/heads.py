"""Heads of several people, one list of vertices: skin with a mouth lining, eyes, landmarks and lips known by number."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np

from dryfit.demo_door import demo_module

IDENTITIES = ("mean", "man", "woman", "child", "old_man", "elder_woman")
SHAPES = ("jawOpen", "eyeBlinkLeft", "eyeBlinkRight", "mouthSmileLeft", "mouthSmileRight", "mouthPucker")
STORED = Path(__file__).parent / "data" / "identities_cc0.npz"
MEAN_HINGE_MM = np.array([0.0, -21.9, -26.1])
"""A point of the axis of the mean head's jaw, parallel to x: the turn that fits its stored jaw shape's teeth."""
MEAN_OPEN_DEG = 24.4
NEAR_AXIS_MM = 10.0
STILL_SHARE, WHOLE_SHARE = 0.08, 0.98
"""Skin that takes less of the jaw's turn than the first stays, skin that takes more than the second goes with it."""
GUM_MM = 6.0
"""Lining that much nearer to the lower lip's margin than to the upper one's lies on the mandible."""
BAND_MM = 9.0
"""Skin this near along the surface to a lip's margin is that lip, for the truth about the gap."""


@dataclass(frozen=True)
class Head:
    """One person's head.

    Attributes
    ----------
    name
        Who, and how finely meshed.
    vertices_mm, faces
        The skin, ``(n, 3)`` and ``(m, 3)``.
    shapes_mm
        Face shape -> displacement ``(n, 3)`` at 1.
    jaw_share
        ``(n,)`` how much of the mandible's motion each vertex takes, 0 to 1.
    margin_mm
        ``(n, 2)`` how far along the skin each vertex is from the upper and from the lower lip's margin.
    outer
        ``(n,)`` whether a vertex is on the outside of the head, not in the mouth or behind the lids.
    marks
        Landmark -> vertex; pupils are not among them.
    pupils_mm
        ``pupil_left`` and ``pupil_right`` ``(3,)``.
    eyes
        ``eye_left`` and ``eye_right`` -> vertices and triangles.
    hinge_mm
        A point ``(3,)`` of the axis of the jaw, which is parallel to x.
    size
        This head against the mean one, from the ears to the mouth.
    """

    name: str
    vertices_mm: np.ndarray
    faces: np.ndarray
    shapes_mm: Mapping[str, np.ndarray]
    jaw_share: np.ndarray
    margin_mm: np.ndarray
    outer: np.ndarray
    marks: Mapping[str, int]
    pupils_mm: Mapping[str, np.ndarray]
    eyes: Mapping[str, tuple[np.ndarray, np.ndarray]]
    hinge_mm: np.ndarray
    size: float

    def landmarks(self, vertices_mm=None):
        """Return every landmark ``(3,)`` on the skin at rest or posed so; eyes do not move."""
        posed = self.vertices_mm if vertices_mm is None else vertices_mm
        return {name: posed[vertex] for name, vertex in self.marks.items()} | dict(self.pupils_mm)

    def moved(self, displacement_mm):
        """Return the same head with its skin at rest displaced ``(n, 3)``."""
        return replace(self, vertices_mm=self.vertices_mm + displacement_mm)

    def shaped(self, *names):
        """Return the sum of some face shapes ``(n, 3)``."""
        return np.sum([self.shapes_mm[name] for name in names], axis=0)

    @property
    def upper_lip(self):
        """``(n,)`` skin beside the upper lip's margin."""
        upper_mm, lower_mm = self.margin_mm.T
        return (upper_mm < BAND_MM) & (upper_mm <= lower_mm)

    @property
    def lower_lip(self):
        """``(n,)`` skin beside the lower lip's margin."""
        upper_mm, lower_mm = self.margin_mm.T
        return (lower_mm < BAND_MM) & (lower_mm <= upper_mm)

    @property
    def frame(self):
        """Rows left, front and up ``(3, 3)``: up from gnathion to sellion, as a closed head is held upright."""
        up = self.vertices_mm[self.marks["sellion"]] - self.vertices_mm[self.marks["gnathion"]]
        up = up * [0.0, 1.0, 1.0] / np.linalg.norm(up[1:])
        left = np.array([1.0, 0.0, 0.0])
        return np.stack([left, np.cross(left, up), up])


@cache
def head(identity="mean", rounds=1, times=1):
    """Return one person's head.

    Parameters
    ----------
    identity
        One of ``IDENTITIES``.
    rounds
        Catmull-Clark rounds: 0 leaves edges of 2.7 mm at the lips, 1 makes them 1.4 mm.
    times
        1, 4 or 16: each triangle is then cut into so many that lie in it; the surface stays what it is.
    """
    values, quads, marks, eyes, hinge_mm, size = _coarse(identity)
    for _ in range(rounds):
        values, quads = demo_module("subdivision").catmull_clark(values, quads)
    faces = demo_module("subdivision").triangles_of(quads)
    while times > 1:
        values, faces = _quartered(values, faces)
        times //= 4
    shapes = {name: values[:, 3 + 3 * at : 6 + 3 * at] for at, name in enumerate(SHAPES)}
    pupils = {f"pupil_{role[4:]}": points[points[:, 1].argmin()] for role, (points, _) in eyes.items()}
    return Head(
        f"{identity}, {len(values)} vertices",
        np.ascontiguousarray(values[:, :3]),
        faces,
        shapes,
        values[:, -1],
        values[:, -3:-1],
        values[:, -4] > 0.5,
        marks,
        pupils,
        eyes,
        hinge_mm,
        size,
    )


def _coarse(identity):
    """Return per-vertex values (place, shapes, distances from both lip margins, jaw share), quads and the rest."""
    stored = identity_head(identity)
    performer, lips = demo_module("performer"), demo_module("lips")
    mean, skin = identity_head("mean").part("skin"), stored.part("skin")
    ear, lip = performer.PAIRED_MARKS["tragion"], performer.MIDLINE_MARKS["stomion_superius"]
    reach = [np.linalg.norm((each.vertices_mm[ear] - each.vertices_mm[lip])[1:]) for each in (skin, mean)]
    size = float(reach[0] / reach[1])
    hinge_mm = [0, 1, 1] * (skin.vertices_mm[ear] + size * (MEAN_HINGE_MM - mean.vertices_mm[ear]))
    rings = [
        performer.mirrored_ring(mean.vertices_mm, ring) for ring in (performer.LIP_UPPER_RING, performer.LIP_LOWER_RING)
    ]
    corners = np.intersect1d(*rings)
    walked = [
        np.minimum(lips.walked_mm(skin.vertices_mm, skin.quads, np.setdiff1d(ring, corners)), 1e3) for ring in rings
    ]
    shapes = [size * skin.shapes_mm[name] for name in SHAPES]
    outside = performer.outside_of(
        skin.quads, np.concatenate(rings), performer.MIDLINE_MARKS["vertex_top"], len(skin.vertices_mm)
    )
    share = np.where(outside, jaw_share(mean), with_the_gum(jaw_share(mean), *walked))
    values = np.column_stack([skin.vertices_mm, *shapes, outside, *walked, share])
    marks = dict(performer.MIDLINE_MARKS)
    for name, vertex in performer.PAIRED_MARKS.items():
        marks |= {f"{name}_left": vertex, f"{name}_right": performer.opposite(mean.vertices_mm, vertex)}
    eyes = {role: stored.part(part) for role, part in performer.EYE_SHAPES.items()}
    smooth = {role: performer.smooth_eye(part) for role, part in eyes.items()}
    return (
        values, skin.quads, marks, {role: (eye.vertices_mm, eye.faces) for role, eye in smooth.items()}, hinge_mm, size
    )  # fmt: skip


@cache
def identity_head(identity):
    """Return the demonstration's stored head as another person."""
    module = demo_module("head")
    stored = module.load_head()
    if identity == "mean":
        return stored
    with np.load(STORED, allow_pickle=False) as kept:
        moved = module.to_blender_axes(kept[identity] * float(kept["step_mm"]))
    return replace(stored, vertices_mm=stored.vertices_mm + moved)


def jaw_share(mean):
    """Return how much of the mandible's turn each skin vertex takes ``(n,)``, after the head's stored jaw shape."""
    arm = (mean.vertices_mm - MEAN_HINGE_MM)[:, 1:]
    after = arm + mean.shapes_mm["jawOpen"][:, 1:]
    turn = np.arctan2(arm[:, 0] * after[:, 1] - arm[:, 1] * after[:, 0], (arm * after).sum(axis=1))
    square = (arm**2).sum(axis=1)
    share = turn / np.radians(MEAN_OPEN_DEG) * square / (square + NEAR_AXIS_MM**2)
    return np.clip((share - STILL_SHARE) / (WHOLE_SHARE - STILL_SHARE), 0.0, 1.0)


def with_the_gum(share, upper_mm, lower_mm):
    """Return the shares ``(n,)`` of the mouth's lining, where that is nearer to the lower lip fixed to the mandible."""
    return np.maximum(share, np.clip((upper_mm - lower_mm) / GUM_MM, 0.0, 1.0))


def _quartered(values, faces):
    """Return values and triangles with each triangle cut in four at the middles of its edges."""
    ends = np.sort(np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    edges, place = np.unique(ends, axis=0, return_inverse=True)
    ab, bc, ca = place.reshape(-1, 3).T + len(values)
    a, b, c = faces.T
    parts = [[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]
    small = np.concatenate([np.stack(part, axis=1) for part in parts])
    return np.concatenate([values, values[edges].mean(axis=1)]), small
