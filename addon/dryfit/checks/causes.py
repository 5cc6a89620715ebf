"""What is wrong, cause by cause: findings that come of one thing stand together, whichever check speaks of them.

It reads a report in the layout of its JSON Schema, so that one that was stored is told as one that was just measured.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from ..model.finding import Severity, Status
from ..model.snapshot import Role

MOUTH = ("closure", "coverage", "interference")
"""Checks that speak of the same teeth: what is too long stops the jaw, shows, and runs into something."""
WALL = ("additive", "thickness")
"""A piece that dips below the skin has no wall there."""
BY_UNIT = ("strain",)
"""Checks that ask two things of a piece, told apart by the unit of the figure."""
APART = ("base_lock",)
"""Checks of which each finding is a thing by itself."""
TEETH = (Role.UPPER_TEETH, Role.LOWER_TEETH)


@dataclass(frozen=True)
class Told:
    """A finding, in the layout of the JSON Schema, with the check that it is of."""

    check: str
    entry: Mapping[str, Any]

    @property
    def severity(self) -> Severity:
        """How bad it is."""
        return Severity(self.entry["severity"])

    @property
    def id(self) -> str:
        """Its id: ``additive-1``."""
        return str(self.entry["id"])


@dataclass(frozen=True)
class Cause:
    """Findings that come of one thing, in the report's order, worst first."""

    findings: tuple[Told, ...]

    @property
    def severity(self) -> Severity:
        """The worst of its findings'."""
        return min((told.severity for told in self.findings), key=lambda each: each.rank)

    @property
    def leading(self) -> Told:
        """The finding that tells it best: the first of those that are worst."""
        return next(told for told in self.findings if told.severity == self.severity)

    def of(self, *checks: str) -> list[Told]:
        """Return the findings of some checks."""
        return [told for told in self.findings if told.check in checks]


def causes(report: Mapping[str, Any], outdated: Collection[str] = ()) -> list[Cause]:
    """Return what counts against a design, a cause at a time, the worst first.

    Parameters
    ----------
    report
        In the layout of the JSON Schema.
    outdated
        Ids of checks whose findings no longer hold; they are left out.
    """
    roles = {part["name"]: part["role"] for part in report["inputs"].get("parts", ())}
    groups: list[tuple[set[str], list[Told]]] = []
    for told in _counting(report, outdated):
        keys, members = {*_keys(told, roles)}, [told]
        for group in [group for group in groups if group[0] & keys]:
            keys |= group[0]
            members = group[1] + members
            groups.remove(group)
        groups.append((keys, members))
    order = {told.id: place for place, told in enumerate(_counting(report, outdated))}
    found = [Cause(tuple(sorted(members, key=lambda told: order[told.id]))) for _, members in groups]
    return sorted(found, key=lambda cause: (cause.severity.rank, order[cause.leading.id]))


def _counting(report: Mapping[str, Any], outdated: Collection[str]) -> Iterator[Told]:
    """Yield the findings that count: nobody accepted them, and they are no mere notes."""
    for check in report["checks"]:
        if check["id"] in outdated or check["status"] == Status.NOT_CHECKED:
            continue
        for entry in check["findings"]:
            if entry["exception"] is None and entry["severity"] != Severity.INFO:
                yield Told(check["id"], entry)


def _keys(told: Told, roles: Mapping[str, str]) -> Iterator[str]:
    """Yield what a finding may have in common with others of one cause."""
    entry = told.entry
    where = f"{entry['object']}/{entry['region']}"
    if entry.get("cause"):
        yield f"cause {entry['cause']}"
    if entry["region"] == "landmarks":
        yield f"landmarks {entry['fix']}"
    elif told.check in MOUTH and roles.get(entry["object"]) in TEETH:
        yield f"mouth {entry['object']}"
    elif told.check in WALL:
        yield f"wall {where}"
    elif told.check in APART:
        yield told.id
    elif not entry.get("cause"):
        unit = entry["unit"] if told.check in BY_UNIT else ""
        yield f"{told.check} {entry['object']} {unit}"
