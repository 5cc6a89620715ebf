"""What changed between revisions of a design: is this still the one that was approved?"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any

from ..model.finding import Status
from ..model.measure_units import unit_of
from ..model.progress import Job, Progress
from ..performer.fitting import Fitting
from .design_change import DesignChange, design_change, laid_on
from .repeatability import repeatable_within
from .revision import Revision, read_revision

WITHIN_MM = 0.1
"""A skin that moved no further is the same one: the coarse end of what a print or scan repeats to, 0.05-0.1 mm (common
practice, no source)."""
STILL, CHANGED, UNKNOWN = "yes", "no", "unknown"
"""Answers to whether it is still the one that was approved."""


@dataclass(frozen=True)
class Flip:
    """A check whose status changed."""

    check: str
    before: str
    after: str

    @property
    def worse(self) -> bool:
        """Whether it changed for the worse."""
        return Status(self.after).rank < Status(self.before).rank


@dataclass(frozen=True)
class Move:
    """A figure that moved beyond repeatability; None on a side where it was not measured.

    ``repeatable`` is how far it may move and mean nothing, in the same unit; nan where it is no number.
    """

    check: str
    measure: str
    before: float | str | None
    after: float | str | None
    unit: str
    repeatable: float = float("nan")


@dataclass(frozen=True)
class Comparison:
    """One revision against the one before it.

    Attributes
    ----------
    before, after
        The two.
    same_design, same_base
        Whether the design file and the base are the same, byte for byte and vertex for vertex.
    flips, moves
        Checks and figures that changed.
    left_out, taken_in
        Checks that only the older, or only the newer, report has.
    shape
        What changed in shape; None where that could not be measured.
    without_shape
        Why it could not be; ``""`` where it was.
    fittings
        The two designs laid on each other, for pictures; None without surfaces.
    """

    before: Revision
    after: Revision
    same_design: bool
    same_base: bool
    flips: tuple[Flip, ...]
    moves: tuple[Move, ...]
    left_out: tuple[str, ...] = ()
    taken_in: tuple[str, ...] = ()
    shape: DesignChange | None = None
    without_shape: str = ""
    fittings: tuple[Fitting, Fitting] | None = None

    @property
    def answer(self) -> str:
        """Whether it is still the one that was approved: ``yes``, ``no`` or ``unknown``."""
        if self.flips or self.moves or not self.on_same_base:
            return CHANGED
        if self.shape is not None:
            return STILL if self.shape.same else CHANGED
        return STILL if self.same_design else UNKNOWN

    @property
    def changed(self) -> bool:
        """Whether it is not the approved one any more, or cannot be told to be."""
        return self.answer != STILL

    @property
    def worse(self) -> bool:
        """Whether any check changed for the worse."""
        return any(flip.worse for flip in self.flips)

    @property
    def on_same_base(self) -> bool:
        """Whether both sit on the same base, wherever that stands in the scene."""
        if self.same_base or self.shape is None:
            return self.same_base
        base = next((group.change for group in self.shape.groups if group.name == "base"), None)
        return base is None or base.max_mm <= self.shape.within_mm


def compare(before: Mapping[str, Any], after: Mapping[str, Any]) -> Comparison:
    """Compare two reports as read by ``read_report``: checks and figures, no surfaces."""
    return compare_reports(Revision(before), Revision(after))


def compare_reports(before: Revision, after: Revision) -> Comparison:
    """Compare what two reports say."""
    old = {check["id"]: check for check in before.report["checks"]}
    new = {check["id"]: check for check in after.report["checks"]}
    both = [check for check in new if check in old]
    return Comparison(
        before=before,
        after=after,
        same_design=before.sha256 == after.sha256 != "",
        same_base=before.report["base"]["fingerprint"] == after.report["base"]["fingerprint"],
        flips=tuple(
            Flip(check, old[check]["status"], new[check]["status"])
            for check in both
            if old[check]["status"] != new[check]["status"]
        ),
        moves=tuple(move for check in both for move in _moves(check, old[check]["measures"], new[check]["measures"])),
        left_out=tuple(check for check in old if check not in new),
        taken_in=tuple(check for check in new if check not in old),
        without_shape="; ".join(f"{each.name}: {each.without}" for each in (before, after) if each.without),
    )


def compare_revisions(before: Revision, after: Revision, within_mm: float = WITHIN_MM) -> Job[Comparison]:
    """Compare two revisions: what their reports say, and their shapes where both have surfaces.

    Parameters
    ----------
    before, after
        The approved one and the newer one.
    within_mm
        A skin that moved no further than this is the same one.

    Raises
    ------
    BadShape, NotFinite, NoSurface
        When a part makes no surface.
    """
    comparison = compare_reports(before, after)
    if before.snapshot is None or after.snapshot is None:
        return comparison
    newer, laid = laid_on(before.snapshot.base, after.snapshot)
    fittings = Fitting(before.snapshot, before.brief), Fitting(newer, after.brief)
    shape = yield from design_change(*fittings, within_mm)
    return replace(comparison, shape=replace(shape, laid=laid), fittings=fittings)


def _moves(check: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[Move]:
    for measure in dict.fromkeys([*old, *new]):
        before, after, unit = old.get(measure), new.get(measure), unit_of(measure)
        if not (isinstance(before, int | float) and isinstance(after, int | float)):
            if before != after:
                yield Move(check, measure, before, after, unit)
            continue
        repeatable = repeatable_within(check, measure, unit, max(abs(before), abs(after)))
        if abs(after - before) > repeatable:
            yield Move(check, measure, before, after, unit, repeatable)


def compare_all(
    paths: Sequence[Path], brief: Path | None = None, only: tuple[str, ...] = (), within_mm: float = WITHIN_MM
) -> Job[list[Comparison]]:
    """Compare each revision with the one before it, in the given order.

    Parameters
    ----------
    paths
        Designs, reports or folders with one, the oldest first.
    brief, only
        As for ``read_revision``.
    within_mm
        A skin that moved no further than this is the same one.

    Raises
    ------
    InputError
        When one of them cannot be read.
    """
    revisions = []
    for place, path in enumerate(paths):
        yield Progress(place, len(paths), f"reading {path}")
        revisions.append((yield from read_revision(path, brief, only)))
    steps = []
    for before, after in pairwise(revisions):
        steps.append((yield from compare_revisions(before, after, within_mm)))
    return steps
