"""The figures of one closing."""

from __future__ import annotations

import numpy as np

from ...model.snapshot import Role
from .axis_trials import OFFSETS_MM
from .lip_reach import farthest_mm
from .result import ClosureResult


def measures(result: ClosureResult) -> dict[str, float | str]:
    """Return the figures of the check."""
    return {**_closing(result), **_lips(result), **_jaw(result), **_axis(result)}


def _closing(result: ClosureResult) -> dict[str, float | str]:
    closing, poses = result.closing, result.poses
    contact = closing.contact
    return {
        "closes": float(closing.sealed),
        "rest_gap_mm": closing.at_rest().largest_mm,
        "residual_gap_mm": closing.stop.largest_mm,
        "contact_t": contact.t if contact else np.nan,
        "contact_angle_deg": poses.jaw_angle_deg(contact.t) if contact else np.nan,
        "contact_pair": contact_words(result),
        "must_lose_mm": max((excess.shorten_mm for excess in result.excesses), default=0.0),
        "max_opening_mm": result.wide.midline_mm,
        "bare_rest_gap_mm": result.bare_rest.largest_mm,
        "bare_residual_gap_mm": result.bare_stop.largest_mm,
        "bare_max_opening_mm": result.bare_wide.midline_mm,
    }


def _lips(result: ClosureResult) -> dict[str, float | str]:
    """Return what the jaw closes and what is left to the lips, apart."""
    stop = result.closing.stop
    short_mm, behind_mm = result.lower_lip_away_mm
    return {
        "jaw_closes_mm": result.start.midline_mm - stop.midline_mm,
        "lips_left_mm": stop.midline_mm,
        "lips_travel_mm": stop.longest_mm,
        "lips_reach": result.reach.value,
        "lips_reach_limit_mm": farthest_mm(result.brief.limits),
        "lower_lip_short_mm": short_mm,
        "lower_lip_behind_mm": behind_mm,
        "facing_fraction": float(stop.facing.mean()),
    }


def _jaw(result: ClosureResult) -> dict[str, float | str]:
    poses, stop = result.poses, result.closing.stop
    rest_t = poses.source.rest_t
    return {
        "stop_t": stop.t,
        "stop_angle_deg": poses.jaw_angle_deg(stop.t),
        "open_angle_deg": poses.jaw_angle_deg(1.0),
        "incisal_travel_mm": incisal_travel_mm(result),
        "over_closure_deg": result.over_closure_deg,
        "over_closure_mm": result.over_closure_mm,
        "scan_open_mm": result.found.open_mm,
        "scan_open_deg": poses.jaw_angle_deg(rest_t) if rest_t > 0.0 else 0.0,
        "mouth_found": result.found.words,
        "motion_source": "hinge" if poses.source.jaw is not None else "shape keys",
    }


def _axis(result: ClosureResult) -> dict[str, float | str]:
    """Return how far the answer hangs on the axis; nothing for a keyed jaw."""
    figures: dict[str, float | str] = {}
    for offset_mm in OFFSETS_MM if result.trials else ():
        trials = [trial for trial in result.trials if trial.offset_mm == offset_mm]
        name = f"axis_{offset_mm:.0f}mm"
        figures[f"{name}_gap_low_mm"] = min(trial.gap_mm for trial in trials)
        figures[f"{name}_gap_high_mm"] = max(trial.gap_mm for trial in trials)
        figures[f"{name}_bite_shift_mm"] = max((trial.bite_ahead_mm for trial in trials), key=abs)
        figures[f"{name}_flips"] = float(any(trial.offset_mm == offset_mm for trial in result.flips))
    return figures


def contact_words(result: ClosureResult) -> str:
    """Return who stopped the mouth, in words, or ``""``."""
    contact = result.closing.contact
    return f"{contact.piece} / {contact.other_name}" if contact else ""


def incisal_travel_mm(result: ClosureResult) -> float:
    """Return the straight way of the lower incisal point from closed to wide open, mm; nan without lower teeth."""
    teeth = result.fitting.snapshot.with_role(Role.LOWER_TEETH)
    if not teeth:
        return float("nan")
    frame, name = result.mouth.lips.frame, teeth[0].name
    closed_mm = result.poses.vertices(name, 0.0)
    used = np.unique(teeth[0].faces)
    left, _, up = frame.coordinates(closed_mm[used] - result.mouth.lips.line.middle_mm(0.0)).T
    tip = used[int(np.argmax(up - np.abs(left)))]
    return float(np.linalg.norm(result.poses.vertices(name, 1.0)[tip] - closed_mm[tip]))
