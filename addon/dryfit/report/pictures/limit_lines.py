"""Where a painted picture draws a limit: about what counts against a design, at what that was held against."""

from collections.abc import Iterator, Sequence

import numpy as np

from ...geometry import distance_along
from ...model.arrays import FloatArray
from ...model.finding import Field, Finding, Severity
from ...model.snapshot import Part, Snapshot

AROUND_MM = 4.0
"""A limit is drawn no further than this from what was found, along the surface."""


def limits_judged(fields: Sequence[Field], findings: Sequence[Finding], snapshot: Snapshot) -> list[Field]:
    """Return fields to draw limits of: known only about each finding that counts, with that finding's own limit.

    Parameters
    ----------
    fields
        What is painted, all of one name.
    findings
        What the check found, the foremost first; notes and accepted exceptions draw nothing.
    snapshot
        The parts they are on.
    """
    return list(_lines(fields, findings, snapshot))


def _lines(fields: Sequence[Field], findings: Sequence[Finding], snapshot: Snapshot) -> Iterator[Field]:
    by_part = {field.part: field for field in fields}
    for finding in findings:
        field = by_part.get(finding.object)
        if field is None or finding.severity == Severity.INFO or finding.exception is not None:
            continue
        limit = _limit(field, finding)
        if np.isfinite(limit):
            values = _about(field, finding, snapshot.part(field.part))
            yield Field(field.name, field.part, values, field.unit, field.label, field.low, field.high, limit)


def _limit(field: Field, finding: Finding) -> float:
    """Return what the field was held against, nan where something else was; a depth is painted negative.

    A finding that states an area is over the field's own limit all over that area. A field that has no limit of its
    own is judged by none.
    """
    if finding.unit == "mm2" or not np.isfinite(field.limit):
        return field.limit
    if finding.unit != field.unit or not np.isfinite(finding.limit):
        return np.nan
    return -finding.limit if field.diverging and field.limit < 0.0 else finding.limit


def _about(field: Field, finding: Finding, part: Part) -> FloatArray:
    """Return the field's values on and around what was found, ``(n,)``; nan elsewhere."""
    if not len(finding.elements):
        return field.values
    found = finding.elements if finding.kind == "vertices" else np.unique(part.faces[finding.elements])
    away_mm, _ = distance_along(part.vertices_mm, part.faces, found, AROUND_MM)
    return np.where(away_mm <= AROUND_MM, field.values, np.nan)
