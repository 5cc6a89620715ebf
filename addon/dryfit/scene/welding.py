"""Join vertices that a file format split.

glTF keeps one vertex for every texture coordinate and normal, which leaves cuts along seams. Vertices of one
part that coincide to the last bit, at rest and in every key frame, are one vertex again.
"""

from dataclasses import replace

import numpy as np

from ..model.arrays import FloatArray, IntArray
from ..model.snapshot import Motion, Part, Snapshot


def welded(snapshot: Snapshot) -> Snapshot:
    """Return the snapshot with every part's coinciding vertices joined."""
    parts, kept = [], {}
    for part in snapshot.parts:
        kept[part.name], new_index = _distinct(_paths(part, snapshot))
        parts.append(_joined(part, kept[part.name], new_index))
    motions = {
        name: Motion(name, motion.frames_t, {part: path[:, kept[part]] for part, path in motion.frames_mm.items()})
        for name, motion in snapshot.motions.items()
    }
    return replace(snapshot, parts=tuple(parts), motions=motions)


def _paths(part: Part, snapshot: Snapshot) -> FloatArray:
    """Return everywhere that each vertex goes, one row a vertex."""
    posed = [path for motion in snapshot.motions.values() if (path := motion.frames_mm.get(part.name)) is not None]
    rows: FloatArray = np.concatenate([part.vertices_mm, *(frame for path in posed for frame in path)], axis=1)
    return rows


def _distinct(rows: FloatArray) -> tuple[IntArray, IntArray]:
    """Return which rows to keep, in their order, and each row's place among them."""
    _, first, group = np.unique(rows, axis=0, return_index=True, return_inverse=True)
    order = np.argsort(first)
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    return first[order], place[group.reshape(-1)]


def _joined(part: Part, kept: IntArray, new_index: IntArray) -> Part:
    return replace(
        part,
        vertices_mm=part.vertices_mm[kept],
        faces=new_index[part.faces],
        areas={name: weights[kept] for name, weights in part.areas.items()},
    )
