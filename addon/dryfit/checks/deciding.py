"""The one figure that decided about a check, with its one limit: what every cell, ruler and row shows.

Where something counts against the design it is the figure of the finding that leads; where nothing does, it is the
judged figure that comes nearest to its limit. A figure that did not decide never stands in its place.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ..model.finding import Bound, Severity, Status
from ..model.measure_units import unit_of
from .check import Check


@dataclass(frozen=True)
class Deciding:
    """A figure and its limit.

    Attributes
    ----------
    words
        What it is.
    value, limit, unit
        The figure, what it was held against (nan: nothing), and the unit of both.
    at_least
        Whether a figure below the limit is the worse one.
    measure
        Name of the measure that it is, or ``""`` where it is a finding's own.
    finding
        Id of the finding that it is of, or ``""``.
    limit_name
        Name of the limit, where one of the brief's decided.
    """

    words: str
    value: float
    limit: float = math.nan
    unit: str = ""
    at_least: bool = False
    measure: str = ""
    finding: str = ""
    limit_name: str = ""


def deciding_figure(result: Mapping[str, Any], check: Check | None = None) -> Deciding | None:
    """Return the figure that decided about a check, or None where it has none to show.

    Parameters
    ----------
    result
        A check's result in the layout of the JSON Schema.
    check
        For the words of its figures.
    """
    if result["status"] == Status.NOT_CHECKED:
        return None
    counted = [entry for entry in result["findings"] if _counts(entry)]
    worst = min((Severity(entry["severity"]).rank for entry in counted), default=0)
    told = [of_finding(entry, result, check) for entry in counted if Severity(entry["severity"]).rank == worst]
    beyond = [figure for figure in told if not Bound(figure.limit, figure.at_least).holds(figure.value)]
    return next(iter(beyond or told), None) or _nearest(result, check)


def _counts(entry: Mapping[str, Any]) -> bool:
    judged = entry["value"] is not None and entry["exception"] is None
    return judged and entry["severity"] != Severity.INFO


def of_finding(entry: Mapping[str, Any], result: Mapping[str, Any], check: Check | None = None) -> Deciding:
    """Return a finding's own figure with the limit that it was held against; both in the JSON Schema's layout."""
    value = math.nan if entry["value"] is None else float(entry["value"])
    limit = math.nan if entry["limit"] is None else float(entry["limit"])
    measure = _same_measure(value, result)
    words = _words(measure, check) if measure else f"at the {entry['region']}" if entry["region"] else "worst place"
    bound = result.get("judged", {}).get(measure)
    at_least = bool(bound["at_least"]) if bound else value < limit
    named = str(bound["limit"]) if bound and bound["value"] == entry["limit"] else ""
    return Deciding(words, value, limit, str(entry["unit"]), at_least, measure, str(entry["id"]), named)


def _same_measure(value: float, result: Mapping[str, Any]) -> str:
    """Return the name of the judged measure that a finding's figure is, or ``""``."""
    for measure in (*result.get("judged", {}), *result["measures"]):
        held = result["measures"].get(measure)
        own = not measure.startswith("bare_")
        if own and isinstance(held, int | float) and math.isclose(held, value, rel_tol=1e-5, abs_tol=1e-6):
            return str(measure)
    return ""


def _nearest(result: Mapping[str, Any], check: Check | None) -> Deciding | None:
    """Return the judged figure that uses most of its limit; where nothing is judged, the first that leads."""
    found = []
    leading = {figure.measure for figure in check.leading} if check else set()
    judged = result.get("judged", {})
    for measure, bound in ({name: judged[name] for name in judged if name in leading} or judged).items():
        value, limit = result["measures"].get(measure), bound["value"]
        if not is_own(measure, value, result["measures"]) or limit is None:
            continue
        unit = unit_of(measure)
        deciding = Deciding(
            _words(measure, check), float(value), float(limit), unit, bound["at_least"], measure,
            limit_name=str(bound["limit"]),
        )  # fmt: skip
        found.append((_used(deciding), deciding))
    if found:
        return max(found, key=lambda each: each[0])[1]
    for figure in check.leading if check else ():
        value = result["measures"].get(figure.measure)
        if isinstance(value, int | float) and math.isfinite(value):
            return Deciding(_words(figure.measure, check), float(value), math.nan, unit_of(figure.measure), False,
                            figure.measure)  # fmt: skip
    return None


def is_own(measure: str, value: object, measures: Mapping[str, Any]) -> bool:
    """Tell whether a figure is the design's and not the bare face's, which no design can better."""
    if measure.startswith("bare_") or not isinstance(value, int | float):
        return False
    bare = measures.get(f"bare_{measure}")
    return not (isinstance(bare, int | float) and math.isclose(bare, value, rel_tol=1e-3))


def _used(figure: Deciding) -> float:
    """Return the share of its limit that a figure uses."""
    if figure.at_least:
        return figure.limit / figure.value if figure.value > 0.0 else math.inf
    return figure.value / figure.limit if figure.limit > 0.0 else 0.0


def _words(measure: str, check: Check | None) -> str:
    leading = {figure.measure: figure.words for figure in check.leading} if check else {}
    described = dict(check.measured) if check else {}
    words = leading.get(measure) or described.get(measure, "").partition(",")[0].partition(";")[0].partition(":")[0]
    return words or measure.split(".")[0].replace("_", " ")
