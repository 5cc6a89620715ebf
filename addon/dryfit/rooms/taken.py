"""Areas that are taken: where a motion brings other skin against them, all of the space between is theirs."""

from __future__ import annotations

import difflib
import fnmatch
from collections.abc import Iterator

import numpy as np

from ..model.arrays import BoolArray
from ..performer.fitting import Fitting
from .skin import Ground

GROUP = "dryfit_taken"
"""A vertex group of the base that marks such an area."""
LEAST_WEIGHT = 0.5
NO_REGION = "[room] taken: '{pattern}' names no region of this head{nearest}. Nothing was taken for it."


def taken_skin(fitting: Fitting, skin: Ground) -> BoolArray:
    """Return which of the skin is taken, ``(n,)``: by the vertex group of the base, or by regions of the brief."""
    weights = fitting.base.areas.get(GROUP)
    taken = np.zeros(len(skin.points_mm), dtype=bool) if weights is None else np.asarray(weights >= LEAST_WEIGHT)
    named = [fitting.brief.room.says_taken(name) for name in fitting.regions.names]
    if any(named):
        numbers = fitting.regions.numbers(skin.points_mm)
        taken |= np.asarray(named)[numbers] & (numbers >= 0)
    return np.asarray(taken)


def taken_notes(fitting: Fitting) -> Iterator[str]:
    """Tell which patterns of the brief name no region."""
    names = fitting.regions.names
    for pattern in fitting.brief.room.taken:
        if not any(fnmatch.fnmatchcase(name.lower(), pattern.lower()) for name in names):
            near = difflib.get_close_matches(pattern.lower(), names, 1, cutoff=0.5)
            yield NO_REGION.format(pattern=pattern, nearest=f" (nearest: '{near[0]}')" if near else "")
