"""Undercuts of a skin along one pull direction: how large, how deep, how far they hang over."""

from dataclasses import dataclass

import numpy as np

from ..model.arrays import BoolArray, FloatArray, IntArray
from .pull import Skin, held
from .rows import extents, highs, lows, row_highs
from .sphere_directions import across_directions
from .topology import grouped, label_facets

CELLS = 40_000
FINEST_MM = 0.25
PROBES = 300
LEVEL_MM = 1e-2


@dataclass(frozen=True)
class Undercut:
    """One connected undercut.

    Attributes
    ----------
    faces
        Indices of the skin's faces it lies on, ``(f,)``.
    area_mm2
        Its area.
    depth_mm
        Its extent along the pull.
    overhang_mm
        How far, across the pull, its worst place lies under what hangs over it: the least by which a casting has to
        give way. What a dental undercut gauge reads. With two pulls, the smaller.
    place_mm
        That place, ``(3,)``.
    """

    faces: IntArray
    area_mm2: float
    depth_mm: float
    overhang_mm: float
    place_mm: FloatArray


@dataclass(frozen=True)
class Relief:
    """The skin's height along the pull over a grid across it.

    Attributes
    ----------
    cells
        ``(2, c)`` places across the pull, the lowest first.
    height_mm
        ``(c,)`` greatest height along the pull, ascending; -inf where there is no skin.
    cell_mm
        Grid step.
    axes
        ``(3, 3)`` rows: the two directions across, and the pull.
    """

    cells: FloatArray
    height_mm: FloatArray
    cell_mm: float
    axes: FloatArray


def undercuts(skin: Skin, pulls: FloatArray, smallest_mm2: float, apart: BoolArray | None = None) -> list[Undercut]:
    """Return the undercuts of at least ``smallest_mm2`` along unit directions ``(p, 3)``, largest overhang first.

    With ``apart``, ``(m,)`` over the skin's faces, no undercut goes from the marked ones to the others.
    """
    holds = held(skin, pulls)
    marked = np.zeros(len(skin.faces), dtype=bool) if apart is None else apart
    groups = [own for side in (True, False) for own in _connected(holds & (marked[skin.facets.face] == side), skin)]
    large = [own for own in groups if skin.areas_mm2[own].sum() >= smallest_mm2]
    reliefs = [_relief(skin, pull) for pull in pulls] if large else []
    return sorted((_undercut(own, skin, reliefs) for own in large), key=lambda undercut: -undercut.overhang_mm)


def low_draft_area_mm2(skin: Skin, pulls: FloatArray, draft_deg: float) -> float:
    """Return the area, mm2, that looks along one of the pulls ``(p, 3)`` but stands closer to it than a draft "
    "angle."""
    draft = np.degrees(np.arcsin(np.clip(row_highs(skin.outward @ pulls.T), -1.0, 1.0)))
    return float(skin.areas_mm2[(draft >= 0.0) & (draft < draft_deg)].sum())


def narrow_width_mm(skin: Skin, pull: FloatArray) -> float:
    """Return the skin's smaller extent across the pull, along the principal directions of its outline, mm."""
    across = np.stack(across_directions(pull))
    flat = skin.middles_mm @ across.T
    weights = skin.areas_mm2 / skin.areas_mm2.sum()
    centred = flat - weights @ flat
    axes = np.linalg.eigh((centred * weights[:, None]).T @ centred)[1]
    return float(extents(centred @ axes).min())


def _connected(holds: BoolArray, skin: Skin) -> list[IntArray]:
    """Return the held facets as connected groups."""
    own = np.flatnonzero(holds)
    return [own[group] for group in grouped(label_facets(skin.facets.face[own], skin.faces))]


def _relief(skin: Skin, pull: FloatArray) -> Relief:
    axes = np.stack([*across_directions(pull), pull])
    placed = skin.surface.vertices_mm[np.unique(skin.faces)] @ axes.T
    low, high = lows(placed), highs(placed)
    cell_mm = max(FINEST_MM, float(np.sqrt(np.prod(high[:2] - low[:2]) / CELLS)))
    lines = [np.arange(low[k] - 1.5 * cell_mm, high[k] + 2.0 * cell_mm, cell_mm) for k in (0, 1)]
    cells = np.stack([grid.ravel() for grid in np.meshgrid(*lines, indexing="ij")], axis=1)
    top = high[2] + 1.0
    origins = np.column_stack([cells, np.full(len(cells), top)]) @ axes
    reach = skin.surface.first_hit(origins, np.broadcast_to(-pull, origins.shape)).distance_mm
    height_mm = top - reach
    order = np.argsort(height_mm, kind="stable")
    return Relief(np.ascontiguousarray(cells[order].T), height_mm[order], cell_mm, axes)


def _undercut(own: IntArray, skin: Skin, reliefs: list[Relief]) -> Undercut:
    height = skin.middles_mm[own] @ reliefs[0].axes[2]
    spread = np.linspace(0, len(own) - 1, PROBES).round().astype(np.int64)
    probes = np.unique([*spread, height.argmin()])
    points = skin.middles_mm[own[probes]]
    overhang_mm = np.min([_overhang_mm(points, relief) for relief in reliefs], axis=0)
    return Undercut(
        faces=np.unique(skin.facets.face[own]),
        area_mm2=float(skin.areas_mm2[own].sum()),
        depth_mm=float(np.ptp(height)),
        overhang_mm=float(overhang_mm.max()),
        place_mm=points[overhang_mm.argmax()],
    )


def _overhang_mm(points_mm: FloatArray, relief: Relief) -> FloatArray:
    """Return how far each point ``(k, 3)`` is, across the pull, from where nothing is higher, ``(k,)``."""
    answer = np.zeros(len(points_mm))
    for number, (x, y, z) in enumerate(points_mm @ relief.axes.T):
        free = int(np.searchsorted(relief.height_mm, z + LEVEL_MM, side="right"))
        across, along = relief.cells[0, :free] - x, relief.cells[1, :free] - y
        answer[number] = np.sqrt((across * across + along * along).min())
    overhang: FloatArray = np.maximum(answer - relief.cell_mm / 2.0, 0.0)
    return overhang
