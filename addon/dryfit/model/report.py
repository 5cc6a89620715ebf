"""The report: every check's result on one variant, with the limits it was held against."""

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from types import MappingProxyType
from typing import Any

from .exceptions import WrittenException
from .finding import Bound, Curve, Field, Finding, Severity, Status, worst

SCHEMA = "dryfit.report/1"


@dataclass(frozen=True)
class CheckResult:
    """One check's result. See ``Outcome`` for the fields it shares.

    ``decided`` is the one figure that decided about it, with its limit (``checks.deciding``); empty where it has none.
    """

    id: str
    status: Status
    reason: str
    seconds: float
    measures: Mapping[str, float | str]
    findings: tuple[Finding, ...]
    curves: Mapping[str, Curve]
    fields: tuple[Field, ...] = ()
    judged: Mapping[str, Bound] = field(default_factory=dict)
    fault: bool = False
    decided: Mapping[str, Any] = field(default_factory=dict)

    def numbered(self) -> list[tuple[str, Finding]]:
        """Return the findings with their ids: ``additive-1``, ``additive-2`` ..."""
        return [(f"{self.id}-{number}", finding) for number, finding in enumerate(self.findings, start=1)]


@dataclass(frozen=True)
class VariantIdentity:
    """Which design was measured."""

    name: str
    source: str
    sha256: str


@dataclass(frozen=True)
class BaseIdentity:
    """Which base it was measured against, and whether that is still the locked one."""

    object: str
    lock: str
    fingerprint: str
    max_change_mm: float


@dataclass(frozen=True)
class Report:
    """Everything measured on one variant; ``headline`` says it in a sentence (``checks.headline``)."""

    dryfit: str
    variant: VariantIdentity
    base: BaseIdentity
    checks: tuple[CheckResult, ...]
    exceptions: tuple[WrittenException, ...] = ()
    limits: Mapping[str, Any] = field(default_factory=dict)
    inputs: Mapping[str, Any] = field(default_factory=dict)
    headline: str = ""

    @property
    def faults(self) -> tuple[str, ...]:
        """Ids of the checks that broke down."""
        return tuple(check.id for check in self.checks if check.fault)

    @property
    def verdict(self) -> Status:
        """The worst status of all checks."""
        return worst([check.status for check in self.checks])

    def told_by(self) -> dict[str, str]:
        """Return what tells of the same cause before: id of a finding -> id of the first one that stands with it."""
        first: dict[str, str] = {}
        told = {}
        for name, finding in (entry for check in self.checks for entry in check.numbered()):
            if finding.cause and finding.exception is None and finding.severity != Severity.INFO:
                if finding.cause in first:
                    told[name] = first[finding.cause]
                first.setdefault(finding.cause, name)
        return told

    def check(self, check_id: str) -> CheckResult:
        """Return one check's result.

        Raises
        ------
        KeyError
            When that check was not run.
        """
        for check in self.checks:
            if check.id == check_id:
                return check
        raise KeyError(check_id)

    def to_dict(self) -> dict[str, Any]:
        """Return the report as plain values in the layout of the JSON Schema; nan and inf become null."""
        return {
            "schema": SCHEMA,
            "dryfit": self.dryfit,
            "variant": vars(self.variant).copy(),
            "base": vars(self.base) | {"max_change_mm": plain(self.base.max_change_mm)},
            "verdict": str(self.verdict),
            "headline": self.headline,
            "checks": [check_dict(check) for check in self.checks],
            "exceptions": [vars(exception).copy() for exception in self.exceptions],
            "limits": dict(self.limits),
            "inputs": dict(self.inputs),
        }

    def to_json(self) -> str:
        """Return the report as JSON text, keys in a fixed order, ending in a newline."""
        return json.dumps(self.to_dict(), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def plain(value: Any) -> Any:
    """Return a JSON value: numpy numbers become Python's, nan and inf become None, floats get 6 decimals."""
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, str):
        return str(value)
    if isinstance(value, int) or (hasattr(value, "dtype") and value.dtype.kind in "iub"):
        return int(value)
    number = float(value)
    return round(number, 6) if math.isfinite(number) else None


def check_dict(check: CheckResult) -> dict[str, Any]:
    """Return one check's result as plain values in the layout of the JSON Schema."""
    return {
        "id": check.id,
        "status": str(check.status),
        "reason": check.reason,
        "seconds": round(check.seconds, 3),
        "measures": {name: plain(value) for name, value in check.measures.items()},
        "judged": {name: _bound_dict(bound) for name, bound in check.judged.items() if math.isfinite(bound.value)},
        "decided": {name: plain(value) for name, value in check.decided.items()},
        "curves": {name: _curve_dict(curve) for name, curve in check.curves.items()},
        "findings": [_finding_dict(name, finding) for name, finding in check.numbered()],
    }


def _bound_dict(bound: Bound) -> dict[str, Any]:
    return {"value": plain(bound.value), "at_least": bound.at_least, "limit": bound.limit}


def _curve_dict(curve: Curve) -> dict[str, Any]:
    return {
        "x": [plain(value) for value in curve.x],
        "y": [plain(value) for value in curve.y],
        "x_label": curve.x_label,
        "y_label": curve.y_label,
    }


def _finding_dict(name: str, finding: Finding) -> dict[str, Any]:
    """Return a finding's fields under their own names, but for those in ``GROUPED`` and ``BESIDE_JSON``."""
    values: dict[str, Any] = {"id": name}
    for entry in fields(finding):
        if entry.name in GROUPED:
            values |= GROUPED[entry.name](finding)
        elif entry.name not in BESIDE_JSON:
            values[entry.name] = plain(getattr(finding, entry.name))
    return values


def _place_dict(finding: Finding) -> dict[str, Any]:
    place = finding.place
    return {
        "object": place.object,
        "at_mm": [plain(value) for value in place.at_mm],
        "pose": {"motion": place.motion, "t": plain(place.t)},
        "region": place.region,
    }


def _elements_dict(finding: Finding) -> dict[str, Any]:
    return {"elements": {"kind": finding.kind, "count": len(finding.elements)}}


GROUPED: Mapping[str, Callable[[Finding], dict[str, Any]]] = MappingProxyType(
    {"place": _place_dict, "kind": _elements_dict, "elements": _elements_dict}
)
"""Fields of a finding that JSON lays out in its own way."""
BESIDE_JSON = ("remedy", "remedy_mm")
"""Fields that only the sidebar has use for; it keeps them beside the report."""
