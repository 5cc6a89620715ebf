"""The template laid on a scan: feature on feature, with its mouth as far open as the scan's."""

from dataclasses import dataclass

import numpy as np

from ...geometry import Surface
from ...geometry.coarse import coarse_surface
from ...geometry.facing_fit import faced_alike, near_cloud
from ...geometry.similarity import Similarity
from ...geometry.surface_fit import Cloud, SurfaceFit, surface_cloud
from .mouth_aperture import MouthAperture, mouth_aperture
from .template import HeadTemplate, head_template
from .template_jaw import TemplateJaw, template_jaw

SHUT_MM = 2.0
"""Lips less far apart than this are laid as shut: bending bridges it."""
SLIDES = (0.0, 0.25, 0.5, 0.75, 1.0)
ANGLES_DEG = (8.0, 16.0, 24.0, 32.0)
HIDDEN_SHARE = 0.55
"""With no opening seen, a lower face that fits this much better with an open jaw speaks for a mouth that is open and
filled (by a membrane of the scan, or by what is in it)."""
SMOOTH_MM = 2.5
"""Directions are read from the scan this coarse, so that noise does not turn them."""
FACE_POINTS, SCAN_POINTS, FACE_RADIUS_MM = 500, 9000, 110.0
STARTS_MM = (0.0, -14.0, 14.0)
"""Where along the face the features are looked for: a lip away from where its distance alone puts the face."""
FEW_ROUNDS, MANY_ROUNDS = 6, 15
MISFIT_POINTS = 300


@dataclass(frozen=True)
class Laying:
    """A template on a scan.

    Attributes
    ----------
    template
        The template with its mouth open as it was laid.
    pose
        Where it lies.
    aperture
        The opening of the scan's mouth, None where none is seen.
    angle_deg
        How far the template's jaw is open.
    misfit_mm
        How far it stays off, in place and direction.
    hidden_open_mm
        How far the lips would be apart if the mouth were open though no opening is seen; 0 where nothing says so.
    """

    template: HeadTemplate
    pose: Similarity
    aperture: MouthAperture | None
    angle_deg: float
    misfit_mm: float
    hidden_open_mm: float = 0.0


def laid_with_mouth(scan: Surface, pose: Similarity) -> Laying:
    """Lay the template feature on feature from a pose that fits about, its mouth open as far as the scan's."""
    template, jaw = head_template(), template_jaw()
    smooth = surface_cloud(coarse_surface(scan, SMOOTH_MM), SCAN_POINTS)
    pose, misfit_mm = feature_on_feature(template, smooth, pose)
    aperture = mouth_aperture(scan, pose)
    if aperture is None or aperture.open_mm < SHUT_MM:
        return Laying(template, pose, aperture, 0.0, misfit_mm, hidden_open_mm(scan, pose, jaw))
    tried = []
    for slide in SLIDES:
        angle_deg = jaw.angle_deg(aperture.open_mm / pose.scale, slide)
        opened = jaw.opened(angle_deg, slide)
        tried.append((lower_misfit_mm(opened, scan, pose, jaw), angle_deg, slide))
    _, angle_deg, slide = min(tried)
    opened = jaw.opened(angle_deg, slide)
    pose, misfit_mm = _faced(opened, smooth, pose, MANY_ROUNDS)
    return Laying(opened, pose, aperture, angle_deg, misfit_mm)


def feature_on_feature(template: HeadTemplate, smooth: Cloud, pose: Similarity) -> tuple[Similarity, float]:
    """Return the pose that lays features on features, looked for a little up and down the face too, and its misfit."""
    tried = [_faced(template, smooth, _moved_up(pose, up_mm), FEW_ROUNDS) for up_mm in STARTS_MM]
    best = min(tried, key=lambda each: each[1])[0]
    return _faced(template, smooth, best, MANY_ROUNDS)


def _faced(template: HeadTemplate, smooth: Cloud, pose: Similarity, rounds: int) -> tuple[Similarity, float]:
    mine = surface_cloud(template.surface, FACE_POINTS, template.face)
    theirs = near_cloud(smooth, pose.apply(mine.points_mm.mean(axis=0)), FACE_RADIUS_MM * pose.scale)
    return faced_alike(pose, mine, theirs, rounds)


def _moved_up(pose: Similarity, up_mm: float) -> Similarity:
    return Similarity(pose.scale, pose.rotation, pose.shift_mm + up_mm * pose.turn([0.0, 0.0, 1.0]))


def lower_misfit_mm(opened: HeadTemplate, scan: Surface, pose: Similarity, jaw: TemplateJaw) -> float:
    """Return how far the lower face of the template is from the scan, mm."""
    return SurfaceFit(opened.surface, scan, jaw.lower_face).misfit_mm(pose, MISFIT_POINTS)


def hidden_open_mm(scan: Surface, pose: Similarity, jaw: TemplateJaw) -> float:
    """Return how far the lips are apart in the jaw's pose that fits far better than shut, 0 where none does."""
    shut_mm = lower_misfit_mm(jaw.shut, scan, pose, jaw)
    rivals = [(lower_misfit_mm(jaw.opened(angle, slide), scan, pose, jaw), angle, slide)
              for angle in ANGLES_DEG for slide in (0.0, 0.5, 1.0)]  # fmt: skip
    best_mm, angle_deg, slide = min(rivals)
    if best_mm > HIDDEN_SHARE * shut_mm:
        return 0.0
    opened = jaw.opened(angle_deg, slide)
    return pose.scale * float(np.linalg.norm(opened.point_mm("stomion_superius") - opened.point_mm("stomion_inferius")))
