"""Two revisions photographed from the same places, and each painted with how far it stands from the other."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..model.arrays import FloatArray
from ..model.finding import Field, Finding, Place, Severity
from ..model.progress import Job, Progress
from ..model.version import VERSION
from ..report.pictures.stage import Posed
from ..report.pictures.standpoints import close_view
from ..report.pictures.studio import Labelled, Picture, Setting, Studio
from ..report.pictures.viewpoint import Viewpoint
from .comparison import Comparison
from .design_change import ChangedPlace, DesignChange, GroupChange

VIEWS_SHOWN = 3
"""Front and both three-quarter views."""
FULL_SCALE_MM = 5.0
"""Changes up to this are painted to their full size; beyond it the colour scale ends early, so that small ones show."""
STEPS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
CLOSE_EXTENT_MM = 30.0


@dataclass(frozen=True)
class ViewPictures:
    """One view: both revisions as they look, and both painted with the change."""

    words: str
    older: Picture
    newer: Picture
    older_painted: Picture
    newer_painted: Picture

    def all(self) -> tuple[Picture, ...]:
        """Return the four pictures."""
        return self.older, self.newer, self.older_painted, self.newer_painted


def difference_pictures(comparison: Comparison) -> Job[tuple[ViewPictures, ...]]:
    """Photograph both revisions of a comparison from the same places; none without surfaces.

    Yields
    ------
    Progress
        After each view.

    Raises
    ------
    ImportError
        Without Pillow.
    """
    if comparison.fittings is None or comparison.shape is None:
        return ()
    older, newer = (Studio(fitting.snapshot, _at_rest, f"dryfit {VERSION}") for fitting in comparison.fittings)
    shape, taken = comparison.shape, []
    views = shared_views(older, newer, shape)
    for done, view in enumerate(views):
        yield Progress(done, len(views), f"pictures of both: {view.words}")
        taken.append(_view_pictures(older, newer, shape, view))
    return tuple(taken)


def _at_rest(motion: str, t: float) -> Posed:
    return {}


def shared_views(older: Studio, newer: Studio, shape: DesignChange) -> list[Viewpoint]:
    """Return where both are photographed from: round the head, and close to the largest change.

    The views hold whichever of the two is larger, so that each picture of one covers the same place of the other.
    """
    wider = max(older, newer, key=lambda studio: studio.portraits[0].height_mm)
    views = wider.portraits[:VIEWS_SHOWN]
    if shape.places:
        worst = shape.places[0]
        stage = (older if worst.gone else newer).stage(Setting())
        views = [*views, close_view(stage, np.array(worst.at_mm), CLOSE_EXTENT_MM, wider.frame)]
        views[-1] = replace(views[-1], words="close to the largest change")
    return views


def _view_pictures(older: Studio, newer: Studio, shape: DesignChange, view: Viewpoint) -> ViewPictures:
    size_mm = scale_mm(shape)
    findings = [(f"{rank}", _finding(place)) for rank, place in enumerate(shape.places, 1)]
    taken = []
    for name, studio, gone in (("older", older, True), ("newer", newer, False)):
        marked = [entry for entry, place in zip(findings, shape.places, strict=True) if place.gone == gone]
        taken.append(studio.plain(f"{name}-{view.name}", "", Setting(), view)())
        fields = change_fields(shape.groups, gone, size_mm, shape.within_mm)
        taken.append(_painted(studio, f"{name}-{view.name}-difference", view, fields, marked))
    plain_older, painted_older, plain_newer, painted_newer = taken
    return ViewPictures(view.words, plain_older, plain_newer, painted_older, painted_newer)


def _painted(studio: Studio, name: str, view: Viewpoint, fields: Sequence[Field], marked: Labelled) -> Picture:
    shown_through = tuple(field.part for field in fields)
    return studio.painted(name, "", Setting(shown_through=shown_through), view, fields, marked)()


def scale_mm(shape: DesignChange) -> float:
    """Return the change at the ends of the colour scale: a round figure, at least twice the allowance."""
    largest_mm = max(shape.max_mm, 2.0 * shape.within_mm)
    if largest_mm > FULL_SCALE_MM:
        bulk_mm = max((group.change.percentile_mm(99.0) for group in shape.groups), default=0.0)
        largest_mm = max(FULL_SCALE_MM, bulk_mm)
    power = 10.0 ** math.floor(math.log10(largest_mm))
    return next(step * power for step in STEPS if step * power >= largest_mm * (1.0 - 1e-9))


def change_fields(groups: Sequence[GroupChange], gone: bool, size_mm: float, within_mm: float) -> list[Field]:
    """Return the change to be painted on every part of the older (``gone``) or the newer design."""
    return [
        Field("change", name, values_mm, "mm", _label(gone, size_mm, groups), -size_mm, size_mm, within_mm, True)
        for name, values_mm in _part_values(groups, gone)
    ]


def _part_values(groups: Sequence[GroupChange], gone: bool) -> Iterator[tuple[str, FloatArray]]:
    for group in groups:
        own, side = (group.older, group.change.older) if gone else (group.newer, group.change.newer)
        for part, values_mm in own.own(side.at_vertices_mm):
            yield part.name, values_mm


def _label(gone: bool, size_mm: float, groups: Sequence[GroupChange]) -> str:
    which = "The approved design" if gone else "The newer design"
    words = f"{which}: blue where the newer one stands out, orange where it lies deeper"
    beyond = max((group.change.max_mm for group in groups), default=0.0) > size_mm
    return f"{words} (colours end at {size_mm:g} mm)" if beyond else words


def _finding(place: ChangedPlace) -> Finding:
    return Finding(
        severity=Severity.INFO,
        message="",
        place=Place(place.part, place.at_mm, place.region),
        value=place.change_mm,
    )
