"""The template's lower jaw: how its mouth opens, so that it can be laid on a scan whose mouth is open."""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from ...geometry import Surface
from ...geometry.rows import dot_rows, row_any
from ...model.arrays import BoolArray, FloatArray
from ...model.brief import HingeBrief
from ..motion.hinge import Hinge, head_axes
from ..motion.jaw_field import Parting, jaw_field
from .template import HeadTemplate, head_template

WIDEST_DEG = 45.0
"""The template opens so far: 34 degrees and 21 mm of slide is a jaw wide open (Leader et al. 2003), and without the
slide lips as far apart take less."""
MOVED_SHARE = 0.02
"""Skin that takes more than this share of the turn is the lower face."""


@dataclass(frozen=True)
class TemplateJaw:
    """How every point of the template takes part when its mouth opens.

    Attributes
    ----------
    shut
        The template as it is.
    hinge
        The jaw's path; t = 1 is ``WIDEST_DEG`` with the whole published slide.
    skin, marks
        Shares of the turn of the vertices ``(n,)`` and of the landmarks ``(k,)``, 0 to 1.
    """

    shut: HeadTemplate
    hinge: Hinge
    skin: FloatArray
    marks: FloatArray

    @property
    def lower_face(self) -> BoolArray:
        """``(m,)`` the triangles of the face that the jaw moves."""
        return np.asarray(self.shut.face & row_any(self.skin[self.shut.surface.faces] > MOVED_SHARE))

    def opened(self, angle_deg: float, slide: float) -> HeadTemplate:
        """Return the template with its mouth open.

        Parameters
        ----------
        angle_deg
            The jaw's turn, 0 to ``WIDEST_DEG``.
        slide
            Share of the published forward slide that goes with it: 1 on a living jaw, 0 where a sculptor only
            turned it.
        """
        surface = self.shut.surface
        vertices = self._carried(surface.vertices_mm, self.skin, angle_deg, slide)
        points = self.marks_at(angle_deg, slide)
        return replace(self.shut, surface=Surface(vertices, surface.faces), points_mm=points)

    def marks_at(self, angle_deg: float, slide: float) -> FloatArray:
        """Return where the landmarks are with the mouth open so, ``(k, 3)``, mm."""
        return self._carried(self.shut.points_mm, self.marks, angle_deg, slide)

    def angle_deg(self, open_mm: float, slide: float) -> float:
        """Return the turn at which the margins of the lips are so far apart in height, 0 to ``WIDEST_DEG``."""
        margins = [self.shut.names.index(f"stomion_{which}") for which in ("superius", "inferius")]
        points, shares = self.shut.points_mm[margins], self.marks[margins]
        shut, wide = 0.0, WIDEST_DEG
        while wide - shut > 1e-3:
            middle = 0.5 * (shut + wide)
            upper, lower = self._carried(points, shares, middle, slide)
            shut, wide = (middle, wide) if upper[2] - lower[2] < open_mm else (shut, middle)
        return shut

    def _carried(self, points_mm: FloatArray, shares: FloatArray, angle_deg: float, slide: float) -> FloatArray:
        path = replace(self.hinge, slide_mm=slide * self.hinge.slide_mm)
        return path.carried(points_mm, shares, angle_deg / WIDEST_DEG)


@cache
def template_jaw() -> TemplateJaw:
    """Return the jaw of the template, by its own landmarks."""
    template = head_template()
    marks = dict(zip(template.names, template.points_mm, strict=True))
    hinge = Hinge.from_landmarks(marks, HingeBrief(open_deg=WIDEST_DEG))
    faces = np.asarray(template.surface.faces, dtype=np.int64)
    skin = jaw_field(template.surface.vertices_mm, faces, Parting.of(marks, head_axes(marks), hinge), hinge).weights
    near = template.surface.closest(template.points_mm)
    shares = dot_rows(near.barycentric, skin[template.surface.faces[near.face]])
    # shut lips touch, and the skin nearest to the upper one's margin may be the lower lip's
    shares[template.names.index("stomion_superius")] = 0.0
    return TemplateJaw(template, hinge, skin, shares)
