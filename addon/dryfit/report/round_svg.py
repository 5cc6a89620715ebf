"""A field of sight as a round chart: degrees off straight ahead, as the performer looks out."""

import math
from collections.abc import Iterator, Sequence

from .curve_svg import Points, Stroke, path_svg, text_svg
from .palette import FAINT_INK, RULE

WIDTH, HEIGHT = 374.0, 300.0
MIDDLE_X, MIDDLE_Y, RADIUS = 187.0, 128.0, 104.0
RINGS = 30
"""A ring stands at each so many degrees."""
LEGEND_Y = 276.0
SIDES = (("own left", -6.0, 3.0, "end", 180), ("up", 0.0, -6.0, "middle", 90),
         ("own right", 6.0, 3.0, "start", 0), ("down", 0.0, 14.0, "middle", 270))  # fmt: skip


def round_svg(strokes: Sequence[Stroke]) -> str:
    """Return the chart: left is the performer's left and up is up; the design's own field is shaded.

    Parameters
    ----------
    strokes
        Of each field its points: the meridian (0 to the performer's left, 90 up) and where it ends, both degrees.
    """
    outer = RINGS * math.ceil(max(end for stroke in strokes for _, end in stroke.points) / RINGS)
    body = [*_rings(outer), *_sides()]
    for number, stroke in enumerate(strokes):
        way = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in _places(stroke.points, outer)) + "Z"
        dash = f' stroke-dasharray="{stroke.dash}"' if stroke.dash else ""
        body += [f'<path d="{way}" fill="#{stroke.ink}" opacity=".1"/>'] if not number else []
        body += [path_svg(way, stroke.ink, stroke.width, f'{dash} stroke-linejoin="round"'), *_key(stroke, number)]
    head = f'<svg aria-hidden="true" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" font-family="sans-serif" font-size="9.5">'
    return "".join([head, *body, "</svg>"])


def _places(points: Points, outer: float) -> Iterator[tuple[float, float]]:
    for meridian, end in points:
        around, far = math.radians(meridian), RADIUS * end / outer
        yield MIDDLE_X - far * math.cos(around), MIDDLE_Y - far * math.sin(around)


def _rings(outer: int) -> Iterator[str]:
    for degrees in range(RINGS, outer + 1, RINGS):
        radius = RADIUS * degrees / outer
        yield (
            f'<circle cx="{MIDDLE_X:g}" cy="{MIDDLE_Y:g}" r="{radius:.1f}" fill="none" stroke="#{RULE}" '
            'stroke-width=".8" opacity=".5"/>'
        )
        yield text_svg(f"{degrees}°", MIDDLE_X + radius * 0.707 + 2.0, MIDDLE_Y - radius * 0.707, FAINT_INK)
    yield path_svg(f"M{MIDDLE_X - RADIUS:g} {MIDDLE_Y:g}h{2 * RADIUS:g}", RULE, 0.8, ' opacity=".5"')
    yield path_svg(f"M{MIDDLE_X:g} {MIDDLE_Y - RADIUS:g}v{2 * RADIUS:g}", RULE, 0.8, ' opacity=".5"')


def _sides() -> Iterator[str]:
    for words, right, down, anchor, angle in SIDES:
        x = MIDDLE_X + RADIUS * math.cos(math.radians(angle)) + right
        y = MIDDLE_Y - RADIUS * math.sin(math.radians(angle)) + down
        yield text_svg(words, x, y, anchor=anchor)


def _key(stroke: Stroke, number: int) -> list[str]:
    x = 60.0 + 150.0 * number
    dash = f' stroke-dasharray="{stroke.dash}"' if stroke.dash else ""
    line = path_svg(f"M{x:g} {LEGEND_Y - 3.0:g}h17", stroke.ink, stroke.width, dash)
    return [line, text_svg(stroke.words, x + 22.0, LEGEND_Y)]
