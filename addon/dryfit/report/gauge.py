"""A measuring strip: one figure on a ruler, with the stretch its limit allows."""

import math

from .figures import Figure

WIDTH, HEIGHT, INSET = 220.0, 38.0, 18.0
TICKS = 5


def strip_svg(figure: Figure) -> str:
    """Return a small SVG ruler with the figure's pointer and its limit, or ``""`` where there is nothing to draw.

    Colours come from the page's style sheet; the words beside it say the same.
    """
    if not figure.measurable or isinstance(figure.value, str):
        return ""
    scale = 100.0 if figure.unit == "fraction" else 1.0
    value, limit = figure.value * scale, figure.limit * scale
    step = _nice_step(max(abs(value), limit, 1e-9) * 1.2 / TICKS)
    end = step * max(math.ceil(max(value, limit) * 1.1 / step), 1)  # where both are 0 there is a ruler all the same
    low, high = (limit, end) if figure.at_least else (0.0, limit)
    start, width = _at(low, end), _at(high, end) - _at(low, end)
    parts = [
        f'<svg class="strip" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" aria-hidden="true" focusable="false">',
        f'<rect class="allowed" x="{start:.1f}" y="13" width="{width:.1f}" height="9"/>',
        f'<path class="ruler" d="{_ruler(step, end)}"/>',
        f'<path class="limit" d="M{_at(limit, end):.1f} 9V26"/>',
        f'<path class="pointer" d="M{_at(max(value, 0.0), end):.1f} 12l-4.5 -9h9z"/>',
        *_numbers(step, end),
        "</svg>",
    ]
    return "".join(parts)


def _at(value: float, end: float) -> float:
    return INSET + min(max(value / end, 0.0), 1.0) * (WIDTH - 2 * INSET)


def _ruler(step: float, end: float) -> str:
    marks = [f"M{INSET:g} 22H{WIDTH - INSET:g}"]
    for count in range(round(end / step * 2) + 1):
        marks.append(f"M{_at(count * step / 2, end):.1f} 22v{-7 if count % 2 == 0 else -4}")
    return "".join(marks)


def _numbers(step: float, end: float) -> list[str]:
    decimals = max(0, -math.floor(math.log10(step)))
    count = round(end / step)
    every = max(1, math.ceil(count / (5 if decimals < 2 else 3)))
    return [
        f'<text x="{_at(place * step, end):.1f}" y="35">{place * step:.{decimals}f}</text>'
        for place in range(0, count + 1, every)
    ]


def _nice_step(rough: float) -> float:
    magnitude = 10.0 ** math.floor(math.log10(rough))
    return next(factor * magnitude for factor in (1.0, 2.0, 5.0, 10.0) if factor * magnitude >= rough * 0.999)
