"""What one closing of a mouth comes to."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ...model.finding import Severity, WorstFirst
from ...model.limits import Limits
from ...performer.closing import Closing
from .lip_reach import SEVERITIES, LipReach, reach_of


class ClosingVerdict(WorstFirst):
    """What a closing comes to, in words for a sentence."""

    FAILS = "fails"
    LOOK = "is to be looked at"
    UNJUDGED = "cannot be judged"
    PASSES = "passes"


OF_SEVERITY: Mapping[Severity, ClosingVerdict] = MappingProxyType(
    {
        Severity.FAIL: ClosingVerdict.FAILS,
        Severity.REVIEW: ClosingVerdict.LOOK,
        Severity.INFO: ClosingVerdict.PASSES,
    }
)


def closing_severity(reach: LipReach, blocked: bool) -> Severity:
    """Return how bad a closing is; a note is a pass, and what is blocked is never better than to be reviewed."""
    severity = SEVERITIES[reach]
    return severity.or_worse(Severity.REVIEW) if blocked else severity


def closing_verdict(closing: Closing, bare_way_mm: float, open_scan: bool, limits: Limits) -> ClosingVerdict:
    """Return what a closing comes to.

    Parameters
    ----------
    closing
        How it went.
    bare_way_mm
        The longest way between the bare lips at the pose taken for closed. Beyond what a resting face shows nothing is
        known of this mouth closed; then only what takes the lips out of reach by itself still fails.
    open_scan
        Whether the mouth is open in the scan: then teeth that meet are its bite, and the rest is for the lips.
    limits
        What it is held against.
    """
    way_mm = closing.stop.longest_mm
    if bare_way_mm > limits.lip_rest_mm:
        out = closing.blocked and reach_of(way_mm - bare_way_mm, False, limits) == LipReach.OUT_OF_REACH
        return ClosingVerdict.FAILS if out else ClosingVerdict.UNJUDGED
    return OF_SEVERITY[closing_severity(reach_of(way_mm, closing.sealed, limits), closing.blocked and not open_scan)]
