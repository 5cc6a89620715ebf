"""What the report says when landmarks look wrong: in full with the base, in one note for the whole report."""

from ..model.finding import Finding, Severity
from ..performer.fitting import Fitting


def doubt_findings(fitting: Fitting) -> tuple[Finding, ...]:
    """Return one finding for each thing that looks wrong with the landmarks."""
    return tuple(
        Finding(
            severity=doubt.severity,
            message=doubt.message,
            object=fitting.base.name,
            at_mm=tuple(doubt.at_mm),
            region="landmarks",
            value=doubt.value_mm,
            limit=doubt.limit_mm,
            unit="mm",
            fix=doubt.remedy,
        )
        for doubt in fitting.landmark_doubts
    )


def doubt_notes(fitting: Fitting) -> tuple[str, ...]:
    """Return a note for the whole report, whichever checks were run, while landmarks look wrong."""
    grave = [doubt for doubt in fitting.landmark_doubts if doubt.severity is not Severity.INFO]
    if not grave:
        return ()
    return (f"Measured with landmarks that look wrong; do not trust what is built on them. {grave[0].message}",)
