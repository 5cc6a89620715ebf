"""Curves of a check as small SVG plots, with limits and events marked and named."""

import io
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from ..checks.check import Check, PlotLine, Plotted
from ..model.finding import Curve
from ..model.report import CheckResult
from .palette import FAINT_INK, INK, PAPER, RULE, STATUS_INKS
from .wording import measure_name, unit_of, with_unit

BARE = "bare_"
BY_SIDE = re.compile(r"(.+_by_(?:t|age))_(.+)")
STROKES = (
    (STATUS_INKS["pass"], "-"), (STATUS_INKS["review"], (0, (6, 2))), ("6B3A75", (0, (2, 1.5))),
    (INK, (0, (8, 2, 1.5, 2))), (STATUS_INKS["not_checked"], "-"), ("2F6B3A", (0, (4, 1.5))),
)  # fmt: skip
"""Colour and dash of each curve: never told apart by colour alone."""
STYLE = {
    "svg.fonttype": "none", "font.size": 9.5, "font.family": "sans-serif", "axes.edgecolor": f"#{RULE}",
    "text.color": f"#{INK}", "axes.labelcolor": f"#{INK}", "xtick.color": f"#{FAINT_INK}",
    "ytick.color": f"#{FAINT_INK}", "text.parse_math": False,
}  # fmt: skip
SIZE_INCHES = (5.2, 2.9)


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

    Raises
    ------
    ImportError
        Without matplotlib.
    """
    for family in families(result.curves):
        plotted = check.plotted(family.name) if check else Plotted(family.name)
        drawn = _svg(f"{result.id}-{family.name}", family, plotted, list(_placed_lines(plotted, result, limits)))
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


def _svg(identity: str, family: Family, plotted: Plotted, lines: list[tuple[PlotLine, float]]) -> str:
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    style: dict[Any, Any] = {"svg.hashsalt": identity, **STYLE}
    with matplotlib.rc_context(style):
        figure = Figure(figsize=SIZE_INCHES, layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.subplots()
        _draw(axes, family, plotted.own_words or "with the design", lines)
        stream = io.StringIO()
        figure.savefig(stream, format="svg", transparent=True, metadata={"Date": None, "Creator": None})
    return inline_svg(stream.getvalue(), identity)


def _draw(axes: Any, family: Family, own_words: str, lines: list[tuple[PlotLine, float]]) -> None:
    own = [entry for entry in family.members if not entry[0].startswith("bare")]
    for place, (member, curve) in enumerate(own or family.members):
        ink, dash = STROKES[place % len(STROKES)]
        axes.plot(curve.x, curve.y, color=f"#{ink}", linestyle=dash, linewidth=2.2, label=member or own_words)
    for member, curve in family.members if own else ():
        if member.startswith("bare"):
            axes.plot(curve.x, curve.y, color=f"#{FAINT_INK}", linestyle=":", linewidth=2.0, label=member)
    if len(family.members) == 1:
        curve = family.members[0][1]
        axes.fill_between(curve.x, curve.y, [min(0.0, *axes.get_ylim())] * len(curve.x), color=f"#{STROKES[0][0]}",
                          alpha=0.08, linewidth=0)  # fmt: skip
    _dress(axes, family)
    for line, value in lines:
        _draw_line(axes, line, value)
    heights = [y for _, curve in family.members for _, y in finite_points(curve)]
    if 0 <= min(heights) <= max(heights) / 2:
        axes.set_ylim(bottom=0)


def _dress(axes: Any, family: Family) -> None:
    axes.set_xlabel(family.x_label)
    axes.set_ylabel(family.y_label)
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(axis="y", color=f"#{RULE}", alpha=0.25, linewidth=0.8)
    axes.margins(x=0.01)
    if len(family.members) > 1:
        axes.legend(frameon=False, fontsize=9)


def _draw_line(axes: Any, line: PlotLine, value: float) -> None:
    style = {"color": f"#{STATUS_INKS['fail']}", "linewidth": 1.4, "linestyle": (0, (5, 3))}
    unit = unit_of(line.source)
    words = f"{line.words}: {format(value, '.2f') if unit == 't' else with_unit(value, unit)}"
    ground = {"facecolor": f"#{PAPER}", "edgecolor": "none", "alpha": 0.85, "pad": 1.2}
    letters = {"color": f"#{STATUS_INKS['fail']}", "fontsize": 9, "bbox": ground}
    if line.axis == "y":
        low, high = axes.get_ylim()
        if value <= high + 0.6 * (high - low):
            axes.axhline(value, **style)
            axes.annotate(words, (0.995, value), xycoords=("axes fraction", "data"), ha="right", va="bottom", **letters)
    else:
        low, high = axes.get_xlim()
        if low - 0.02 * (high - low) <= value <= high + 0.3 * (high - low):
            axes.axvline(value, **style)
            late = value > (low + high) / 2
            axes.annotate(words, (value, 0.97), xycoords=("data", "axes fraction"), ha="right" if late else "left",
                          va="top", xytext=(-4 if late else 4, 0), textcoords="offset points", **letters)  # fmt: skip


def inline_svg(text: str, identity: str) -> str:
    """Return SVG to stand inside a page: no prologue, no fixed size, every id its own."""
    body = text[text.index("<svg") :]
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    body = re.sub(r'(<svg[^>]*?) width="[^"]*"', r"\1", body, count=1)
    body = re.sub(r'(<svg[^>]*?) height="[^"]*"', r"\1", body, count=1)
    body = re.sub(r'\bid="([^"]+)"', rf'id="{identity}-\1"', body)
    body = re.sub(r'(href="#|url\(#)', rf"\1{identity}-", body)
    return body.replace("<svg ", '<svg aria-hidden="true" ', 1).strip()
