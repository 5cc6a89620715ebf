"""What of the teeth shows in one pose, with the design and past the bare base."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry.rows import row_highs, row_sums
from ...model.arrays import FloatArray
from ...model.snapshot import Role
from ...performer.views import ViewPoint, angle_name
from .exposure import Exposure
from .shown_poses import ShownPose


@dataclass(frozen=True)
class Display:
    """What of the teeth shows past one set of occluders.

    Attributes
    ----------
    rows
        One exposure for each row of teeth.
    """

    rows: tuple[Exposure, ...]

    @property
    def area_mm2(self) -> FloatArray:
        """Seen area from each view, ``(v,)``, mm2."""
        return np.asarray(np.sum([row_sums(row.area_mm2) for row in self.rows], axis=0))

    @property
    def height_mm(self) -> FloatArray:
        """Tallest display of any tooth from each view, ``(v,)``, mm."""
        return np.asarray(np.max([row_highs(row.height_mm) for row in self.rows], axis=0))

    @property
    def whole_mm2(self) -> float:
        """Area of all teeth, seen or not, mm2."""
        return float(sum(row.teeth.samples.area_mm2.sum() for row in self.rows))

    def height_of_mm(self, view: int, role: Role) -> float:
        """Return the tallest display of any tooth of one jaw from a view, mm; nan without such teeth."""
        rows = [row for row in self.rows if row.teeth.part.role == role]
        return max((float(row.height_mm[view].max()) for row in rows), default=float("nan"))


@dataclass(frozen=True)
class Look:
    """The teeth in one pose from every view.

    Attributes
    ----------
    pose, views
        When and from where.
    design, bare
        What shows past everything, and past the base and the teeth alone.
    """

    pose: ShownPose
    views: tuple[ViewPoint, ...]
    design: Display
    bare: Display

    @property
    def front(self) -> int | None:
        """The place of the view from the front; None where nobody looks from there."""
        return next((place for place, view in enumerate(self.views) if view.name == angle_name(0.0)), None)

    def measures(self) -> Iterator[tuple[str, float | str]]:
        """Yield the figures of this pose: the worst view, then each view, then each marked tooth."""
        design, bare = self.design, self.bare
        area_mm2, height_mm = design.area_mm2, design.height_mm
        worst = int(area_mm2.argmax())
        yield "exposed_area_mm2", float(area_mm2[worst])
        yield "exposed_fraction", float(area_mm2[worst]) / design.whole_mm2
        yield "display_height_mm", float(height_mm.max())
        yield "bare_exposed_area_mm2", float(bare.area_mm2.max())
        yield "bare_display_height_mm", float(bare.height_mm.max())
        yield "worst_view", self.views[worst].name
        for place, view in enumerate(self.views):
            yield f"exposed_area_mm2_view_{view.name}", float(area_mm2[place])
            yield f"exposed_fraction_view_{view.name}", float(area_mm2[place]) / design.whole_mm2
            yield f"display_height_mm_view_{view.name}", float(height_mm[place])
        for row in design.rows:
            yield from _tooth_measures(row)


def _tooth_measures(row: Exposure) -> Iterator[tuple[str, float]]:
    whole = np.bincount(row.teeth.tooth, weights=row.teeth.samples.area_mm2, minlength=len(row.teeth.names))
    area_mm2, height_mm = row.area_mm2.max(axis=0), row.height_mm.max(axis=0)
    for place, label in enumerate(row.teeth.labels):
        if label:
            yield f"exposed_area_mm2_{label}", float(area_mm2[place])
            yield f"exposed_fraction_{label}", float(area_mm2[place]) / max(float(whole[place]), 1e-12)
            yield f"display_height_mm_{label}", float(height_mm[place])
