"""Curves of a check as small SVG plots, with limits and events marked and named."""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from ..checks.check import Check, PlotLine, Plotted
from ..model.finding import Curve
from ..model.measure_units import unit_of
from ..model.report import CheckResult
from .curve_svg import RuledLine, Stroke, chart_svg
from .palette import FAINT_INK, INK, STATUS_INKS
from .wording import measure_name, with_unit

BARE = "bare_"
BY_SIDE = re.compile(r"(.+_by_(?:t|age))_(.+)")
STROKES = (
    (STATUS_INKS["pass"], ""), (STATUS_INKS["review"], "12 4"), ("6B3A75", "4 3"),
    (INK, "16 4 3 4"), (STATUS_INKS["not_checked"], ""), ("2F6B3A", "8 3"),
)  # fmt: skip
"""Colour and dash of each curve: never told apart by colour alone."""


@dataclass(frozen=True)
class Plot:
    """One drawn curve: its name, a title, words for those who cannot see it, and SVG."""

    name: str
    title: str
    words: str
    svg: str


@dataclass(frozen=True)
class Family:
    """Curves that belong in one plot, with the word that tells each apart."""

    name: str
    members: tuple[tuple[str, Curve], ...]

    @property
    def x_label(self) -> str:
        """The words that all labels along x share."""
        return _shared([curve.x_label for _, curve in self.members], "share of the motion, 0 to 1")

    @property
    def y_label(self) -> str:
        """The words that all labels along y share."""
        return _shared([curve.y_label for _, curve in self.members], "value")


def families(curves: Mapping[str, Curve]) -> list[Family]:
    """Return the curves sorted into plots; curves with fewer than two finite points are left out.

    A bare base goes with its design, and one measure goes together in several motions or on both sides.
    """
    grouped: dict[str, list[tuple[str, Curve]]] = {}
    for name, curve in curves.items():
        if len(finite_points(curve)) < 2:
            continue
        own = name.removeprefix(BARE)
        member = "bare base" if own != name else ""
        if found := BY_SIDE.fullmatch(own):
            own, member = found[1], " ".join(filter(None, (member, found[2].replace("_", " "))))
        grouped.setdefault(own, []).append((member, curve))
    return [Family(name, tuple(members)) for name, members in grouped.items()]


def finite_points(curve: Curve) -> list[tuple[float, float]]:
    """Return the points whose both values are finite."""
    pairs = zip(curve.x, curve.y, strict=False)
    return [(x, y) for x, y in pairs if math.isfinite(x) and math.isfinite(y)]


def _shared(labels: list[str], otherwise: str) -> str:
    first, *others = labels
    kept = [word for word in first.split() if all(word in other.split() for other in others)]
    return first if not others else " ".join(kept).strip(" ,") if len(kept) > 1 else otherwise


def draw_plots(result: CheckResult, limits: Mapping[str, Any], check: Check | None = None) -> Iterator[Plot]:
    """Draw every curve of a check that has at least two points, related ones together.

    Parameters
    ----------
    result
        The curves, and the measures that reference lines stand at.
    limits
        The limits that others stand at, as a report has them.
    check
        Says how its curves are plotted; without it they are plotted under their own names.
    """
    for family in families(result.curves):
        plotted = check.plotted(family.name) if check else Plotted(family.name)
        drawn = _svg(family, plotted, list(_placed_lines(plotted, result, limits)))
        yield Plot(family.name, curve_title(plotted), _words(family), drawn)


def curve_title(plotted: Plotted) -> str:
    """Return the title of a curve's plot: its check's words, else its own name."""
    return plotted.title or measure_name(plotted.curve).capitalize()


def _placed_lines(plotted: Plotted, result: CheckResult, limits: Mapping[str, Any]) -> Iterator[tuple[PlotLine, float]]:
    for line in plotted.lines:
        value = result.measures.get(line.source, limits[line.source]["value"] if line.source in limits else None)
        if isinstance(value, int | float) and math.isfinite(value):
            yield line, float(value)


def _words(family: Family) -> str:
    said = []
    for member, curve in family.members:
        points = finite_points(curve)
        low, high = min(points, key=lambda point: point[1]), max(points, key=lambda point: point[1])
        lead = f"{member}: " if member else ""
        said.append(f"{lead}from {low[1]:.2f} (at {low[0]:.2f}) to {high[1]:.2f} (at {high[0]:.2f})")
    return f"{family.y_label} against {family.x_label}. {'; '.join(said)}."


def _svg(family: Family, plotted: Plotted, lines: list[tuple[PlotLine, float]]) -> str:
    strokes = list(_strokes(family, plotted.own_words or "with the design"))
    return chart_svg(strokes, [_ruled(line, value) for line, value in lines], family.x_label, family.y_label)


def _strokes(family: Family, own_words: str) -> Iterator[Stroke]:
    own = [entry for entry in family.members if not entry[0].startswith("bare")]
    for place, (member, curve) in enumerate(own or family.members):
        ink, dash = STROKES[place % len(STROKES)]
        yield Stroke(finite_points(curve), ink, dash, member or own_words)
    for member, curve in family.members if own else ():
        if member.startswith("bare"):
            yield Stroke(finite_points(curve), FAINT_INK, "2 2", member)


def _ruled(line: PlotLine, value: float) -> RuledLine:
    unit = unit_of(line.source)
    return RuledLine(
        line.axis, value, f"{line.words}: {format(value, '.2f') if unit == 't' else with_unit(value, unit)}"
    )
