"""A set of landmarks held against the template's, its jaw as far open as theirs."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np

from ...geometry.rows import row_norms
from ...geometry.similarity import Similarity, fit_similarity
from ...geometry.trimmed_fit import agreeing, agreeing_from
from ...model.arrays import FloatArray
from .template import head_template
from .template_jaw import template_jaw

KEEP = 0.7
"""Share of a set of landmarks that agrees with the template's, the better one."""
SCALES = (0.6, 1.6)
MIRROR = np.array([-1.0, 1.0, 1.0])
STILL_SHARE = 0.02
FEWEST_STILL = 5
ANGLES_DEG = tuple(float(angle) for angle in range(0, 39, 2))
"""Openings tried: a jaw opens by up to about 35 degrees (Leader et al. 2003: 34.1 on average, as wide as it goes)."""
SLIDES = (0.0, 0.5, 1.0)
CAP_MM = 20.0


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
    angle_deg
        How far open the jaw of the template had to be.
    """

    names: tuple[str, ...]
    given_mm: FloatArray
    pose: Similarity
    away_mm: FloatArray
    angle_deg: float

    @classmethod
    def of(cls, landmarks: Mapping[str, FloatArray], mirrored: bool = False) -> "Likeness":
        """Lay the template's landmarks, or their mirror image, on the given ones."""
        names = tuple(name for name in head_template().names if name in landmarks)
        given = np.stack([landmarks[name] for name in names])
        side = MIRROR if mirrored else np.ones(3)
        pose = _still_pose(names, given, side)
        _, angle_deg, slide = min(
            (_lower_misfit_mm(names, given, pose, side, angle, slide), angle, slide)
            for angle in ANGLES_DEG
            for slide in (SLIDES if angle else SLIDES[:1])
        )
        wanted = _wanted(names, angle_deg, slide) * side
        near = row_norms(pose.apply(wanted) - given)
        start = near <= np.quantile(near, KEEP)
        pose = agreeing_from(partial(fit_similarity, scale_range=SCALES), wanted, given, start, KEEP).motion
        return cls(names, given, pose, (given - pose.apply(wanted)) @ pose.rotation, angle_deg)

    @property
    def distance_mm(self) -> FloatArray:
        """``(k,)`` how far each lies from where the others put it."""
        return np.asarray(row_norms(self.away_mm))

    @property
    def usual_mm(self) -> float:
        """The median of these distances."""
        return float(np.median(self.distance_mm))


def _wanted(names: tuple[str, ...], angle_deg: float, slide: float) -> FloatArray:
    """Return the template's landmarks of these names with its jaw open, ``(k, 3)``."""
    template = head_template()
    places = template_jaw().marks_at(angle_deg, slide) if angle_deg else template.points_mm
    return np.asarray(places[[template.names.index(name) for name in names]])


def _still_pose(names: tuple[str, ...], given: FloatArray, side: FloatArray) -> Similarity:
    """Return the pose of the landmarks that no jaw moves; of all, where those are too few."""
    shares = template_jaw().marks[[head_template().names.index(name) for name in names]]
    still = shares < STILL_SHARE
    still = still if still.sum() >= FEWEST_STILL else np.ones(len(names), bool)
    wanted = _wanted(names, 0.0, 0.0) * side
    return agreeing(partial(fit_similarity, scale_range=SCALES), wanted[still], given[still], KEEP).motion


def _lower_misfit_mm(
    names: tuple[str, ...], given: FloatArray, pose: Similarity, side: FloatArray, angle_deg: float, slide: float
) -> float:
    far_mm = row_norms(pose.apply(_wanted(names, angle_deg, slide) * side) - given)
    return float(np.minimum(far_mm, CAP_MM).sum())
