"""Where a finding's place is in another pose than the one it was found in."""

from collections.abc import Callable

import numpy as np

from ..model.arrays import FloatArray
from ..model.finding import Finding
from ..model.snapshot import Snapshot
from .stage import Posed

NEAR_MM = 25.0
"""A place further than this from its part does not go with it."""


def placed(
    finding: Finding, snapshot: Snapshot, posed: Callable[[str, float], Posed], motion: str, t: float
) -> FloatArray:
    """Return a finding's place ``(3,)``, mm, in a pose: it goes along with the nearest vertex of the part it is on.

    Parameters
    ----------
    finding
        Its place is given in its own pose.
    snapshot, posed
        The design, and where its parts are in a pose.
    motion, t
        The pose; a motion ``""`` is rest.
    """
    place = np.array(finding.at_mm)
    part = next((part for part in snapshot.parts if part.name == finding.object), None)
    if (finding.motion, finding.t) == (motion, t) or part is None or not np.isfinite(place).all():
        return place

    def standing(name: str, at: float) -> FloatArray:
        return np.asarray((posed(name, at) if name else {}).get(part.name, part.vertices_mm))

    there = standing(finding.motion, finding.t)
    off_mm = np.linalg.norm(there - place, axis=1)
    vertex = int(off_mm.argmin())
    return place + standing(motion, t)[vertex] - there[vertex] if off_mm[vertex] <= NEAR_MM else place
