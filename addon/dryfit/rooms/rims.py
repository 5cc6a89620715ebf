"""The rim nearest to a drawn one: each place of a line moved to where an edge may end, or said to have none near."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..geometry.chains import spread_along
from ..geometry.rows import row_norms
from ..model.arrays import FloatArray
from ..performer.fitting import Fitting
from .edges import EdgeRoom

SPACING_MM = 2.0
NEAR_MM = 15.0
"""Where an edge would have to go further than this it is another rim, not the drawn one."""
STAYS_MM = 0.5
"""A place that moves by less lies where an edge may end already."""
OFF_HEAD = "the line lies {far:.0f} mm off the skin at most; draw it on the head"


@dataclass(frozen=True)
class SuggestedRim:
    """A drawn rim and the nearest one that skin allows.

    Attributes
    ----------
    name
        The drawn line's.
    drawn_mm
        It, with points along it, ``(k, 3)``.
    rim_mm
        Where each may go, ``(k, 3)``; nan where no skin near it allows an edge.
    moved_mm
        How far that is, ``(k,)``.
    why
        What is wrong with the line itself, or ``""``.
    """

    name: str
    drawn_mm: FloatArray
    rim_mm: FloatArray
    moved_mm: FloatArray
    why: str = ""

    @property
    def lost_share(self) -> float:
        """Share of the line near which no skin allows an edge."""
        return float(np.isnan(self.moved_mm).mean())

    @property
    def kept_share(self) -> float:
        """Share of the line that may stay where it was drawn."""
        return float((self.moved_mm <= STAYS_MM).mean())

    @property
    def furthest_mm(self) -> float:
        """The furthest that any place moves; nan where none of it can be."""
        return float(np.nanmax(self.moved_mm)) if np.isfinite(self.moved_mm).any() else float("nan")


def suggested_rims(fitting: Fitting, edges: EdgeRoom) -> Iterator[SuggestedRim]:
    """Yield what is nearest to each line that the scene or the brief draws."""
    for name, line in sorted(fitting.snapshot.rims_mm.items()):
        yield suggested_rim(name, line, edges, fitting.base_surface)


def suggested_rim(name: str, line_mm: FloatArray, edges: EdgeRoom, skin: Surface) -> SuggestedRim:
    """Return the rim nearest to a drawn line.

    Parameters
    ----------
    name, line_mm
        The line's name and its corners, ``(c, 3)``, mm.
    edges
        Where an edge may end.
    skin
        The whole skin: a line that lies off it is said.
    """
    drawn = spread_along(line_mm, SPACING_MM)
    on_skin = skin.closest(drawn)
    rim = edges.nearest(on_skin.point)
    moved = row_norms(rim - on_skin.point)
    lost = ~(moved <= NEAR_MM)
    rim[lost], moved[lost] = np.nan, np.nan
    far = float(on_skin.distance_mm.max())
    return SuggestedRim(name, drawn, rim, moved, OFF_HEAD.format(far=far) if far > NEAR_MM else "")
