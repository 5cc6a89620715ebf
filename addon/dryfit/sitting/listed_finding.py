"""A finding of the list as the value it was measured as."""

from dataclasses import replace
from typing import Any

import numpy as np

from ..model.finding import Finding
from .finding_columns import finding_of_row
from .stored_report import finding_elements


def as_finding(scene: Any, item: Any) -> Finding:
    """Return the listed finding with its elements."""
    return finding_of_row(item, finding_elements(scene, item.check, item.name))


def as_one_finding(scene: Any, item: Any) -> Finding:
    """Return the listed finding joined with every open one on its piece that the same fix mends."""
    alike = [
        each
        for each in scene.dryfit.findings
        if (each.part, each.remedy, each.kind) == (item.part, item.remedy, item.kind) and not each.exception
    ]
    elements = [finding_elements(scene, each.check, each.name) for each in [*alike, item]]
    return replace(as_finding(scene, item), elements=np.unique(np.concatenate(elements)))
