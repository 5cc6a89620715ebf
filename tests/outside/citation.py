"""Where a check value comes from, what it says, and whether anybody of the project saw it."""

from dataclasses import dataclass
from enum import StrEnum


class Seen(StrEnum):
    """How a check value came here."""

    READ = "read"
    QUOTED = "read where another text quotes it"
    RECALLED = "recalled"
    RUN = "run beside Dryfit"


class Kind(StrEnum):
    """What a source is."""

    STANDARD = "standard"
    HANDBOOK = "handbook"
    PAPER = "paper"
    LIBRARY = "library"


@dataclass(frozen=True)
class CheckValue:
    """One figure that somebody else stated, and the test that holds Dryfit's own code to it.

    Attributes
    ----------
    check : str
        Id of the check whose figures rest on it.
    says : str
        What the source says, in figures and units.
    seen : Seen
    test : str
        Name of a test in the source's own file, or ``path::name`` of one elsewhere.
    """

    check: str
    says: str
    seen: Seen
    test: str


@dataclass(frozen=True)
class Source:
    """Something outside the project: its full citation and the check values taken from it."""

    name: str
    kind: Kind
    citation: str
    values: tuple[CheckValue, ...]
