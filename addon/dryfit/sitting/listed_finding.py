"""A finding of the list as the value it was measured as."""

from dataclasses import replace
from typing import Any

import numpy as np

from ..model.finding import Finding, Severity
from .stored_report import finding_elements


def as_finding(scene: Any, item: Any) -> Finding:
    """Return the listed finding with its elements."""
    return Finding(
        severity=Severity(item.severity),
        message=item.message,
        object=item.part,
        at_mm=tuple(item.at_mm),
        region=item.region,
        value=item.value,
        limit=item.limit if item.limited else float("nan"),
        unit=item.unit,
        fix=item.fix,
        remedy=item.remedy,
        remedy_mm=item.remedy_mm,
        kind=item.kind,
        elements=finding_elements(scene, item.check, item.name),
        exception=item.exception or None,
        motion=item.motion,
        t=item.t,
    )


def as_one_finding(scene: Any, item: Any) -> Finding:
    """Return the listed finding joined with every open one on its piece that the same fix mends."""
    alike = [
        each
        for each in scene.dryfit.findings
        if (each.part, each.remedy, each.kind) == (item.part, item.remedy, item.kind) and not each.exception
    ]
    elements = [finding_elements(scene, each.check, each.name) for each in [*alike, item]]
    return replace(as_finding(scene, item), elements=np.unique(np.concatenate(elements)))
