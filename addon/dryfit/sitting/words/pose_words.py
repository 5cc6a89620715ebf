"""What the last report says of a pose: how far the lips are apart, what stops the jaw, what runs into what."""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from ...model.arrays import FloatArray
from ..still_true.check_rows import outdated_reason
from ..stored_report import stored_report
from .meeting_words import CHECK as MEETING
from .meeting_words import meeting_words
from .window_words import window_words

JAW = "jaw"
CLOSURE = "closure"
AT_CONTACT = 5e-4
NOT_RUN = "Run the check Closure to see gap and contact."
STALE = "Measured before the last change; check again."


def pose_title(motion: str, t: float, open_deg: float = math.nan) -> str:
    """Return a motion and a pose in words: ``Jaw 60 % · open 15°``, as far as it is known.

    Parameters
    ----------
    open_deg
        How far the jaw's hinge opens at the end of the motion; nan where it is none.
    """
    name = motion.replace("_", " ").capitalize()
    return f"{name} {100.0 * t:.0f} %" + ("" if math.isnan(open_deg) else f" · open {open_deg * t:.0f}°")


def pose_words(scene: Any, motion: str, t: float) -> list[str]:
    """Return what is known of a pose, in short lines."""
    closure = _closure(scene)
    closing = _closing_words(closure, t) if motion == JAW else []
    meeting = meeting_words(scene, motion, t)
    told = [*([CLOSURE] if motion == JAW and closure else []), *([MEETING] if meeting else [])]
    older = any(outdated_reason(scene, check) for check in told)
    return [line for line in (*closing, *meeting, STALE if older else "") if line]


def _closing_words(closure: Mapping[str, Any], t: float) -> list[str]:
    if not closure:
        return [NOT_RUN]
    if closure["status"] == "not_checked":
        return [f"Closure was not measured: {window_words(closure['reason'])}"]
    return [_gap_words(closure, t), _contact_words(closure["measures"], t)]


def contact_t(scene: Any) -> float | None:
    """Return where on the jaw's motion something first stops it, or None."""
    return _contact_t(_closure(scene).get("measures", {}))


def _closure(scene: Any) -> Mapping[str, Any]:
    return next((check for check in stored_report(scene).get("checks", ()) if check["id"] == CLOSURE), {})


def _gap_words(closure: Mapping[str, Any], t: float) -> str:
    known = _known_gaps(closure)
    if len(known) < 2:
        return ""
    at = known[:, 0]
    gap_mm = _gap_mm(closure, t)
    if gap_mm is None:
        return f"Gap between the lips: measured from {100 * at[0]:.0f} % to {100 * at[-1]:.0f} % only"
    return f"Gap between the lips: {gap_mm:.2f} mm"


def _known_gaps(closure: Mapping[str, Any]) -> FloatArray:
    """Return pose and gap where both are known, ``(n, 2)``, mm."""
    curve = closure.get("curves", {}).get("gap_by_t", {"x": [], "y": []})
    known = [(x, y) for x, y in zip(curve["x"], curve["y"], strict=True) if y is not None]
    return np.array(known, np.float64).reshape(-1, 2)


def _gap_mm(closure: Mapping[str, Any], t: float) -> float | None:
    """Return the gap between the lips at a pose; None where it was not measured."""
    known = _known_gaps(closure)
    if len(known) < 2 or not known[0, 0] <= t <= known[-1, 0]:
        return None
    return float(np.interp(t, known[:, 0], known[:, 1]))


def _contact_words(measures: Mapping[str, Any], t: float) -> str:
    contact = _contact_t(measures)
    if contact is None:
        return "Nothing stops the jaw before the lips meet" if measures.get("closes") == 1 else ""
    pair = str(measures.get("contact_pair") or "")
    return f"First contact at {100 * contact:.1f} %{f' ({pair})' if pair else ''}: {_beside(contact, t)}"


def _beside(contact: float, t: float) -> str:
    """Return on which side of the contact a pose is; the slider shows three decimals."""
    if abs(t - contact) < AT_CONTACT:
        return "here"
    return "past it, parts would cross here" if t < contact else "still free here"


def _contact_t(measures: Mapping[str, Any]) -> float | None:
    value = measures.get("contact_t")
    return float(value) if isinstance(value, int | float) else None
