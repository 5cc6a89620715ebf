"""The template laid on a scan: feature on feature, with its mouth as far open as the scan's."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from ...geometry import Surface
from ...geometry.coarse import coarse_surface
from ...geometry.facing_fit import faced_alike, facing_misfit_mm, near_cloud
from ...geometry.similarity import Similarity
from ...geometry.surface_fit import Cloud, surface_cloud
from ...model.arrays import FloatArray
from .mouth_aperture import MouthAperture, mouth_aperture, mouth_corners
from .template import HeadTemplate, head_template
from .template_jaw import template_jaw

SHUT_MM = 2.0
"""Lips less far apart than this are laid as shut: bending bridges it."""
LITTLE_MM = 6.0
"""Where so little or no opening is seen, an open jaw may still fit better: a mouth filled by what is in it, or by a
membrane of the scan."""
SLIDES = (0.0, 0.5, 1.0)
ANGLES_DEG = (5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0)
HIDDEN_SHARE = 0.94
"""Shut faces fit an open jaw worse by 2 to 34 %, filled open mouths better by 12 to 28 %: measured on twelve heads."""
LOWER_POINTS, LOWER_RADIUS_MM = 400, 80.0
LOWER_MM = ((-50.0, 50.0), (-200.0, -55.0), (-110.0, -25.0))
"""Left, back and up of the scan's lower face, in the template's axes."""
KEPT = 0.9
SMOOTH_MM = 2.5
"""Directions are read from the scan this coarse, so that noise does not turn them."""
FACE_POINTS, SCAN_POINTS, FACE_RADIUS_MM = 500, 9000, 110.0
STARTS_MM = (0.0, -14.0, 14.0)
"""Where along the face the features are looked for: a lip away from where its distance alone puts the face."""
FEW_ROUNDS, MANY_ROUNDS = 6, 15


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
    seen
        Landmark -> place ``(3,)`` seen on the scan itself: margins of the lips, and the corners of an open mouth.
    hidden_open_mm
        How far the lips would be apart if the mouth were open though no opening is seen; 0 where nothing says so.
    """

    template: HeadTemplate
    pose: Similarity
    aperture: MouthAperture | None
    seen: Mapping[str, FloatArray] = field(default_factory=dict)
    hidden_open_mm: float = 0.0


def laid_with_mouth(scan: Surface, pose: Similarity) -> Laying:
    """Lay the template feature on feature from a pose that fits about, its mouth open as far as the scan's."""
    smooth = surface_cloud(coarse_surface(scan, SMOOTH_MM), SCAN_POINTS)
    pose = feature_on_feature(head_template(), smooth, pose)
    aperture = mouth_aperture(scan, pose)
    seen_mm = aperture.open_mm if aperture else 0.0
    seen = _seen_open(seen_mm, smooth, pose)
    if seen_mm < LITTLE_MM:
        hidden = min(_tried(angle, slide, smooth, pose) for angle in ANGLES_DEG for slide in SLIDES)
        if hidden.misfit_mm < HIDDEN_SHARE * seen.misfit_mm:
            opened_mm = hidden.lips_mm * pose.scale
            return Laying(hidden.template, _followed(hidden, smooth, pose), None, hidden_open_mm=opened_mm)
    places = _seen_places(scan, pose, aperture) if aperture else {}
    return Laying(seen.template, _followed(seen, smooth, pose), aperture, places)


def _seen_places(scan: Surface, pose: Similarity, aperture: MouthAperture) -> dict[str, FloatArray]:
    margins = {"stomion_superius": aperture.upper_mm, "stomion_inferius": aperture.lower_mm}
    corners = mouth_corners(scan, pose) if aperture.open_mm >= LITTLE_MM else None
    return margins if corners is None else {**margins, "cheilion_left": corners[0], "cheilion_right": corners[1]}


@dataclass(frozen=True, order=True)
class OpenedTemplate:
    """The template with its jaw open so far, and how well its lower face fits: the best first."""

    misfit_mm: float
    angle_deg: float
    slide: float

    @property
    def template(self) -> HeadTemplate:
        """The template."""
        return template_jaw().opened(self.angle_deg, self.slide) if self.angle_deg else head_template()

    @property
    def lips_mm(self) -> float:
        """How far its lips are apart, in its own size."""
        upper, lower = (self.template.point_mm(f"stomion_{which}") for which in ("superius", "inferius"))
        return float(np.linalg.norm(upper - lower))


def _seen_open(open_mm: float, smooth: Cloud, pose: Similarity) -> OpenedTemplate:
    """Return the template with its lips apart as those of the scan, the slide as fits best."""
    if open_mm < SHUT_MM:
        return _tried(0.0, 0.0, smooth, pose)
    jaw = template_jaw()
    return min(_tried(jaw.angle_deg(open_mm / pose.scale, slide), slide, smooth, pose) for slide in SLIDES)


def _tried(angle_deg: float, slide: float, smooth: Cloud, pose: Similarity) -> OpenedTemplate:
    opened = OpenedTemplate(0.0, angle_deg, slide).template
    mine = surface_cloud(opened.surface, LOWER_POINTS, template_jaw().lower_face)
    theirs = near_cloud(smooth, pose.apply(mine.points_mm.mean(axis=0)), LOWER_RADIUS_MM * pose.scale)
    forth_mm, back_mm = facing_misfit_mm(pose, mine, theirs)
    places = pose.inverse.apply(theirs.points_mm)
    over = np.all([(low < axis) & (axis < high) for axis, (low, high) in zip(places.T, LOWER_MM, strict=True)], axis=0)
    return OpenedTemplate(_mean_mm(forth_mm) + (_mean_mm(back_mm[over]) if over.any() else 0.0), angle_deg, slide)


def _mean_mm(far_mm: FloatArray) -> float:
    """Return the mean of the nearer share."""
    return float(np.sort(far_mm)[: max(int(KEPT * len(far_mm)), 1)].mean())


def _followed(opened: OpenedTemplate, smooth: Cloud, pose: Similarity) -> Similarity:
    return _faced(opened.template, smooth, pose, MANY_ROUNDS)[0] if opened.angle_deg else pose


def feature_on_feature(template: HeadTemplate, smooth: Cloud, pose: Similarity) -> Similarity:
    """Return the pose that lays features on features, looked for a little up and down the face too."""
    tried = [_faced(template, smooth, _moved_up(pose, up_mm), FEW_ROUNDS) for up_mm in STARTS_MM]
    best = min(tried, key=lambda each: each[1])[0]
    return _faced(template, smooth, best, MANY_ROUNDS)[0]


def _faced(template: HeadTemplate, smooth: Cloud, pose: Similarity, rounds: int) -> tuple[Similarity, float]:
    mine = surface_cloud(template.surface, FACE_POINTS, template.face)
    theirs = near_cloud(smooth, pose.apply(mine.points_mm.mean(axis=0)), FACE_RADIUS_MM * pose.scale)
    return faced_alike(pose, mine, theirs, rounds)


def _moved_up(pose: Similarity, up_mm: float) -> Similarity:
    return Similarity(pose.scale, pose.rotation, pose.shift_mm + up_mm * pose.turn([0.0, 0.0, 1.0]))
