"""What the last report says of a pose of any motion: how deep things are in each other, and from where on."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...model.sentences import capital, pair_names
from ..stored_report import stored_report
from .window_words import window_words

CHECK = "interference"
SAME_T = 5e-4
"""Poses this near are one; the slider shows three decimals."""


@dataclass(frozen=True)
class Start:
    """The pose from which on the pair that goes deepest touches."""

    motion: str
    t: float
    pair: str


def meeting_start(scene: Any) -> Start | None:
    """Return where the stored check has things begin to run into each other, or None."""
    measures = _interference(scene).get("measures", {})
    motion, t = measures.get("start_motion"), measures.get("start_t")
    if not motion or not isinstance(t, int | float):
        return None
    names = pair_names(measures.get("worst_pair"))
    return Start(str(motion), float(t), " and ".join(names) if names else "")


def meeting_words(scene: Any, motion: str, t: float) -> list[str]:
    """Return what is known of what meets at a pose, in short lines; none where the check was not run."""
    result = _interference(scene)
    if not result:
        return []
    if motion not in str(result["measures"].get("motions", "")).split(", "):
        why = f": {window_words(result['reason'])}" if result["reason"] else ""
        return [f"What meets in this motion was not measured{why}"]
    start = meeting_start(scene)
    from_here = start if start is not None and start.motion == motion else None
    return [_depth_words(result, motion, t), *([] if from_here is None else [_start_words(from_here)])]


def _interference(scene: Any) -> Mapping[str, Any]:
    return next((check for check in stored_report(scene).get("checks", ()) if check["id"] == CHECK), {})


def _depth_words(result: Mapping[str, Any], motion: str, t: float) -> str:
    """Return how deep things are in each other at the poses looked at on either side of this one."""
    curve = result["curves"].get(f"overlap_by_t_{motion}", {"x": [], "y": []})
    known = [(x, y) for x, y in zip(curve["x"], curve["y"], strict=True) if y is not None]
    if not known:
        return "Nothing runs into anything in this motion"
    at, depth_mm = np.array(known).T
    after = int(np.clip(np.searchsorted(at, t - SAME_T), 0, len(at) - 1))
    before = after if abs(at[after] - t) <= SAME_T else max(after - 1, 0)
    low, high = (f"{each:.1f}" for each in sorted((depth_mm[before], depth_mm[after])))
    return (
        f"Overlap: {high} mm at its deepest" if low == high else f"Overlap: between {low} and {high} mm at its deepest"
    )


def _start_words(start: Start) -> str:
    return f"{capital(start.pair)} start to meet at {100 * start.t:.1f} %"
