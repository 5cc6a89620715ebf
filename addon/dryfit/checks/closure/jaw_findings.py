"""What is said about the jaw that closed the mouth: that it found the mouth open, and what hangs on its axis."""

from __future__ import annotations

from collections.abc import Iterator

from ...model.finding import Finding, Severity
from .finding import finding_at
from .result import ClosureResult

PASSES = {Severity.INFO: "passes", Severity.REVIEW: "is to be looked at", Severity.FAIL: "fails"}


def jaw_findings(result: ClosureResult) -> Iterator[Finding]:
    """Yield the findings."""
    if result.poses.source.rest_t > 0.0:
        yield found_open(result)
    if result.flips:
        yield hangs_on_axis(result)


def found_open(result: ClosureResult) -> Finding:
    """Return the note that the base's mouth is open in the scan and was shut by the hinge."""
    rest_t = result.poses.source.rest_t
    apart_mm, turn_deg = result.found.open_mm, result.poses.jaw_angle_deg(rest_t)
    return _finding(
        result,
        Severity.INFO,
        f"The mouth is open on the base, {apart_mm:.1f} mm at the midline. The hinge shuts it: {turn_deg:.1f}° bring "
        "the lips level at the midline, and that pose is taken as closed.",
        apart_mm,
        "state rest_deg under [motions.jaw] hinge = {} in the brief if you know how far the jaw is open here",
    )


def hangs_on_axis(result: ClosureResult) -> Finding:
    """Return the finding that a moved axis changes the answer; a pass becomes a review."""
    found = result.severity
    worst = max(result.flips, key=lambda trial: (abs(trial.severity.rank - found.rank), -trial.offset_mm))
    gaps = [trial.gap_mm for trial in result.trials]
    shift_mm = max((trial.bite_ahead_mm for trial in result.trials), key=abs)
    return _finding(
        result,
        Severity.REVIEW if found == Severity.INFO else Severity.INFO,
        f"The answer hangs on the jaw's axis: as found it {PASSES[found]} with "
        f"{result.closing.stop.largest_mm:.1f} mm left between the lips, {worst.offset_mm:.0f} mm "
        f"further {worst.way} it {PASSES[worst.severity]} with "
        f"{worst.gap_mm:.1f} mm. Over all axes within 10 mm the gap is {min(gaps):.1f} to {max(gaps):.1f} mm, and the "
        f"bite shifts fore and aft by up to {abs(shift_mm):.1f} mm.",
        worst.gap_mm,
        "check the landmarks of ear and outer eye corner, or state the wearer's own axis_left_mm and axis_right_mm",
    )


def _finding(result: ClosureResult, severity: Severity, message: str, value: float, fix: str) -> Finding:
    stop, base = result.closing.stop, result.fitting.base.name
    return finding_at(result, stop.at_mm[stop.midline], stop.t, severity, message, base, value, fix=fix)
