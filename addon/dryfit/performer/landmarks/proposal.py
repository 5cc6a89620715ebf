"""Landmarks for a head that has none: a template with landmarks is laid on the scan, bent to it, and read off.

Similarity from many starts, then a smooth bend, then the scan's own hollows and tips. A proposal is a start for the
eye, never a measurement: whoever knows the performer confirms or drags each point.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from ...geometry import Surface
from ...geometry.rigid import rotation_matrix
from ...geometry.similarity import Similarity
from ...geometry.smooth_fit import REACHES_MM, Bent, Held, SmoothFit
from ...geometry.surface import OPEN_BORDER
from ...geometry.surface_fit import Laid, best_poses, surface_cloud
from ...geometry.turning_point import turning_point
from ...model.arrays import FloatArray, frozen
from ...model.errors import DryfitError
from ...model.progress import Job, Progress
from ...model.snapshot import LANDMARKS, Role, Snapshot
from .confidence import Confidence
from .laying import Laying, laid_with_mouth
from .template import MOST_MISFIT_MM, HeadTemplate, head_template

CLEAR_LEAD = 1.3
BESIDE_MM = 12.0
"""Skin this near a landmark tells how well the template follows there."""
LOST_MM = 6.0
"""A point that lies this far beyond the scan's border is not on the scan."""
STIFFER_MM = (50.0, 30.0, 18.0, 10.0)
NUDGE_DEG = 6.0
MARGINS = ("stomion_superius", "stomion_inferius")
TURNING = {
    "sellion": ((0.0, -1.0, 0.0), 14.0),
    "gnathion": ((0.0, -0.5, -0.87), 14.0),
    "pronasale": ((0.0, -1.0, 0.0), 7.0),
}
"""Landmark -> direction on the template along which the skin turns there, and how far around it is looked, mm."""
DRAWN = ("sellion", "gnathion")
"""Of these, the ones that are drawn to the scan's own turning point; it made the others worse when measured."""
MOST_DRAWN_MM = 4.0


class NoFaceFound(DryfitError):
    """No pose of the template fits, so that nothing can be proposed."""

    def __init__(self, base: str, misfit_mm: float) -> None:
        super().__init__(
            f"'{base}': no face was found on it. The best pose of an average head is off by {misfit_mm:.1f} mm on "
            f"average, and {MOST_MISFIT_MM} mm is the most that is believed. Check that the base is a head or face "
            "scan in millimetres with its nose, eyes and mouth, or place the landmarks by hand."
        )


@dataclass(frozen=True)
class Proposal:
    """Proposed landmarks, none of them confirmed.

    Attributes
    ----------
    points_mm
        Landmark -> ``(3,)``, world space, in the order of ``LANDMARKS``.
    confidence
        Landmark -> what speaks for it.
    left_out
        Landmark -> why it is not proposed.
    pose
        Where the template's axes (left, back, up) lie on the scan.
    misfit_mm, next_misfit_mm
        How well the template lies there before it is bent, and how well in the next best pose.
    """

    points_mm: Mapping[str, FloatArray]
    confidence: Mapping[str, Confidence]
    left_out: Mapping[str, str] = field(default_factory=dict)
    pose: Similarity = field(default_factory=lambda: Similarity(1.0, np.eye(3), np.zeros(3)))
    misfit_mm: float = 0.0
    next_misfit_mm: float = float("inf")

    @property
    def front(self) -> FloatArray:
        """The way the face looks, unit vector ``(3,)``."""
        return self.pose.turn([0.0, -1.0, 0.0])

    @property
    def clear(self) -> bool:
        """Whether no other pose fits nearly as well."""
        return self.next_misfit_mm > CLEAR_LEAD * self.misfit_mm


def propose_landmarks(snapshot: Snapshot) -> Job[Proposal]:
    """Propose every landmark on a snapshot's base; its eyeballs, where it has any, give the pupils.

    Yields
    ------
    Progress
        How far it is.

    Returns
    -------
    Proposal
        Points and how far each may be off.

    Raises
    ------
    NoFaceFound
        When no pose of the template fits.
    NoSurface, BadFaces, NotFinite
        When the base is no surface.
    """
    base = snapshot.base
    eyes = {role.value.replace("eye", "pupil"): role for role in (Role.EYE_LEFT, Role.EYE_RIGHT)}
    balls = {name: part.vertices_mm for name, role in eyes.items() for part in snapshot.with_role(role)[:1]}
    proposal: Proposal = yield from propose_on(Surface(base.vertices_mm, base.faces), base.name, balls)
    return proposal


def propose_on(scan: Surface, name: str, eyeballs: Mapping[str, FloatArray] | None = None) -> Job[Proposal]:
    """Propose every landmark on a scan.

    Parameters
    ----------
    scan
        The head or face, mm.
    name
        What an error calls it.
    eyeballs
        ``pupil_left`` and ``pupil_right`` -> vertices ``(n, 3)`` of the eye, mm.

    Yields, returns and raises as ``propose_landmarks``.
    """
    template = head_template()
    yield Progress(0, 4, "looking for the face")
    found = best_poses(template.surface, scan, template.face)
    if found[0].misfit_mm > MOST_MISFIT_MM:
        raise NoFaceFound(name, found[0].misfit_mm)
    laying = laid_with_mouth(scan, found[0].pose)
    yield Progress(1, 4, "following the face")
    first = followed(laying, scan, laying.pose)
    yield Progress(2, 4, "following the face again, from another start")
    second = followed(laying, scan, _nudged(laying.pose, laying.template), STIFFER_MM)
    yield Progress(3, 4, "reading the landmarks")
    proposal = Reading(scan, laying, first, second, eyeballs or {}).proposal(found)
    yield Progress(4, 4, "landmarks proposed")
    return proposal


