"""One finding about a closing mouth, its place named once."""

from __future__ import annotations

import numpy as np

from ...model.arrays import FloatArray, IntArray
from ...model.finding import Finding, Severity
from .result import ClosureResult

NOTHING = np.zeros(0, np.int64)


def finding_at(
    result: ClosureResult,
    place_mm: FloatArray,
    t: float,
    severity: Severity,
    message: str,
    part: str,
    value: float,
    limit: float = float("nan"),
    unit: str = "mm",
    fix: str = "",
    remedy: str = "",
    remedy_mm: float = float("nan"),
    elements: IntArray = NOTHING,
) -> Finding:
    """Return a finding at a place ``(3,)``, mm, world space at ``t``, on a part; the rest as for ``Finding``."""
    x, y, z = place_mm
    return Finding(
        severity=severity,
        message=message,
        object=part,
        at_mm=(x, y, z),
        region=result.fitting.regions.name(np.asarray(place_mm)),
        value=value,
        limit=limit,
        unit=unit,
        fix=fix,
        remedy=remedy,
        remedy_mm=remedy_mm,
        elements=elements,
        motion=result.poses.name,
        t=t,
    )
