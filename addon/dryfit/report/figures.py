"""The few figures that stand for a check, each beside the limit it was held against."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ..checks.check import Check, LeadingFigure
from ..checks.deciding import Deciding, deciding_figure, of_finding
from ..model.finding import Bound
from ..model.limits import basis_of
from ..model.measure_units import unit_of
from ..model.report import CheckResult
from .wording import measure_name, measure_said, with_unit

NAN = float("nan")
UNJUDGED = Bound(NAN)
FIRST_OF_OTHERS = 3
"""So many figures are shown of a check that names none to lead."""


@dataclass(frozen=True)
class Figure:
    """One measured figure, ready to be said.

    Attributes
    ----------
    measure, words, value, unit
        Name, description, figure (nan or text allowed) and unit.
    limit, basis
        What it is held against, in the same unit, nan where nothing; and the word that this limit stands under, ``""``
        where it is a piece's own or the bare face's.
    at_least
        True where a figure below the limit is the worse one.
    yes_no
        True where it says yes (1) or no (0).
    """

    measure: str
    words: str
    value: float | str
    unit: str
    limit: float = NAN
    at_least: bool = False
    basis: str = ""
    yes_no: bool = False

    @property
    def said(self) -> str:
        """The figure with its unit, or yes or no."""
        if self.yes_no:
            return measure_said(self.measure, self.value, self.yes_no)
        return with_unit(self.value, self.unit)

    @property
    def limit_said(self) -> str:
        """The limit in words, or ``""``."""
        if not math.isfinite(self.limit):
            return ""
        word = f", {self.basis}" if self.basis else ""
        return f"{'at least' if self.at_least else 'at most'} {with_unit(self.limit, self.unit)}{word}"

    @property
    def against(self) -> str:
        """The limit as the end of a sentence, with the word that it stands under; or ``""``."""
        if not math.isfinite(self.limit):
            return ""
        least = with_unit(self.limit, self.unit)
        asked = f"at least {least} is asked for" if self.at_least else f"at most {least} is allowed"
        return f", where {asked}" + (f" ({self.basis})" if self.basis else "")

    @property
    def measurable(self) -> bool:
        """Whether the figure and its limit can be drawn on one strip."""
        return isinstance(self.value, int | float) and math.isfinite(self.value) and math.isfinite(self.limit)


def key_figures(result: CheckResult, check: Check | None = None) -> tuple[Figure, ...]:
    """Return the figures for the check's row: those that lead it, or the first few it has."""
    leading = [figure for figure in check.leading if figure.measure in result.measures] if check else []
    if not leading:
        leading = [LeadingFigure(measure) for measure in list(result.measures)[:FIRST_OF_OTHERS]]
    return tuple(_figure(figure, result, check) for figure in leading)


def deciding_of(result: Mapping[str, Any], check: Check | None = None) -> Figure | None:
    """Return the figure that decided about a check in the layout of the JSON Schema, with its one limit, or None."""
    found = deciding_figure(result, check)
    return None if found is None else _shown(found, check)


def figure_of(entry: Mapping[str, Any], result: Mapping[str, Any], check: Check | None = None) -> Figure:
    """Return the figure of one finding, all in the layout of the JSON Schema, with the limit it was held against."""
    return _shown(of_finding(entry, result, check), check)


def _shown(found: Deciding, check: Check | None) -> Figure:
    return Figure(
        measure=found.measure,
        words=found.words,
        value=found.value,
        unit=found.unit,
        limit=found.limit,
        at_least=found.at_least,
        basis=basis_of(found.limit_name),
        yes_no=check is not None and bool(found.measure) and check.says_yes_or_no(found.measure),
    )


def all_figures(result: CheckResult, check: Check | None = None) -> tuple[Figure, ...]:
    """Return every measure of a check, in its own order."""
    return tuple(_figure(LeadingFigure(measure), result, check) for measure in result.measures)


def _figure(key: LeadingFigure, result: CheckResult, check: Check | None) -> Figure:
    words = dict(check.measured) if check else {}
    bound = result.judged.get(key.measure, UNJUDGED)
    return Figure(
        measure=key.measure,
        words=key.words or words.get(key.measure, measure_name(key.measure)),
        value=result.measures[key.measure],
        unit=unit_of(key.measure),
        limit=bound.value,
        at_least=bound.at_least,
        basis=basis_of(bound.limit),
        yes_no=check is not None and check.says_yes_or_no(key.measure),
    )
