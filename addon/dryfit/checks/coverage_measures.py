"""The figures of what shows: worst view, each view, each tooth, and each further pose."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ..model.arrays import FloatArray
from ..model.finding import Curve
from ..model.snapshot import Role
from .coverage_display import Display
from .coverage_findings import front_mm
from .display_norms import age_that_shows
from .exposure import Exposure
from .views import ViewPoint

QUADRANTS = ((1, -1), (2, 1), (4, -1), (3, 1))
"""ISO 3950 quadrants as they lie from the performer's right to the left, upper row first, and which way they count."""


def measures(
    design: Display, bare: Display, further: Sequence[Display], views: Sequence[ViewPoint]
) -> dict[str, float | str]:
    """Return the figures of the check: the worst view, then each view, each marked tooth and each further pose."""
    figures = _at_pose(design, views, "")
    figures |= {
        "bare_exposed_area_mm2": float(bare.area_mm2.max()),
        "bare_display_height_mm": float(bare.height_mm.max()),
        "worst_view": views[int(design.area_mm2.argmax())].name,
    }
    for row in design.rows:
        figures.update(_age(row, views))
        figures.update(_tooth_measures(row))
    for display in further:
        figures |= _at_pose(display, views, f"_in_{display.pose.name}")
    return figures


def _at_pose(display: Display, views: Sequence[ViewPoint], ending: str) -> dict[str, float | str]:
    worst = int(display.area_mm2.argmax())
    figures: dict[str, float | str] = {
        f"exposed_area_mm2{ending}": float(display.area_mm2[worst]),
        f"exposed_fraction{ending}": float(display.area_mm2[worst]) / display.whole_mm2,
        f"display_height_mm{ending}": float(display.height_mm.max()),
    }
    for place, view in enumerate(views):
        figures[f"exposed_area_mm2{ending}_view_{view.name}"] = float(display.area_mm2[place])
        figures[f"exposed_fraction{ending}_view_{view.name}"] = float(display.area_mm2[place]) / display.whole_mm2
        figures[f"display_height_mm{ending}_view_{view.name}"] = float(display.height_mm[place])
    return figures


def _tooth_measures(row: Exposure) -> Iterator[tuple[str, float]]:
    whole = np.bincount(row.teeth.tooth, weights=row.teeth.samples.area_mm2, minlength=len(row.teeth.names))
    area_mm2 = row.area_mm2.max(axis=0)
    for place, label in enumerate(row.teeth.labels):
        if label:
            yield f"exposed_area_mm2_{label}", float(area_mm2[place])
            yield f"exposed_fraction_{label}", float(area_mm2[place]) / max(float(whole[place]), 1e-12)
            yield f"display_height_mm_{label}", float(row.height_mm[:, place].max())


def _age(row: Exposure, views: Sequence[ViewPoint]) -> Iterator[tuple[str, float | str]]:
    """Yield what the central incisors of a row show from the front, and the age that shows as much on average."""
    shown = [front_mm(row, tooth, views) for tooth in range(len(row.teeth.names))]
    tallest_mm = max((height for height in shown if height is not None), default=None)
    if tallest_mm is not None:
        upper = row.teeth.part.role == Role.UPPER_TEETH
        name = "upper" if upper else "lower"
        yield f"central_display_mm_{name}", tallest_mm
        yield f"shown_on_average_at_{name}", age_that_shows(tallest_mm, upper)


def curves(design: Display, further: Sequence[Display], views: Sequence[ViewPoint]) -> dict[str, Curve]:
    """Return how much of each marked tooth shows: from each view with the jaw closed, and at the end of each motion.

    Rows of which nothing shows are left out.
    """
    found: dict[str, Curve] = {}
    for number, row in enumerate(design.rows):
        order = arch_order(row.teeth.labels)
        side = "upper" if row.teeth.part.role == Role.UPPER_TEETH else "lower"
        for place, view in enumerate(views):
            _add(found, f"{side}_display_by_tooth_{view.name}", row, row.height_mm[place, order], order)
        for display in further:
            highest = display.rows[number].height_mm.max(axis=0)[order]
            _add(found, f"{side}_display_in_motion_by_tooth_{display.pose.name}", row, highest, order)
    return found


def _add(found: dict[str, Curve], name: str, row: Exposure, height_mm: FloatArray, order: Sequence[int]) -> None:
    if len(order) < 2 or not height_mm.any():
        return
    numbers = ", ".join(row.teeth.labels[tooth].removeprefix("tooth_") for tooth in order)
    places = tuple(float(place) for place in range(1, len(order) + 1))
    label = f"tooth, from the performer's right: {numbers}"
    found[name] = Curve(places, tuple(height_mm.tolist()), label, "height that shows, mm")


def arch_order(labels: Sequence[str]) -> list[int]:
    """Return the places of marked teeth along their arch, from the performer's right to the left."""
    sides = {quadrant: (rank, way) for rank, (quadrant, way) in enumerate(QUADRANTS)}

    def along(place: int) -> tuple[int, int]:
        quadrant, position = divmod(int(labels[place].removeprefix("tooth_")), 10)
        rank, way = sides.get(quadrant, (len(sides), 1))
        return rank, way * position

    return sorted((place for place, label in enumerate(labels) if label), key=along)
