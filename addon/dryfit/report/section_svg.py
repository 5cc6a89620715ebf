"""A cut through an edge, drawn to scale: the skin as the ground, the piece upon it, and a bar for lengths."""

import math

from .curve_svg import Points, path_svg, text_svg
from .palette import FAINT_INK, INK, STATUS_INKS
from .wording import with_unit

MAGNIFIED = 10.0
"""A cut is drawn this much larger than it is, both ways alike."""
SIDE_MM, HEAD_MM, FOOT_MM = 0.4, 1.2, 1.8
"""Room beside, above and beneath the cut, in its own millimetres."""
BAR_MM = 2.0
LETTERS_MM = 3.2
"""Height of the letters, as drawn."""


def section_svg(points: Points, limit_mm: float) -> str:
    """Return the drawing; one unit of it is a millimetre on the page.

    Parameters
    ----------
    points
        Distance from the rim and thickness there, mm, the rim first.
    limit_mm
        The greatest thickness allowed at the rim; nan where none is drawn.
    """
    long_mm, rim_mm, high_mm = points[-1][0], points[0][1], max(height for _, height in points)
    wide, tall = MAGNIFIED * (long_mm + 2 * SIDE_MM), MAGNIFIED * (high_mm + HEAD_MM + FOOT_MM)
    start, ground = MAGNIFIED * SIDE_MM, MAGNIFIED * (high_mm + HEAD_MM)
    top = "L".join(f"{start + MAGNIFIED * x:.2f} {ground - MAGNIFIED * y:.2f}" for x, y in points)
    end, rim_y = start + MAGNIFIED * long_mm, ground - MAGNIFIED * rim_mm
    fail, bar_y = STATUS_INKS["fail"], ground + 7.5
    body = [
        f'<path d="M{start:g} {ground:g}L{top}L{end:g} {ground:g}Z" fill="#{STATUS_INKS["review"]}" opacity=".25"/>',
        path_svg(f"M{top}", INK, 0.6),
        path_svg(f"M0 {ground:g}H{wide:g}", FAINT_INK, 0.6),
        path_svg(f"M{start:g} {ground:g}V{rim_y:.2f}", fail, 1.0),
        text_svg(f"edge {with_unit(rim_mm, 'mm')}", start, min(rim_y, ground - MAGNIFIED * high_mm) - 3.0, fail),
        text_svg("skin", end, ground + 4.0, FAINT_INK, "end"),
        path_svg(f"M{start:g} {bar_y:g}h{MAGNIFIED * BAR_MM:g}", INK, 1.0),
        text_svg(f"{BAR_MM:g} mm; drawn {MAGNIFIED:g} times as large, both ways", start, bar_y + 4.8),
        *_limit(start, ground, limit_mm),
    ]
    head = (
        f'<svg aria-hidden="true" style="width:{wide:.1f}mm;max-width:100%" viewBox="0 0 {wide:.1f} {tall:.1f}" '
        f'font-family="sans-serif" font-size="{LETTERS_MM:g}">'
    )
    return "".join([head, *body, "</svg>"])


def _limit(start: float, ground: float, limit_mm: float) -> list[str]:
    """Return the limit as a broken line at the rim, where it applies."""
    if not math.isfinite(limit_mm):
        return []
    y = ground - MAGNIFIED * limit_mm
    line = path_svg(f"M{start:g} {y:.2f}h{MAGNIFIED:g}", INK, 0.6, ' stroke-dasharray="1.6 1"')
    return [line, text_svg(f"limit {with_unit(limit_mm, 'mm')}", start + MAGNIFIED + 1.0, y + 1.0)]
