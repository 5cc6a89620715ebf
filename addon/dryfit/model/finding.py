"""What a check says: findings at places, measures, curves and painted fields."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

import numpy as np

from .arrays import FloatArray, IntArray, frozen


class WorstFirst(StrEnum):
    """Words that are declared in order, the worst first: the only place where that order is written."""

    @property
    def rank(self) -> int:
        """Its place in the order: 0 is the worst, and what is sorted by it stands worst first."""
        return tuple(type(self)).index(self)


class Severity(WorstFirst):
    """How bad one finding is."""

    FAIL = "fail"
    REVIEW = "review"
    INFO = "info"

    def or_worse(self, other: "Severity") -> "Severity":
        """Return the worse of the two."""
        return min(self, other, key=lambda each: each.rank)


class Status(WorstFirst):
    """What a check concludes. What could not be measured is worse than a pass, and better than what was found bad."""

    FAIL = "fail"
    REVIEW = "review"
    NOT_CHECKED = "not_checked"
    PASS = "pass"


SEVERITY_WORDS: Mapping[str, str] = MappingProxyType(
    {Severity.FAIL: "Fail", Severity.REVIEW: "Review", Severity.INFO: "Note"}
)
STATUS_WORDS: Mapping[str, str] = MappingProxyType(
    {Status.FAIL: "Fail", Status.REVIEW: "Review", Status.NOT_CHECKED: "Not checked", Status.PASS: "Pass"}
)
"""What people read for them, on the page, in the terminal and in the sidebar."""


def worst(statuses: Iterable[Status]) -> Status:
    """Return the worst of some statuses; none at all is ``not_checked``."""
    return min(statuses, key=lambda status: status.rank, default=Status.NOT_CHECKED)


def status_of(severities: Iterable[Severity], reason: str) -> Status:
    """Return a check's status from what it found and what it could not measure: the worse of the two.

    A reason makes a check ``not_checked`` unless something it did measure fails or is to be reviewed: what could not
    be measured never reads as a pass, and never hides a failure.

    Parameters
    ----------
    severities
        Of the findings that nobody accepted.
    reason
        Why all or part of it could not be measured, or ``""``.
    """
    unmeasured = Status.NOT_CHECKED if reason else Status.PASS
    return worst([unmeasured, *(Status(severity) for severity in severities if severity != Severity.INFO)])


@dataclass(frozen=True)
class Place:
    """Where something is found.

    Attributes
    ----------
    object
        Name of the part it is on.
    at_mm
        The point, world space, in the pose below.
    region
        Words for it, for instance "left cheek".
    motion, t
        The pose that the point is given in; ``""`` is rest.
    """

    object: str
    at_mm: tuple[float, float, float]
    region: str
    motion: str = ""
    t: float = 0.0

    def __post_init__(self) -> None:
        """Make the point plain floats."""
        x, y, z = (float(value) for value in self.at_mm)
        object.__setattr__(self, "at_mm", (x, y, z))


@dataclass(frozen=True)
class Finding:
    """One measured thing at one place.

    A field that is added here appears in JSON under its own name and in the sidebar's list; what the schema, the page
    and the text say of it is held against these fields by a test.

    Attributes
    ----------
    severity
        ``fail``, ``review`` or ``info``.
    message
        One sentence: what, where, by how much, against which limit.
    place
        Where; its parts can be asked of the finding itself.
    value, limit, unit
        The figure, what it was held against (nan: nothing) and the unit of both.
    kind, elements
        ``vertices`` or ``faces`` of the part, and their indices.
    fix
        What would mend it, in words, with figures.
    exception
        The reason it was accepted with, or None.
    remedy
        Name of a fix the sidebar offers (``lift``, ``feather``, ``shorten``, ``extend``), or ``""``.
    remedy_mm
        By how much to shorten or extend; nan where the fix works it out by itself.
    cause
        What is wrong, in words: the same on every finding that comes of one thing, also of other checks; ``""`` where
        a finding stands for itself.
    """

    severity: Severity
    message: str
    place: Place
    value: float
    limit: float = float("nan")
    unit: str = "mm"
    kind: str = "vertices"
    elements: IntArray = field(default_factory=lambda: np.zeros(0, np.int64))
    fix: str = ""
    exception: str | None = None
    remedy: str = ""
    remedy_mm: float = float("nan")
    cause: str = ""

    def __post_init__(self) -> None:
        """Freeze the indices."""
        object.__setattr__(self, "elements", frozen(self.elements, np.int64))

    @property
    def object(self) -> str:
        """Name of the part it is on."""
        return self.place.object

    @property
    def at_mm(self) -> tuple[float, float, float]:
        """The point, world space, in its pose."""
        return self.place.at_mm

    @property
    def region(self) -> str:
        """Words for the place."""
        return self.place.region

    @property
    def motion(self) -> str:
        """The motion that the place is given in, or ``""``."""
        return self.place.motion

    @property
    def t(self) -> float:
        """Where in that motion."""
        return self.place.t


@dataclass(frozen=True)
class Curve:
    """A plotted relation; every label carries its unit."""

    x: tuple[float, ...]
    y: tuple[float, ...]
    x_label: str
    y_label: str


@dataclass(frozen=True)
class Field:
    """A value on every vertex of a part, to be painted.

    Attributes
    ----------
    name
        Short name, for instance ``clearance``.
    part
        Name of the part.
    values
        ``(n,)``, nan where not measured.
    unit, label
        Unit, and words for the legend.
    low, high
        The values at the ends of the colour scale.
    limit
        The value at which it becomes a finding, or nan.
    diverging
        Whether zero is the middle of the scale.
    motion, t
        The pose at which it was measured; ``""`` is rest.
    decided
        Whether it is shown beside what was found; False where another field of the same check decided.
    """

    name: str
    part: str
    values: FloatArray
    unit: str
    label: str
    low: float
    high: float
    limit: float = float("nan")
    diverging: bool = False
    motion: str = ""
    t: float = 0.0
    decided: bool = True

    def __post_init__(self) -> None:
        """Freeze the values."""
        object.__setattr__(self, "values", frozen(self.values, np.float64))


@dataclass(frozen=True)
class Bound:
    """What decided about a figure.

    Attributes
    ----------
    value
        The limit, in the figure's own unit; inf or -inf where here everything is allowed.
    at_least
        True where a figure below the limit is the worse one.
    limit
        Name of the limit that it comes from, or ``""`` where it is a piece's own or the bare face's.
    """

    value: float
    at_least: bool = False
    limit: str = ""

    def holds(self, figure: float) -> bool:
        """Tell whether a figure keeps to it; nan never does, and rounding by a millionth is no matter."""
        slack = 1e-6 * max(1.0, abs(self.value)) if np.isfinite(self.value) else 0.0
        return figure >= self.value - slack if self.at_least else figure <= self.value + slack


@dataclass(frozen=True)
class Outcome:
    """What one check hands back.

    Attributes
    ----------
    measures
        Measure name -> figure. Names and units are fixed; nan means that one figure could not be had.
    findings
        What is wrong or worth a word, worst first.
    curves, fields
        What to plot and to paint.
    reason
        Where all or part of it could not be measured: why, and what to add. Then the status is ``not_checked``, unless
        what was measured fails or is to be reviewed.
    judged
        Measure -> the bound that decided about it, where that is not simply the limit that the check's leading figure
        names; None where nothing is asked of that figure here.
    fault
        Whether the check itself broke down.
    """

    measures: Mapping[str, float | str] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    curves: Mapping[str, Curve] = field(default_factory=dict)
    fields: tuple[Field, ...] = ()
    reason: str = ""
    judged: Mapping[str, Bound | None] = field(default_factory=dict)
    fault: bool = False


def not_checked(reason: str) -> Outcome:
    """Return the outcome of a check that could not measure, with the reason and what to add."""
    return Outcome(reason=reason)
