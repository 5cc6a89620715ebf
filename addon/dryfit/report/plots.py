"""Curves of a check as small SVG plots, with limits and events marked and named."""

import io
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from ..model.finding import Curve
from ..model.report import CheckResult
from .palette import FAINT_INK, INK, RULE, STATUS_INKS
from .wording import measure_name, unit_of, with_unit


@dataclass(frozen=True)
class Line:
    """A reference line: along ``x`` or ``y``, at a measure or a limit, with words."""

    axis: str
    source: str
    words: str


LINES: Mapping[str, tuple[Line, ...]] = MappingProxyType(
    {
        "gap_by_t": (Line("x", "contact_t", "first contact"), Line("y", "lip_seal_mm", "shut below this")),
        "gap_along_lips": (
            Line("y", "lip_seal_mm", "shut below this"),
            Line("y", "lip_gap_review_mm", "lips apart"),
        ),
        "thickness_by_distance": (
            Line("y", "rim_thickness_mm", "edge limit"),
            Line("x", "blend_width_mm", "blend should reach here"),
        ),
    }
)
TITLES: Mapping[str, str] = MappingProxyType(
    {
        "gap_by_t": "Gap between the lips as the jaw opens",
        "gap_along_lips": "Gap along the lips",
        "thickness_by_distance": "Thickness from the rim inward",
    }
)
SIZE_INCHES = (5.2, 2.9)


@dataclass(frozen=True)
class Plot:
    """One drawn curve: its name, a title, words for those who cannot see it, and SVG."""

    name: str
    title: str
    words: str
    svg: str


def draw_plots(result: CheckResult, limits: Mapping[str, Any]) -> Iterator[Plot]:
    """Draw every curve of a check that has at least two points.

    Raises
    ------
    ImportError
        Without matplotlib.
    """
    for name, curve in result.curves.items():
        points = [(x, y) for x, y in zip(curve.x, curve.y, strict=False) if math.isfinite(x) and math.isfinite(y)]
        if len(points) < 2:
            continue
        title = TITLES.get(name, measure_name(name).capitalize())
        lines = list(_placed_lines(name, result, limits))
        yield Plot(name, title, _words(curve, points), _svg(f"{result.id}-{name}", curve, lines))


def _placed_lines(name: str, result: CheckResult, limits: Mapping[str, Any]) -> Iterator[tuple[Line, float]]:
    for line in LINES.get(name, ()):
        value = result.measures.get(line.source, limits[line.source]["value"] if line.source in limits else None)
        if isinstance(value, int | float) and math.isfinite(value):
            yield line, float(value)


def _words(curve: Curve, points: list[tuple[float, float]]) -> str:
    highest = max(points, key=lambda point: point[1])
    lowest = min(points, key=lambda point: point[1])
    return (
        f"{curve.y_label} against {curve.x_label}: from {lowest[1]:.2f} (at {lowest[0]:.2f}) "
        f"to {highest[1]:.2f} (at {highest[0]:.2f})."
    )


def _svg(identity: str, curve: Curve, lines: list[tuple[Line, float]]) -> str:
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": identity, "font.size": 9.5,
                                "font.family": "sans-serif", "axes.edgecolor": f"#{RULE}", "text.color": f"#{INK}",
                                "axes.labelcolor": f"#{INK}", "xtick.color": f"#{FAINT_INK}",
                                "ytick.color": f"#{FAINT_INK}", "text.parse_math": False}):  # fmt: skip
        figure = Figure(figsize=SIZE_INCHES, layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.subplots()
        _draw(axes, curve, lines)
        stream = io.StringIO()
        figure.savefig(stream, format="svg", transparent=True, metadata={"Date": None, "Creator": None})
    return inline_svg(stream.getvalue(), identity)


def _draw(axes: Any, curve: Curve, lines: list[tuple[Line, float]]) -> None:
    ink = f"#{STATUS_INKS['pass']}"
    axes.plot(curve.x, curve.y, color=ink, linewidth=2.2, solid_capstyle="round",
              marker="o" if len(curve.x) <= 60 else None, markersize=3)  # fmt: skip
    axes.fill_between(curve.x, curve.y, [min(0.0, axes.get_ylim()[0])] * len(curve.x), color=ink, alpha=0.08, linewidth=0)
    axes.set_xlabel(curve.x_label)
    axes.set_ylabel(curve.y_label)
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(axis="y", color=f"#{RULE}", alpha=0.25, linewidth=0.8)
    axes.margins(x=0.01)
    for line, value in lines:
        _draw_line(axes, line, value)
    if min(filter(math.isfinite, curve.y)) >= 0:
        axes.set_ylim(bottom=0)


def _draw_line(axes: Any, line: Line, value: float) -> None:
    style = {"color": f"#{STATUS_INKS['fail']}", "linewidth": 1.4, "linestyle": (0, (5, 3))}
    words = f"{line.words}: {with_unit(value, unit_of(line.source)) if unit_of(line.source) != 't' else format(value, '.2f')}"
    letters = {"color": f"#{STATUS_INKS['fail']}", "fontsize": 9}
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
