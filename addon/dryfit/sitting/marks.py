"""Mark the picked finding in the viewport: a ring around the place, and a plate with its figure."""

from typing import Any

from bpy_extras.view3d_utils import location_3d_to_region_2d
from mathutils import Vector

from ..model.finding import SEVERITY_WORDS
from .finding_place import shown_place
from .screen_text import INK, PAPER, extent, free_width, interface_scale, plate, strokes, write
from .still_true.check_rows import OLDER, outdated_reason
from .the_pick import picked_finding
from .words.unit_words import unit_word

ARM = 26.0
CROSS = 7.0


def draw_mark(context: Any, figure: bool = True) -> None:
    """Draw the mark at the picked finding, and its plate where ``figure`` is asked for."""
    bench = context.scene.dryfit
    finding = picked_finding(bench)
    if finding is None or not bench.marks or context.region_data is None:
        return
    at = shown_place(context.scene, finding)
    if at is None:
        return
    pixel = location_3d_to_region_2d(context.region, context.region_data, Vector(at.tolist()))
    if pixel is None:
        return
    scale = interface_scale(context)
    _cross(pixel.x, pixel.y, scale)
    if figure:
        _plate(finding, pixel.x + ARM * scale, pixel.y + ARM * scale, scale, free_width(context))


def _cross(x: float, y: float, scale: float) -> None:
    reach, arm = CROSS * scale, ARM * scale
    lines: list[tuple[float, ...]] = [
        (x - reach, y), (x - 2.0 * scale, y), (x + 2.0 * scale, y), (x + reach, y),
        (x, y - reach), (x, y - 2.0 * scale), (x, y + 2.0 * scale), (x, y + reach),
        (x + reach * 0.7, y + reach * 0.7), (x + arm, y + arm),
    ]  # fmt: skip
    strokes(lines, INK[:3] + (1.0,), 4.5 * scale)
    strokes(lines, PAPER, 1.8 * scale)


def _plate(finding: Any, x: float, y: float, scale: float, room: float) -> None:
    word = "Accepted" if finding.exception else SEVERITY_WORDS.get(finding.severity, finding.severity)
    limit = f" (limit {finding.limit:g})" if finding.limited else ""
    lines = [f"{word} · {finding.region or finding.part}", f"{finding.value:.2f} {unit_word(finding.unit)}{limit}"]
    if outdated_reason(finding.id_data, finding.check):
        lines.append(OLDER)
    width = max(extent(line, scale)[0] for line in lines) + 14.0 * scale
    x = max(min(x, room - width - 8.0 * scale), 0.0)
    plate(x, y, width, (16.0 * len(lines) + 8.0) * scale)
    for number, line in enumerate(reversed(lines)):
        write(line, x + 7.0 * scale, y + (8.0 + 16.0 * number) * scale, scale)
