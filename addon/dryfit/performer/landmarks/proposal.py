"""Landmarks for a head that has none: a template with landmarks is laid on the scan, bent to it, and read off.

Similarity from many starts, feature on feature, with the mouth as far open as the scan's; then a smooth bend, then the
scan's own hollows and edges; then the points are held against each other. A proposal is a start for the eye, never a
measurement: whoever knows the performer confirms or drags each point.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from ...geometry import Surface
from ...geometry.rigid import rotation_matrix
from ...geometry.similarity import Similarity
from ...geometry.smooth_fit import REACHES_MM, Bent, Pinned, SmoothFit
from ...geometry.surface_fit import Laid, best_poses
from ...model.arrays import FloatArray
from ...model.errors import DryfitError
from ...model.finding import Severity
from ...model.progress import Job, Progress
from ...model.snapshot import Role, Snapshot
from .confidence import Confidence
from .doubt import Doubt
from .laying import Laying, laid_with_mouth
from .mouth_aperture import MouthAperture
from .read_off import MARGINS, Reading
from .sense import landmark_doubts
from .template import MOST_MISFIT_MM, HeadTemplate, head_template

CLEAR_LEAD = 1.3
STIFFER_MM = (50.0, 30.0, 18.0, 10.0)
NUDGE_DEG, NUDGE_SCALE = 4.0, 1.03
LEAST_DOUBT_MM = 10.0
"""A point that others contradict is off by at least so much, as far as anyone knows."""


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
    doubts
        What contradicts some of the points: the fit, the scan's mouth, or the other points.
    aperture
        The opening of the scan's mouth, None where none was seen.
    """

    points_mm: Mapping[str, FloatArray]
    confidence: Mapping[str, Confidence]
    left_out: Mapping[str, str] = field(default_factory=dict)
    pose: Similarity = field(default_factory=lambda: Similarity(1.0, np.eye(3), np.zeros(3)))
    misfit_mm: float = 0.0
    next_misfit_mm: float = float("inf")
    doubts: tuple[Doubt, ...] = ()
    aperture: MouthAperture | None = None

    @property
    def bound_mm(self) -> dict[str, float]:
        """How far each point may be off: nine of ten lie within. The hinge's axis is as unsure as the tragions."""
        return {name: trust.bound_mm for name, trust in self.confidence.items()}

    @property
    def open_mm(self) -> float:
        """How far the mouth was found open, mm; 0 where its lips meet."""
        return self.aperture.open_mm if self.aperture else 0.0

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
    proposal = _read(Reading(scan, laying, first, second, eyeballs or {}), found)
    yield Progress(4, 4, "landmarks proposed")
    return proposal


def _read(reading: Reading, found: list[Laid]) -> Proposal:
    """Return the proposal; points that contradict the fit or each other are doubted."""
    points, left_out = reading.points()
    others = [doubt for doubt in landmark_doubts(points, reading.scan) if doubt.severity is not Severity.INFO]
    doubts = (*reading.doubts(), *others)
    doubted_mm: dict[str, float] = {}
    for doubt in doubts:
        for name in doubt.names:
            doubted_mm[name] = max(doubted_mm.get(name, LEAST_DOUBT_MM), doubt.value_mm)
    rivals = [each.misfit_mm for each in found[1:2]]
    return Proposal(
        points_mm=points,
        confidence=reading.confidence(points, doubted_mm),
        left_out=left_out,
        pose=reading.pose,
        misfit_mm=found[0].misfit_mm,
        next_misfit_mm=rivals[0] if rivals else float("inf"),
        doubts=doubts,
        aperture=reading.laying.aperture,
    )


def followed(laying: Laying, scan: Surface, pose: Similarity, reaches_mm: tuple[float, ...] = REACHES_MM) -> Bent:
    """Return the template bent to a scan from a pose, its landmarks carried along; seen edges of lips are pinned."""
    template = laying.template
    fit = SmoothFit(template.surface, scan, template.face, pose)
    pinned = Pinned.nothing()
    if laying.aperture:
        numbers = [template.names.index(name) for name in MARGINS]
        pinned = Pinned(np.array(numbers), np.stack([laying.aperture.upper_mm, laying.aperture.lower_mm]))
    return fit.bend(pose.apply(template.points_mm), reaches_mm, pinned)


def _nudged(pose: Similarity, template: HeadTemplate) -> Similarity:
    """Return the pose nodded and enlarged a little, alike on both sides, its middle kept."""
    turn = pose.rotation @ rotation_matrix([np.radians(NUDGE_DEG), 0.0, 0.0])
    middle = template.points_mm.mean(axis=0)
    scale = NUDGE_SCALE * pose.scale
    return Similarity(scale, turn, pose.apply(middle) - scale * (turn @ middle))
