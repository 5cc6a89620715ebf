"""The mouth closing, step by step: at which poses it is shown, and what each is said to measure."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..model.finding import Curve
from ..model.report import CheckResult
from ..model.sentences import pair_names
from .wording import with_unit

STEPS = 6
STEP_NAME = "closure-step-"
GAP, MIDLINE = "gap_by_t", "gap_by_t_midline"


@dataclass(frozen=True)
class ClosingStep:
    """One pose of a closing jaw.

    Attributes
    ----------
    t
        The pose, 1 wide open.
    opening_mm, gap_mm
        Between the lips at the midline, and the largest gap anywhere along them.
    ending
        How the closing ends, in words, at the last step; else ``""``.
    """

    t: float
    opening_mm: float
    gap_mm: float
    ending: str = ""

    @property
    def words(self) -> str:
        """The step in words."""
        opening, gap = (with_unit(max(value, 0.0), "mm") for value in (self.opening_mm, self.gap_mm))
        said = f"Jaw {100 * self.t:.0f} % open: lips {opening} apart at the midline, largest gap {gap}"
        return f"{said}. {self.ending}" if self.ending else said


def closing_steps(result: CheckResult) -> tuple[ClosingStep, ...]:
    """Return the poses to show, wide open first and the one where the jaw stopped or was done last.

    All but the last are poses at which the gap was read; none where a report carries no such curves.
    """
    if not {GAP, MIDLINE} <= set(result.curves):
        return ()
    gap, midline = result.curves[GAP], result.curves[MIDLINE]
    stop_t = _number(result, "stop_t")
    if not math.isfinite(stop_t) or len(gap.x) < STEPS:
        return ()
    read_t = np.array([t for t in gap.x if t > stop_t + 1e-6])
    wanted = np.linspace(1.0, stop_t, STEPS)[:-1]
    shown = dict.fromkeys(float(read_t[np.abs(read_t - t).argmin()]) for t in wanted) if len(read_t) else {}
    steps = [ClosingStep(t, _at(midline, t), _at(gap, t)) for t in shown]
    last = ClosingStep(stop_t, _number(result, "lips_left_mm"), _number(result, "residual_gap_mm"), _ending(result))
    return (*steps, last)


def _ending(result: CheckResult) -> str:
    if result.measures.get("closes") == 1:
        return "The lips meet."
    pair = meeting_names(result)
    return f"Stopped: {pair[0]} meets {pair[1]}." if pair else "Nothing stops the jaw, and the lips do not meet."


def meeting_names(result: CheckResult) -> tuple[str, str] | None:
    """Return the names of what meets first, the piece that stops the jaw before what it meets, or None."""
    return pair_names(result.measures.get("contact_pair"))


def _number(result: CheckResult, measure: str) -> float:
    value = result.measures.get(measure)
    return float(value) if isinstance(value, int | float) else float("nan")


def _at(curve: Curve, t: float) -> float:
    return curve.y[int(np.abs(np.array(curve.x) - t).argmin())]


def is_step(name: str) -> bool:
    """Tell whether a picture of that name is a step of the closing."""
    return name.startswith(STEP_NAME)


def step_names(steps: Sequence[ClosingStep]) -> list[str]:
    """Return a picture's name for each step, in order."""
    return [f"{STEP_NAME}{number}" for number in range(1, len(steps) + 1)]
