"""Paint is switched in one place: attributes and the preview in renders follow together, and off means gone."""

from typing import Any

import bpy

from .painting import refresh_attributes
from .preview import refresh_preview
from .redraw import redraw_views


def paint_switched(bench: Any, _context: Any) -> None:
    """Paint or stop painting, as the update of the bench's switches."""
    bench.was_painted = bench.was_painted or bench.paint
    refresh_paint(bench.id_data)
    redraw_views()


def refresh_paint(scene: Any) -> tuple[str, ...]:
    """Bring attributes and preview in line with what the bench paints; return pieces that refuse attributes."""
    refused = refresh_attributes(scene)
    for layer in scene.view_layers:
        refresh_preview(scene, layer)
    return refused


def put_away_paint() -> None:
    """Switch paint off in every scene, so that nothing of it stays when the extension goes."""
    for scene in bpy.data.scenes:
        if scene.library is None and scene.dryfit.paint:
            scene.dryfit.paint = False