def followed(laying: Laying, scan: Surface, pose: Similarity, reaches_mm: tuple[float, ...] = REACHES_MM) -> Bent:
    """Return the template bent to a scan from a pose, its landmarks carried along; seen edges of lips are held."""
    template = laying.template
    fit = SmoothFit(template.surface, scan, template.face, pose)
    held = Held.nothing()
    if laying.aperture:
        numbers = [template.names.index(name) for name in MARGINS]
        held = Held(np.array(numbers), np.stack([laying.aperture.upper_mm, laying.aperture.lower_mm]))
    return fit.bend(pose.apply(template.points_mm), reaches_mm, held)


def _nudged(pose: Similarity, template: HeadTemplate) -> Similarity:
    """Return the pose turned a little about the head's own diagonal, larger by 4 %, its middle kept."""
    diagonal = np.ones(3) / np.sqrt(3.0)
    turn = pose.rotation @ rotation_matrix(np.radians(NUDGE_DEG) * diagonal)
    middle = template.points_mm.mean(axis=0)
    scale = 1.04 * pose.scale
    return Similarity(scale, turn, pose.apply(middle) - scale * (turn @ middle))


@dataclass(frozen=True)
class Reading:
    """Two fits of the template, and what is read from them."""

    scan: Surface
    laying: Laying
    first: Bent
    second: Bent
    eyeballs: Mapping[str, FloatArray]

    @property
    def pose(self) -> Similarity:
        """Where the template lies."""
        return self.laying.pose

    @property
    def template(self) -> HeadTemplate:
        """The template, its mouth open as it was laid."""
        return self.laying.template

    def proposal(self, found: list[Laid]) -> Proposal:
        """Return every landmark that the scan holds."""
        raw = dict(zip(self.template.names, self.first.carried_mm, strict=True))
        cloud = surface_cloud(self.scan, 60000).points_mm
        turned = {name: self._turning(name, raw[name], cloud) for name in TURNING}
        wanted = {**raw, **{name: at for name in DRAWN if (at := turned[name]) is not None}}
        points, left_out = {}, {}
        for name in LANDMARKS:
            point = self._on_the_scan(name, wanted[name])
            if point is None:
                left_out[name] = "the scan ends before it"
            else:
                points[name] = frozen(point, np.float64)
        confidence = {name: self._confidence(name, points, raw[name], turned.get(name)) for name in points}
        rivals = [each.misfit_mm for each in found[1:2]]
        return Proposal(points, confidence, left_out, self.pose, found[0].misfit_mm, *rivals)

    def _turning(self, name: str, near_mm: FloatArray, cloud: FloatArray) -> FloatArray | None:
        direction, reach_mm = TURNING[name]
        unit = np.array(direction) / np.linalg.norm(direction)
        found = turning_point(cloud, near_mm, self.pose.turn(unit), reach_mm * self.pose.scale)
        if found is None or np.linalg.norm(found - near_mm) > MOST_DRAWN_MM:
            return None
        return found

    def _on_the_scan(self, name: str, point_mm: FloatArray) -> FloatArray | None:
        if name in self.eyeballs:
            ball = self.eyeballs[name]
            return np.asarray(ball[int(np.argmax(ball @ self.pose.turn([0.0, -1.0, 0.0])))])
        near = self.scan.closest(point_mm[None])
        far_mm = float(near.distance_mm[0])
        if near.feature[0] == OPEN_BORDER and far_mm > LOST_MM and not name.startswith("pupil"):
            return None
        if name.startswith("pupil") and (near.feature[0] == OPEN_BORDER or far_mm > LOST_MM):
            return point_mm
        return np.asarray(near.point[0])

    def _confidence(
        self, name: str, points: Mapping[str, FloatArray], raw_mm: FloatArray, turned_mm: FloatArray | None
    ) -> Confidence:
        number = self.template.names.index(name)
        if name in self.eyeballs:
            return Confidence(name)
        spread_mm = float(np.linalg.norm(self.second.carried_mm[number] - self.first.carried_mm[number]))
        shape_mm = 0.0 if turned_mm is None else float(np.linalg.norm(turned_mm - raw_mm))
        open_mm = float(np.linalg.norm(self.template.points_mm[number] - head_template().points_mm[number]))
        return Confidence(name, self._gap_mm(number), spread_mm, self._sides_mm(name, points), shape_mm, open_mm, self.laying.misfit_mm)

    def _gap_mm(self, number: int) -> float:
        """Return the mean gap of the skin around a landmark; the whole reach where the scan has none there."""
        vertices = self.template.surface.vertices_mm
        beside = np.linalg.norm(vertices - self.template.points_mm[number], axis=1) < BESIDE_MM
        gap_mm = self.first.gap_mm[beside]
        seen = np.isfinite(gap_mm)
        return float(gap_mm[seen].mean()) if seen.any() else BESIDE_MM

    def _sides_mm(self, name: str, points: Mapping[str, FloatArray]) -> float:
        """Return how unlike its mirror image a point lies, on the template's own axes, scale taken out."""
        side, other = ("_left", "_right") if name.endswith("_left") else ("_right", "_left")
        opposite = points.get(name.removesuffix(side) + other if name.endswith(side) else name)
        if opposite is None:
            return 0.0
        here, there = self.pose.inverse.apply(np.stack([points[name], opposite]))
        return float(np.linalg.norm(here - there * [-1.0, 1.0, 1.0])) * self.pose.scale
