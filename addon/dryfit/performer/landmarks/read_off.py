"""Landmarks read off two bent templates: put on the scan, drawn to its own shape, and what speaks against each."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ...geometry import Surface
from ...geometry.rigid import fit_rigid
from ...geometry.rows import row_norms
from ...geometry.similarity import Similarity
from ...geometry.smooth_fit import Bent
from ...geometry.surface import OPEN_BORDER
from ...geometry.surface_fit import surface_cloud
from ...geometry.turning_point import turning_point
from ...model.arrays import FloatArray, frozen
from ...model.finding import Severity
from ...model.snapshot import LANDMARKS
from .confidence import Confidence
from .doubt import Doubt
from .laying import Laying
from .template import HeadTemplate, head_template
from .template_jaw import template_jaw

BESIDE_MM = 12.0
"""Skin this near a landmark tells how well the template follows there."""
LOST_MM = 6.0
"""A point that lies this far beyond the scan's border is not on the scan."""
TURNING = {"sellion": ((0.0, -1.0, 0.0), 14.0), "gnathion": ((0.0, -0.5, -0.87), 14.0)}
"""Landmark -> direction on the template along which the skin turns there, and how far around it is looked, mm."""
MOST_DRAWN_MM = 4.0
CLOUD_POINTS = 60000
LOOSE = ("vertex_top", "opisthocranion", "gnathion", "labiale_inferius", "stomion_inferius")
"""The middle plane is read without these: the skull's have no edge, and a jaw may stand to one side."""
MOST_UNEVEN_MM = 4.0
"""Sides more unlike than this are left as they were found."""
MARGINS = ("stomion_superius", "stomion_inferius")
MOST_OFF_MARGIN_MM = 8.0
"""An edge of a lip seen further than this from where the bent template has it speaks against both."""
MIRROR = np.array([-1.0, 1.0, 1.0])
HIDDEN_SHARE = 0.3
"""Landmarks that take more than this share of the jaw's turn are wrong where a mouth is open unseen."""


def opposite(name: str) -> str:
    """Return the name of the landmark on the other side; one of the middle is its own."""
    if name.endswith("_left"):
        return name.removesuffix("left") + "right"
    return name.removesuffix("right") + "left" if name.endswith("_right") else name


