"""What a check says: findings at places, measures, curves and painted fields."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from .arrays import FloatArray, IntArray, frozen


class Severity(StrEnum):
    """How bad one finding is."""

    INFO = "info"
    REVIEW = "review"
    FAIL = "fail"


class Status(StrEnum):
    """What a check concludes."""

    PASS = "pass"
    REVIEW = "review"
    FAIL = "fail"
    NOT_CHECKED = "not_checked"


@dataclass(frozen=True)
class Finding:
    """One measured thing at one place.

    Attributes
    ----------
    severity
        ``fail``, ``review`` or ``info``.
    message
        One sentence: what, where, by how much, against which limit.
    object
        Name of the part it is on.
    at_mm
        The place, world space.
    region
        Words for the place, for instance "left cheek".
    value, limit, unit
        The figure, what it was held against (nan: nothing) and the unit of both.
    fix
        What would mend it, in words, with figures.
    remedy
        Name of a fix the sidebar offers (``lift``, ``feather``, ``shorten``, ``extend``), or ``""``.
    remedy_mm
        By how much to shorten or extend; nan where the fix works it out by itself.
    kind, elements
        ``vertices`` or ``faces`` of the object, and their indices.
    exception
        The reason it was accepted with, or None.
    motion, t
        The pose that the place is given in; ``""`` is rest.
    """

    severity: Severity
    message: str
    object: str
    at_mm: tuple[float, float, float]
    region: str
    value: float
    limit: float
    unit: str
    fix: str = ""
    remedy: str = ""
    remedy_mm: float = float("nan")
    kind: str = "vertices"
    elements: IntArray = field(default_factory=lambda: np.zeros(0, np.int64))
    exception: str | None = None
    motion: str = ""
    t: float = 0.0

    def __post_init__(self) -> None:
        """Freeze the indices and make the place plain floats."""
        object.__setattr__(self, "elements", frozen(self.elements, np.int64))
        x, y, z = (float(value) for value in self.at_mm)
        object.__setattr__(self, "at_mm", (x, y, z))


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

    def __post_init__(self) -> None:
        """Freeze the values."""
        object.__setattr__(self, "values", frozen(self.values, np.float64))


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
    """

    measures: Mapping[str, float | str] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    curves: Mapping[str, Curve] = field(default_factory=dict)
    fields: tuple[Field, ...] = ()
    reason: str = ""


def not_checked(reason: str) -> Outcome:
    """Return the outcome of a check that could not measure, with the reason and what to add."""
    return Outcome(reason=reason)
