"""Pass is a proof: no figure that a limit judges stands beyond it, or unmeasured, under that word.

One rule for every check. Each check finds what is wrong and says where; this holds its figures against their limits
once more, so that what a check overlooked can never read as a pass.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from ..model.finding import Bound, Finding, Outcome, Place, Severity
from ..model.limits import Limits
from ..model.measure_units import unit_of
from .check import Check, LeadingFigure

NOTHING = "Nothing was measured, so nothing is proven."
UNMEASURED = "{words} could not be measured, so nothing is proven by the rest."


def bounds_of(check: Check, outcome: Outcome, limits: Limits) -> dict[str, Bound]:
    """Return what decided about each judged figure: what the outcome states, else the leading figure's own limit.

    A figure that leads a check and has a limit is judged whether the outcome has it or not; only the outcome itself
    may say that nothing is asked of it here.
    """
    named = {
        figure.measure: Bound(float(getattr(limits, figure.limit)), figure.at_least, figure.limit)
        for figure in check.leading
        if figure.limit
    }
    return {measure: bound for measure, bound in {**named, **outcome.judged}.items() if bound is not None}


def unproven(check: Check, outcome: Outcome, bounds: Mapping[str, Bound]) -> str:
    """Return why the figures prove nothing: those that are judged and were not measured; ``""`` where all were."""
    if not outcome.measures:
        return NOTHING
    lost = [measure for measure, bound in bounds.items() if _unknown(_figure(outcome, measure), bound)]
    return " ".join(UNMEASURED.format(words=_words(check, measure).capitalize()) for measure in lost)


def _unknown(figure: float, bound: Bound) -> bool:
    """Tell whether a figure is none: nan, or without end on the good side, which no surface can print."""
    return bool(np.isnan(figure) or (np.isinf(figure) and np.isfinite(bound.value) and bound.holds(figure)))


def beyond(check: Check, outcome: Outcome, bounds: Mapping[str, Bound], place: Place) -> Iterator[Finding]:
    """Yield a finding for each figure beyond its bound that no judged finding speaks of; such a one may be accepted."""
    for measure, bound in bounds.items():
        figure = _figure(outcome, measure)
        if not (np.isnan(figure) or bound.holds(figure) or _spoken_of(figure, bound, outcome)):
            side = "at least" if bound.at_least else "at most"
            words, noted = _words(check, measure).capitalize(), _noted(measure, bound, outcome)
            most = f", in places each too small to count; most at the {noted.region} of {noted.object}" if noted else ""
            yield Finding(
                severity=Severity.REVIEW,
                message=f"{words}: {figure:.2f}, where {side} {bound.value:g} is allowed{most}.",
                place=replace(place, at_mm=noted.at_mm) if noted else place,
                value=figure,
                limit=bound.value,
                unit=noted.unit if noted else unit_of(measure),
                fix="look at what stands beyond the limit, or change the limit with a reason",
            )


def _noted(measure: str, bound: Bound, outcome: Outcome) -> Finding | None:
    """Return the worst note that is held against the bound: one of the places that the figure is made of.

    The finding stays about the whole design all the same: one place that was accepted does not excuse the others.
    """
    unit = unit_of(measure)
    noted = [
        each
        for each in outcome.findings
        if each.limit == bound.value
        and not np.isnan(each.value)
        and unit in ("", each.unit.replace("/", "_").casefold())
    ]
    return max(noted, key=lambda each: -each.value if bound.at_least else each.value, default=None)


def _spoken_of(figure: float, bound: Bound, outcome: Outcome) -> bool:
    """Tell whether a finding that counts carries the figure, or one that is worse."""
    told = [finding.value for finding in outcome.findings if finding.severity != Severity.INFO]
    return any(Bound(value, bound.at_least).holds(figure) for value in told if not np.isnan(value))


def _figure(outcome: Outcome, measure: str) -> float:
    value = outcome.measures.get(measure, float("nan"))
    return float("nan") if isinstance(value, str) else float(value)


def _words(check: Check, measure: str) -> str:
    leading = next((each for each in check.leading if each.measure == measure), LeadingFigure(measure))
    return leading.words or dict(check.measured).get(measure, measure.replace("_", " "))
