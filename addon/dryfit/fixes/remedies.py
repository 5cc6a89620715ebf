"""The fixes by name, as findings name them."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from ..model.finding import Finding
from ..model.snapshot import Part, Snapshot
from ..performer.fitting import Fitting
from .extend import extend
from .feather import feather
from .lift import lift
from .mended import Mended, NothingToMend
from .shorten import shorten

Remedy = Callable[[Fitting, Finding], Mended]

REMEDIES: Mapping[str, Remedy] = {"lift": lift, "feather": feather, "shorten": shorten, "extend": extend}
"""Name of a remedy -> the fix."""
INSTEAD: Mapping[str, str] = {"extend": "shorten"}
"""Another fix for the same finding, where its elements are on a tooth."""


def remedied(fitting: Fitting, finding: Finding, now: str) -> Mended:
    """Return the piece of a finding mended as the finding asks.

    Parameters
    ----------
    fitting
        The design as it is now.
    finding
        What was measured, which may be a while ago.
    now
        The name that the piece has now.

    Raises
    ------
    NothingToMend
        When the piece is gone or has fewer vertices than it had, or nothing of it has to move.
    """
    part = _found(fitting.snapshot, finding, now)
    if len(finding.elements) and finding.elements.max() >= len(part.vertices_mm):
        raise NothingToMend(f"'{part.name}' has fewer vertices than when it was measured; check again first.")
    return REMEDIES[finding.remedy](fitting, replace(finding, place=replace(finding.place, object=part.name)))


def _found(snapshot: Snapshot, finding: Finding, now: str) -> Part:
    """Return the piece that a finding is about, which may have been renamed since."""
    parts = {part.name: part for part in snapshot.parts}
    part = parts.get(now) or parts.get(finding.object)
    if part is None:
        raise NothingToMend(f"'{finding.object}' has no role any more; check again.")
    return part
