"""The piece of a design that one view shows while it moves, posed and indexed for what that piece costs."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.snapshot import Part
from .stage import Posed, Stage
from .viewpoint import Viewpoint

Following = Callable[[str, Mapping[str, IntArray]], Callable[[float], Posed]]
"""(motion, part name -> vertices ``(k,)``) -> where those vertices are at any t."""
BEHIND_MM = 70.0
"""What lies further behind the middle of the picture than this is not seen in it."""
BORDER = 0.15
"""Surroundings that still cast shade into the picture, as a share of its size."""


class CloseUp:
    """Parts cut down to what a view shows in any of some poses.

    Parameters
    ----------
    parts
        What is seen, with its faces turned outward.
    standing
        Where the parts are in the poses that are looked through for what is shown.
    motion, following
        What moves them.
    view
        The view.
    """

    def __init__(
        self, parts: Sequence[Part], standing: Sequence[Posed], motion: str, following: Following, view: Viewpoint
    ) -> None:
        kept: list[Part] = []
        ids: dict[str, IntArray] = {}
        for part in parts:
            shown = np.zeros(len(part.vertices_mm), bool)
            for posed in standing:
                shown |= in_view(np.asarray(posed.get(part.name, part.vertices_mm)), view)
            faces = part.faces[shown[part.faces].any(axis=1)]
            if len(faces):
                used, compact = np.unique(faces, return_inverse=True)
                ids[part.name] = used
                piece = part.vertices_mm[used]
                kept.append(replace(part, vertices_mm=piece, faces=compact.reshape(-1, 3), areas={}))
        self.parts = tuple(kept)
        self._posed = following(motion, ids)

    def stage(self, t: float) -> Stage:
        """Return the piece posed at ``t``, standing ready to be looked at."""
        return Stage(self.parts, self._posed(t), {part.name: part.faces for part in self.parts})


def in_view(points_mm: FloatArray, view: Viewpoint) -> BoolArray:
    """Tell which points ``(n, 3)`` lie in the picture, or a little beside it, and not far behind its middle."""
    at, size = view.project(points_mm), np.array(view.size)
    inside = ((at > -BORDER * size) & (at < (1 + BORDER) * size)).all(axis=1)
    return np.asarray(inside & ((points_mm - view.centre_mm) @ view.toward > -BEHIND_MM))
