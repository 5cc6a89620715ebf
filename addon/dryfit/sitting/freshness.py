"""Tell whether the pieces are still those that were measured, by a checksum of the surface the viewport shows."""

import zlib
from typing import Any

from .surfaces import shown_mesh, shown_vertices


def surface_print(item: Any, depsgraph: Any) -> str:
    """Return a checksum of an object's shown vertices and its place; ``""`` where it has no mesh."""
    mesh = shown_mesh(item, depsgraph)
    if mesh is None:
        return ""
    rows = repr([tuple(row) for row in item.matrix_world]).encode()
    return f"{zlib.crc32(shown_vertices(mesh).data, zlib.crc32(rows)):08x}"


def note_prints(scene: Any, depsgraph: Any) -> None:
    """Remember every measured part as it is now; results are fresh from here."""
    for part in scene.dryfit.parts:
        part.print = surface_print(part.subject, depsgraph) if part.subject else ""
        part.changed = False
    scene.dryfit.stale = False


def compare_print(scene: Any, item: Any, depsgraph: Any) -> None:
    """Note whether a part still is as it was measured; results are stale while any part is not."""
    bench = scene.dryfit
    for part in bench.parts:
        if part.subject != item or not part.print:
            continue
        changed = surface_print(item, depsgraph) != part.print
        if part.changed != changed:
            part.changed = changed
        stale = any(each.changed for each in bench.parts)
        if bench.stale != stale:
            bench.stale = stale
