"""Curves of a check as small SVG plots, with limits and events marked and named."""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from ..checks.check import Check, Drawn, PlotLine, Plotted
from ..model.finding import Curve
from ..model.measure_units import unit_of
from ..model.report import CheckResult
from .curve_svg import RuledLine, Stroke, chart_svg
from .palette import FAINT_INK, INK, STATUS_INKS
from .round_svg import round_svg
from .section_svg import section_svg
from .wording import measure_name, with_unit

BARE = "bare_"
BY_SIDE = re.compile(r"(.+_by_(?:t|age|distance))_(.+)")
FAILING, LIMIT = "failing span", "limit"
"""Members of a family that are drawn as what decided and as what it was held against."""
ALIKE = 0.02
"""Curves that differ nowhere by more than this share of the largest value drawn are one, or say nothing."""
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
    def own(self) -> tuple[tuple[str, Curve], ...]:
        """The members that are of the design."""
        return tuple(entry for entry in self.members if not entry[0].startswith("bare"))

    def says_nothing(self, scale: float = 0.0) -> bool:
        """Tell whether there is a limit alone, or nothing but what the bare base shows, on a plot of some scale."""
        if all(member == LIMIT for member, _ in self.members):
            return True
        bare = {member.removeprefix("bare base").strip(): curve for member, curve in self.members if
                member.startswith("bare")}  # fmt: skip
        return bool(bare) and all(member in bare and _alike(curve, bare[member], scale) for member, curve in self.own)

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


def _alike(one: Curve, other: Curve, scale: float = 0.0) -> bool:
    """Tell whether two curves over the same points would be drawn as one line."""
    if one.x != other.x:
        return False
    pairs = [(a, b) for a, b in zip(one.y, other.y, strict=True) if math.isfinite(a) or math.isfinite(b)]
    most = max((abs(value) for pair in pairs for value in pair if math.isfinite(value)), default=0.0)
    most = max(most, scale)
    return all(abs(a - b) <= ALIKE * most for a, b in pairs)


def _joined(family: Family, own_words: str) -> Family:
    """Return a family with curves that would hide each other joined into one, which says whose it is."""
    kept: list[tuple[str, Curve]] = []
    for member, drawn in family.members:
        curve = replace(drawn, x_label=family.x_label, y_label=family.y_label)
        twin = next((place for place, (name, other) in enumerate(kept) if _same_kind(name, member) and
                     _alike(other, curve)), None)  # fmt: skip
        if twin is None:
            kept.append((member, curve))
        else:
            kept[twin] = (f"{kept[twin][0] or own_words}, {member or own_words}", kept[twin][1])
    return Family(family.name, tuple(kept))


def _same_kind(one: str, other: str) -> bool:
    return one.startswith("bare") == other.startswith("bare") and LIMIT not in (one, other)


def _shared(labels: list[str], otherwise: str) -> str:
    first, *others = labels
    kept = [word for word in first.split() if all(word in other.split() for other in others)]
    return first if not others else " ".join(kept).strip(" ,") if len(kept) > 1 else otherwise


def draw_plots(result: CheckResult, limits: Mapping[str, Any], check: Check | None = None) -> Iterator[Plot]:
    """Draw every curve of a check that has something to say, related ones together.

    Left out is what has fewer than two points, lacks the measure that it is drawn for, or is as on the bare base.

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
        lines = list(_placed_lines(plotted, result, limits))
        scale = max((abs(placed.value) for placed in lines if placed.line.axis == "y"), default=0.0)
        if family.says_nothing(scale) or (plotted.needs and not any(name in result.measures for name in plotted.needs)):
            continue
        joined = _joined(family, plotted.own_words or "with the design")
        drawn = _svg(joined, plotted, lines)
        yield Plot(family.name, curve_title(plotted), _words(joined), drawn)


def curve_title(plotted: Plotted) -> str:
    """Return the title of a curve's plot: its check's words, else its own name."""
    return plotted.title or measure_name(plotted.curve).capitalize()


@dataclass(frozen=True)
class Placed:
    """A reference line with its value, and how far along the other axis it applies (inf: all the way)."""

    line: PlotLine
    value: float
    until: float = math.inf


def _placed_lines(plotted: Plotted, result: CheckResult, limits: Mapping[str, Any]) -> Iterator[Placed]:
    for line in plotted.lines:
        value, until = _known(line.source, result, limits), _known(line.until, result, limits)
        if value is not None:
            yield Placed(line, value, math.inf if until is None else until)


def _known(name: str, result: CheckResult, limits: Mapping[str, Any]) -> float | None:
    value = result.measures.get(name, limits[name]["value"] if name in limits else None)
    return float(value) if isinstance(value, int | float) and math.isfinite(value) else None


def _words(family: Family) -> str:
    said = []
    for member, curve in family.members:
        points = finite_points(curve)
        low, high = min(points, key=lambda point: point[1]), max(points, key=lambda point: point[1])
        lead = f"{member}: " if member else ""
        said.append(f"{lead}from {low[1]:.2f} (at {low[0]:.2f}) to {high[1]:.2f} (at {high[0]:.2f})")
    return f"{family.y_label} against {family.x_label}. {'; '.join(said)}."


def _svg(family: Family, plotted: Plotted, lines: list[Placed]) -> str:
    strokes = list(_strokes(family, plotted.own_words or "with the design"))
    if plotted.drawn == Drawn.ROUND:
        return round_svg(strokes)
    if plotted.drawn == Drawn.SECTION:
        points = finite_points(next(curve for member, curve in family.members if member != LIMIT))
        limits = [curve.y[0] for member, curve in family.members if member == LIMIT]
        return section_svg(points, limits[0] if limits else math.nan)
    return chart_svg(strokes, [_ruled(placed) for placed in lines], family.x_label, family.y_label)


def _strokes(family: Family, own_words: str) -> Iterator[Stroke]:
    """Yield each member as it is drawn: what failed carries the verdict, the rest stays behind it."""
    failing, place = any(member == FAILING for member, _ in family.members), 0
    for member, curve in family.members:
        points, words = finite_points(curve), _label(member, curve, own_words)
        if member == FAILING:
            yield Stroke(points, STATUS_INKS["fail"], "", words, 3.2)
        elif member == LIMIT:
            yield Stroke(points, INK, "5 3", words, 2.0)
        elif failing or (member.startswith("bare") and family.own):
            yield Stroke(points, FAINT_INK, "2 2", words)
        else:
            yield Stroke(points, *STROKES[place % len(STROKES)], words)
            place += 1


def _label(member: str, curve: Curve, own_words: str) -> str:
    """Return what a member is called beside its plot; a limit says its figure."""
    if member == LIMIT:
        return f"limit at the rim: {with_unit(curve.y[0], 'mm')}"
    return member or own_words


def _ruled(placed: Placed) -> RuledLine:
    line, unit = placed.line, unit_of(placed.line.source)
    said = format(placed.value, ".2f") if unit == "t" else with_unit(placed.value, unit)
    return RuledLine(line.axis, placed.value, f"{line.words}: {said}", placed.until)