@dataclass(frozen=True)
class Reading:
    """Two fits of the template on a scan.

    Attributes
    ----------
    scan
        The head or face.
    laying
        How the template was laid before it was bent.
    first, second
        Its two bends; the second from another start and stiffer.
    eyeballs
        ``pupil_left`` and ``pupil_right`` -> vertices ``(n, 3)`` of the eye, mm.
    """

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

    @cached_property
    def carried(self) -> dict[str, FloatArray]:
        """Where the first bend carries each landmark."""
        return dict(zip(self.template.names, self.first.carried_mm, strict=True))

    @cached_property
    def shapes(self) -> dict[str, FloatArray]:
        """Where the scan's own hollows, tips and edges of lips are, for the landmarks that have one to look for."""
        cloud = surface_cloud(self.scan, CLOUD_POINTS).points_mm
        turned = {name: self._turning(name, cloud) for name in TURNING}
        found = {name: point for name, point in turned.items() if point is not None}
        return {**found, **self.laying.seen}

    def _turning(self, name: str, cloud: FloatArray) -> FloatArray | None:
        direction, reach_mm = TURNING[name]
        unit = np.array(direction) / np.linalg.norm(direction)
        near_mm = self.carried[name]
        found = turning_point(cloud, near_mm, self.pose.turn(unit), reach_mm * self.pose.scale)
        return None if found is None or np.linalg.norm(found - near_mm) > MOST_DRAWN_MM else found

    def points(self) -> tuple[dict[str, FloatArray], dict[str, str]]:
        """Return every landmark that the scan holds, and why the others are left out."""
        wanted = {**self.carried, **dict(self._evened()), **dict(self._drawn())}
        points, left_out = {}, {}
        for name in LANDMARKS:
            point = self._on_the_scan(name, wanted[name])
            if point is None:
                left_out[name] = "the scan ends before it"
            else:
                points[name] = frozen(point, np.float64)
        return points, left_out

    def _drawn(self) -> Iterator[tuple[str, FloatArray]]:
        """Yield what is drawn to the scan's own shape: edges and corners of lips wholly, hollows and tips by half."""
        for name, shape_mm in self.shapes.items():
            if name in TURNING:
                yield name, 0.5 * (self.carried[name] + shape_mm)
            elif np.linalg.norm(self.carried[name] - shape_mm) <= MOST_OFF_MARGIN_MM:
                yield name, shape_mm

    def _evened(self) -> Iterator[tuple[str, FloatArray]]:
        """Yield landmarks with a side as both sides' fits put them together: their mean over the plane of the fit.

        The plane is that of the rigid motion from the mirrored landmarks, sides exchanged, to the landmarks.
        """
        names = self.template.names
        here = self.pose.inverse.apply(self.first.carried_mm)
        there = here[[names.index(opposite(name)) for name in names]] * MIRROR
        firm = [number for number, name in enumerate(names) if name not in LOOSE]
        there = fit_rigid(there[firm], here[firm]).apply(there)
        uneven_mm = row_norms(here - there) * self.pose.scale
        for number, name in enumerate(names):
            if opposite(name) != name and uneven_mm[number] <= MOST_UNEVEN_MM:
                yield name, self.pose.apply(0.5 * (here[number] + there[number]))

    def _on_the_scan(self, name: str, point_mm: FloatArray) -> FloatArray | None:
        if name in self.eyeballs:
            ball = self.eyeballs[name]
            middle = ball.mean(axis=0)
            return np.asarray(ball[int(np.argmax((ball - middle) @ (point_mm - middle)))])
        near = self.scan.closest(point_mm[None])
        far_mm = float(near.distance_mm[0])
        if near.feature[0] == OPEN_BORDER and far_mm > LOST_MM and not name.startswith("pupil"):
            return None
        if name.startswith("pupil") and (near.feature[0] == OPEN_BORDER or far_mm > LOST_MM):
            return point_mm
        return np.asarray(near.point[0])

    def doubts(self) -> Iterator[Doubt]:
        """Yield what in the fit itself speaks against landmarks: a mouth open unseen, edges of lips elsewhere."""
        hidden_mm = self.laying.hidden_open_mm
        if hidden_mm:
            moved = template_jaw().marks > HIDDEN_SHARE
            names = tuple(name for name, flag in zip(self.template.names, moved, strict=True) if flag)
            yield Doubt(
                Severity.REVIEW, names,
                f"The lower face fits a mouth that is about {hidden_mm:.0f} mm open, and no opening is seen between "
                "the lips.",
                self.carried["gnathion"], hidden_mm, 0.0, "look at the lips and the chin",
            )  # fmt: skip
        for name, seen_mm in self.laying.seen.items():
            off_mm = float(np.linalg.norm(seen_mm - self.carried[name]))
            if off_mm > MOST_OFF_MARGIN_MM:
                yield Doubt(
                    Severity.REVIEW, tuple(self.laying.seen),
                    f"The edge of the lip is seen {off_mm:.0f} mm from where the fitted head has {name}.",
                    self.carried[name], off_mm, MOST_OFF_MARGIN_MM, "look at the lips and the chin",
                )  # fmt: skip

    def confidence(self, points: Mapping[str, FloatArray], doubted_mm: Mapping[str, float]) -> dict[str, Confidence]:
        """Return what speaks against each of the points, doubts about them included."""
        return {name: self._confidence(name, points, doubted_mm.get(name, 0.0)) for name in points}

    def _confidence(self, name: str, points: Mapping[str, FloatArray], doubted_mm: float) -> Confidence:
        number = self.template.names.index(name)
        apart_mm = self.second.carried_mm[number] - self.first.carried_mm[number]
        opened_mm = self.template.points_mm[number] - head_template().points_mm[number]
        return Confidence(
            name,
            gap_mm=self._gap_mm(number),
            spread_mm=float(np.linalg.norm(apart_mm)),
            sides_mm=self._sides_mm(name, points),
            opened_mm=self.pose.scale * float(np.linalg.norm(opened_mm)),
            doubted_mm=doubted_mm,
        )

    def _gap_mm(self, number: int) -> float:
        """Return the mean gap of the skin around a landmark; the whole reach where the scan has none there."""
        vertices = self.template.surface.vertices_mm
        beside = row_norms(vertices - self.template.points_mm[number]) < BESIDE_MM
        gap_mm = self.first.gap_mm[beside]
        seen = np.isfinite(gap_mm)
        return float(gap_mm[seen].mean()) if seen.any() else BESIDE_MM

    def _sides_mm(self, name: str, points: Mapping[str, FloatArray]) -> float:
        """Return how unlike its mirror image a point was found, on the template's own axes, mm."""
        other = opposite(name)
        if other not in points:
            return 0.0
        here, there = self.pose.inverse.apply(np.stack([self.carried[name], self.carried[other]]))
        return float(np.linalg.norm(here - there * MIRROR)) * self.pose.scale
