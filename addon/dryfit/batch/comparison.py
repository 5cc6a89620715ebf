"""What changed between revisions of a design: is this still the one that was approved?"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

from ..model.errors import UnreadableFile
from ..model.report import SCHEMA
from ..report.wording import unit_of

REPEATABLE: Mapping[str, float] = {
    "mm": 0.05, "mm2": 1.0, "mm3": 10.0, "deg": 0.2, "g": 0.5, "fraction": 0.01, "n_cm": 0.5, "t": 0.005, "count": 0.0,
}  # fmt: skip
"""Changes smaller than this mean nothing: the noise floor of a scan or print (common practice, no source)."""
REPEATABLE_SHARE = 0.01
"""Nor do changes below this share of the figure (common practice, no source)."""
WORSE = ("pass", "not_checked", "review", "fail")


@dataclass(frozen=True)
class Flip:
    """A check whose status changed."""

    check: str
    before: str
    after: str

    @property
    def worse(self) -> bool:
        """Whether it changed for the worse."""
        return WORSE.index(self.after) > WORSE.index(self.before)


@dataclass(frozen=True)
class Move:
    """A figure that moved beyond repeatability; None on a side where it was not measured."""

    check: str
    measure: str
    before: float | str | None
    after: float | str | None
    unit: str


@dataclass(frozen=True)
class Comparison:
    """One revision against the one before it.

    Attributes
    ----------
    before, after
        Names of the two.
    same_design, same_base
        Whether the design file and the base are the same, byte for byte and vertex for vertex.
    flips, moves
        What changed.
    """

    before: str
    after: str
    same_design: bool
    same_base: bool
    flips: tuple[Flip, ...]
    moves: tuple[Move, ...]


def read_report(path: Path) -> dict[str, Any]:
    """Read a ``report.json``, or the one in a folder.

    Raises
    ------
    UnreadableFile
        When it is no Dryfit report.
    """
    file = path / "report.json" if path.is_dir() else path
    try:
        report: dict[str, Any] = json.loads(file.read_text(encoding="utf8"))
    except (OSError, ValueError) as error:
        raise UnreadableFile(str(file), f"it is not a report ({error})") from error
    if not isinstance(report, dict) or report.get("schema") != SCHEMA:
        raise UnreadableFile(str(file), f"it is not a {SCHEMA} report")
    return report


def compare(before: Mapping[str, Any], after: Mapping[str, Any]) -> Comparison:
    """Compare two reports as read by ``read_report``."""
    old = {check["id"]: check for check in before["checks"]}
    new = {check["id"]: check for check in after["checks"]}
    both = [check for check in new if check in old]
    return Comparison(
        before=before["variant"]["name"],
        after=after["variant"]["name"],
        same_design=before["variant"]["sha256"] == after["variant"]["sha256"] != "",
        same_base=before["base"]["fingerprint"] == after["base"]["fingerprint"],
        flips=tuple(
            Flip(check, old[check]["status"], new[check]["status"])
            for check in both
            if old[check]["status"] != new[check]["status"]
        ),
        moves=tuple(move for check in both for move in _moves(check, old[check]["measures"], new[check]["measures"])),
    )


def _moves(check: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[Move]:
    for measure in dict.fromkeys([*old, *new]):
        before, after, unit = old.get(measure), new.get(measure), unit_of(measure)
        if _moved(before, after, unit):
            yield Move(check, measure, before, after, unit)


def _moved(before: float | str | None, after: float | str | None, unit: str) -> bool:
    if not (isinstance(before, int | float) and isinstance(after, int | float)):
        return before != after
    noise = max(REPEATABLE.get(unit, 0.0), REPEATABLE_SHARE * max(abs(before), abs(after)))
    return abs(after - before) > noise


def chain(paths: Sequence[Path]) -> list[Comparison]:
    """Compare each report with the one before it, in the given order.

    Raises
    ------
    UnreadableFile
        When one is no report.
    """
    reports = [read_report(path) for path in paths]
    return [compare(before, after) for before, after in pairwise(reports)]


def told(comparison: Comparison) -> str:
    """Return a comparison in words for a terminal."""
    lines = [f"{comparison.before} -> {comparison.after}"]
    lines.append("  " + ("The same base." if comparison.same_base else "ANOTHER BASE: figures are not like for like."))
    if comparison.same_design:
        lines.append("  The same design file, byte for byte.")
    for flip in comparison.flips:
        way = "worse" if flip.worse else "better"
        lines.append(f"  {flip.check}: {_plain(flip.before)} -> {_plain(flip.after)} ({way})")
    for move in comparison.moves:
        lines.append(
            f"  {move.check}.{move.measure}: {_figure(move.before)} -> {_figure(move.after)} {move.unit}".rstrip()
        )
    if not comparison.flips and not comparison.moves:
        lines.append("  No check changed its word and no figure moved beyond repeatability.")
    return "\n".join(lines) + "\n"


def _plain(status: str) -> str:
    return status.replace("_", " ")


def _figure(value: float | str | None) -> str:
    if value is None:
        return "not measured"
    return f"{value:.3g}" if isinstance(value, float) and abs(value) < 100 else str(value)
