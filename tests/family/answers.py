"""One question of the family: what was measured, what is true, and whether the two agree."""

from collections.abc import Callable
from dataclasses import dataclass

ROWS = {}
"""Row id -> row, in the order they are written down."""


@dataclass(frozen=True)
class Answer:
    """A figure or a word against its truth.

    Attributes
    ----------
    measured, truth
        Said with their unit.
    right
        Whether they agree within the tolerance.
    """

    measured: str
    truth: str
    right: bool


@dataclass(frozen=True)
class Row:
    """A question asked of one member through the public door."""

    id: str
    item: str
    asks: str
    answer: Callable[[], Answer]
    slow: bool = False


def row(row_id, item, asks, slow=False):
    """Enter a function that returns an ``Answer`` as a row of the table."""

    def enter(answer):
        if row_id in ROWS:
            raise ValueError(f"there is a row {row_id} already")
        ROWS[row_id] = Row(row_id, item, asks, answer, slow)
        return answer

    return enter


def near(measured, truth, tolerance, unit="mm"):
    """Return whether a figure is within a tolerance of the truth; nan never is."""
    right = bool(abs(measured - truth) <= tolerance)
    return Answer(f"{measured:.2f} {unit}", f"{truth:.2f} ± {tolerance:g} {unit}", right)


def within(measured, low, high, unit="mm"):
    """Return whether a figure is between two bounds; nan never is."""
    return Answer(f"{measured:.2f} {unit}", f"{low:.2f} to {high:.2f} {unit}", bool(low <= measured <= high))


def at_most(measured, most, unit="mm"):
    """Return whether a figure is no more than a bound; nan never is."""
    return Answer(f"{measured:.2f} {unit}", f"at most {most:g} {unit}", bool(measured <= most))


def at_least(measured, least, unit="mm"):
    """Return whether a figure is no less than a bound; nan never is."""
    return Answer(f"{measured:.2f} {unit}", f"at least {least:g} {unit}", bool(measured >= least))


def one_of(measured, *allowed):
    """Return whether a word is one of those that are true."""
    return Answer(str(measured), " or ".join(allowed), str(measured) in allowed)


def none_of(measured, words):
    """Return whether a list is empty, as it should be; ``words`` says of what."""
    said = "; ".join(map(str, measured)) or "none"
    return Answer(said if len(said) < 160 else f"{said[:157]}...", f"no {words}", not measured)
