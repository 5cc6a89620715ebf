"""A small chart of curves as SVG text: axes with round figures, lines told apart by dash and colour, marks named.

Nothing but the standard library draws it, so that it looks the same wherever a report is written.
"""

import html
import math
from collections.abc import Sequence
from dataclasses import dataclass

from .palette import FAINT_INK, INK, PAPER, RULE, STATUS_INKS

WIDTH, HEIGHT = 374.0, 208.0
LEFT, RIGHT, TOP, BOTTOM = 48.0, 366.0, 10.0, 168.0
LETTER = 5.6
"""Width to reckon with for a letter of 9.5 units, for the ground behind words."""
LINE = 12.0
"""From one line of words to the next."""
COLUMNS = 2
"""So many curves are named beside each other beneath a chart."""
TICKS = 5
HEADROOM = 0.08
"""Share of the heights that stays free above the highest point."""
REACH = 0.6
"""A mark up to this share beyond the heights of the curves is brought into the chart."""
SHORTEST = 0.1
"""A line that applies to less of an axis than this is drawn over so much all the same, to be seen."""

Points = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Stroke:
    """One curve: its points, colour as six digits, dash as SVG has it (``""``: solid), its words, and its width."""

    points: Points
    ink: str
    dash: str
    words: str
    width: float = 2.2


@dataclass(frozen=True)
class RuledLine:
    """A reference line: along ``x`` or ``y``, at a value, with words, up to a value of the other axis (inf: across)."""

    axis: str
    value: float
    words: str
    until: float = math.inf


@dataclass(frozen=True)
class AxisEnds:
    """The lowest and highest value of an axis."""

    low: float
    high: float

    def share(self, value: float) -> float:
        """Return where a value lies between the ends, 0 to 1 within."""
        return (value - self.low) / ((self.high - self.low) or 1.0)


def chart_svg(strokes: Sequence[Stroke], marks: Sequence[RuledLine], x_label: str, y_label: str) -> str:
    """Return the chart.

    Parameters
    ----------
    strokes
        The curves; where there is one, what lies below it is shaded.
    marks
        Reference lines; one that would lie far outside is left out.
    """
    across, up = _spans(strokes, marks)
    inside = [mark for mark in marks if -0.02 <= (across if mark.axis == "x" else up).share(mark.value) <= 1.0]
    legend = _legend(strokes) if len(strokes) > 1 or "," in strokes[0].words else []
    tall = HEIGHT + LINE * math.ceil(len(legend) / COLUMNS)
    body = [
        *(_height_tick(value, up) for value in ticks(up)),
        *(_width_tick(value, across) for value in ticks(across)),
        *([_shade(strokes[0], across, up)] if len(strokes) == 1 else []),
        *(_curve(stroke, across, up) for stroke in strokes),
        path_svg(f"M{LEFT:g} {TOP:g}V{BOTTOM:g}H{RIGHT:g}", RULE, 1.0),
        *(_mark(mark, across, up) for mark in inside),
        *legend,
        text_svg(x_label, (LEFT + RIGHT) / 2, HEIGHT - 8.0, anchor="middle"),
        text_svg(y_label, 11.0, (TOP + BOTTOM) / 2, anchor="middle", turned=True),
    ]
    head = f'<svg aria-hidden="true" viewBox="0 0 {WIDTH:g} {tall:g}" font-family="sans-serif" font-size="9.5">'
    return "".join([head, *body, "</svg>"])


def ticks(span: AxisEnds) -> list[float]:
    """Return round figures within a span, some five of them."""
    rough = (span.high - span.low) / TICKS
    if not math.isfinite(rough) or rough <= 0.0:
        return [span.low]
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * times for times in (1.0, 2.0, 2.5, 5.0, 10.0) if power * times >= rough * 0.999)
    first = math.ceil(span.low / step - 1e-9)
    last = math.floor(span.high / step + 1e-9)
    return [round(number * step, 12) for number in range(first, last + 1)]


def _spans(strokes: Sequence[Stroke], marks: Sequence[RuledLine]) -> tuple[AxisEnds, AxisEnds]:
    xs = [x for stroke in strokes for x, _ in stroke.points]
    ys = [y for stroke in strokes for _, y in stroke.points]
    across, low, high = AxisEnds(min(xs), max(xs)), min(ys), max(ys)
    tall = (high - low) or abs(high) or 1.0
    heights = [mark.value for mark in marks if mark.axis == "y"]
    ends = [value for value in heights if low - REACH * tall <= value <= high + REACH * tall]
    low = 0.0 if 0.0 <= low <= high / 2 else min([low, *ends])
    high = max([high, *ends]) + HEADROOM * tall
    wide = across.high - across.low
    beyond = [mark.value for mark in marks if mark.axis == "x" and 0.0 < mark.value - across.high <= 0.3 * wide]
    return AxisEnds(across.low, max([across.high, *beyond])), AxisEnds(low, high)


def _x(value: float, across: AxisEnds) -> float:
    return LEFT + across.share(value) * (RIGHT - LEFT)


def _y(value: float, up: AxisEnds) -> float:
    return BOTTOM - up.share(value) * (BOTTOM - TOP)


def _height_tick(value: float, up: AxisEnds) -> str:
    y = _y(value, up)
    return path_svg(f"M{LEFT:g} {y:.1f}H{RIGHT:g}", RULE, 0.8, ' opacity=".3"') + text_svg(
        f"{value:g}", LEFT - 5.0, y + 3.3, FAINT_INK, "end"
    )


def _width_tick(value: float, across: AxisEnds) -> str:
    x = _x(value, across)
    return path_svg(f"M{x:.1f} {BOTTOM:g}v3", RULE, 0.8) + text_svg(f"{value:g}", x, BOTTOM + 14.0, FAINT_INK, "middle")


def _way(points: Points, across: AxisEnds, up: AxisEnds) -> str:
    return "L".join(f"{_x(x, across):.1f} {_y(y, up):.1f}" for x, y in points)


def _curve(stroke: Stroke, across: AxisEnds, up: AxisEnds) -> str:
    dash = f' stroke-dasharray="{stroke.dash}"' if stroke.dash else ""
    return path_svg(f"M{_way(stroke.points, across, up)}", stroke.ink, stroke.width, f'{dash} stroke-linejoin="round"')


def _shade(stroke: Stroke, across: AxisEnds, up: AxisEnds) -> str:
    floor = _y(max(min(0.0, up.high), up.low), up)
    first, last = _x(stroke.points[0][0], across), _x(stroke.points[-1][0], across)
    way = f"M{first:.1f} {floor:.1f}L{_way(stroke.points, across, up)}L{last:.1f} {floor:.1f}Z"
    return f'<path d="{way}" fill="#{stroke.ink}" opacity=".08"/>'


def _mark(mark: RuledLine, across: AxisEnds, up: AxisEnds) -> str:
    """Draw a reference line; the words of an upright one stand beside its upper end."""
    ink, dash = STATUS_INKS["fail"], ' stroke-dasharray="5 3"'
    if mark.axis == "y":
        y = _y(mark.value, up)
        end = LEFT + _reach(mark, across) * (RIGHT - LEFT)
        line = path_svg(f"M{LEFT:g} {y:.1f}H{end:.1f}", ink, 1.4, dash)
        place, anchor = (RIGHT - 2.0, "end") if end == RIGHT else (LEFT + 3.0, "start")
        return line + _grounded(mark.words, place, y - 3.5 if y > TOP + 12.0 else y + 10.5, anchor)
    x = _x(mark.value, across)
    late = x > (LEFT + RIGHT) / 2
    top = BOTTOM - _reach(mark, up) * (BOTTOM - TOP)
    line = path_svg(f"M{x:.1f} {top:.1f}V{BOTTOM:g}", ink, 1.4, dash)
    return line + _grounded(mark.words, x + (-4.0 if late else 4.0), top + 9.0, "end" if late else "start")


def _reach(mark: RuledLine, other: AxisEnds) -> float:
    """Return over how much of the other axis a line goes; never so little that it cannot be seen."""
    return min(max(other.share(mark.until), SHORTEST), 1.0) if math.isfinite(mark.until) else 1.0


def _grounded(words: str, x: float, y: float, anchor: str) -> str:
    """Return words of a mark on a piece of paper, so that curves behind them do not disturb."""
    width = LETTER * len(words)
    left = x - width if anchor == "end" else x
    ground = f'<rect x="{left:.1f}" y="{y - 8.5:.1f}" width="{width:.1f}" height="11" fill="#{PAPER}" opacity=".85"/>'
    return ground + text_svg(words, x, y, STATUS_INKS["fail"], anchor)


def _legend(strokes: Sequence[Stroke]) -> list[str]:
    """Return the words of each curve beneath the chart, where no curve runs through them."""
    lines = []
    for number, stroke in enumerate(strokes):
        x = LEFT + (RIGHT - LEFT) / COLUMNS * (number % COLUMNS)
        y = HEIGHT + 6.0 + LINE * (number // COLUMNS)
        dash = f' stroke-dasharray="{stroke.dash}"' if stroke.dash else ""
        line = path_svg(f"M{x:.1f} {y - 3.0:.1f}h17", stroke.ink, stroke.width, dash)
        lines.append(line + text_svg(stroke.words, x + 22.0, y))
    return lines


def path_svg(way: str, ink: str, width: float, more: str = "") -> str:
    """Return a line; ``more`` holds further attributes."""
    return f'<path d="{way}" fill="none" stroke="#{ink}" stroke-width="{width:g}"{more}/>'


def text_svg(words: str, x: float, y: float, ink: str = INK, anchor: str = "start", turned: bool = False) -> str:
    """Return words at a place, anchored as SVG has it; ``turned`` to read upward."""
    turn = f' transform="rotate(-90 {x:g} {y:g})"' if turned else ""
    said = html.escape(words, quote=False)
    if turned and LETTER * len(words) > HEIGHT:
        turn += f' font-size="{9.5 * HEIGHT / (LETTER * len(words)):.1f}"'
    return f'<text x="{x:.1f}" y="{y:.1f}" fill="#{ink}" text-anchor="{anchor}"{turn}>{said}</text>'
