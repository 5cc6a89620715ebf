"""Distance along a surface from a curve on it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from .best_engine import best_engine
from .checked_arrays import Floats, Ints, as_faces, as_limits, as_numbers, as_rows
from .engine import Engine
from .errors import BadShape


def distance_along(
    vertices_mm: npt.ArrayLike,
    faces: npt.ArrayLike,
    source_vertices: npt.ArrayLike,
    limit_mm: float = 25.0,
    source_distance_mm: npt.ArrayLike | None = None,
    *,
    engine: Engine | None = None,
) -> tuple[Floats, Ints]:
    """Return how far each vertex is from the nearest source, measured along the surface.

    Fast marching (Kimmel & Sethian 1998, https://doi.org/10.1073/pnas.95.15.8431) with obtuse corners unfolded. A
    front that starts from one vertex is carried as a circle (Novotni & Klein 2002), one that starts from a chain of
    neighbouring sources as a straight line. Faces that meet by position are joined, so unwelded meshes don't stop it.

    Parameters
    ----------
    vertices_mm : (n, 3) array_like
    faces : (m, 3) array_like of int
    source_vertices : (s,) array_like of int
    limit_mm : float, optional
        How far to go. Work is proportional to what lies within.
    source_distance_mm : (s,) array_like, optional
        Distance at each source, default 0; not negative.

    Returns
    -------
    distance_mm : (n,) float64
        inf beyond the limit and where no source leads.
    nearest_source : (n,) int32
        Index into source_vertices; -1 where the distance is inf.

    Raises
    ------
    BadShape, BadFaces, NotFinite
        If an array is not as described.
    """
    vertices = as_rows("vertices_mm", vertices_mm)
    corners = as_faces(faces, len(vertices))
    sources = _as_sources(source_vertices, len(vertices))
    begun = as_limits(0.0 if source_distance_mm is None else source_distance_mm, len(sources))
    start = np.ascontiguousarray(begun)
    if (start < 0).any() or not limit_mm >= 0:
        raise BadShape("source_distance_mm and limit_mm", "zero or more", "negative or nan")
    if not len(sources) or not len(vertices):
        return np.full(len(vertices), np.inf), np.full(len(vertices), -1, np.int32)
    engine = engine or best_engine()
    label = engine.weld(vertices)
    welded = np.ascontiguousarray(label[corners])
    neighbour = engine.neighbours(welded, len(vertices))
    seeds = np.ascontiguousarray(label[sources])
    distance, source = engine.march(vertices, welded, neighbour, seeds, start, float(limit_mm))
    return distance[label], source[label]


def _as_sources(values: npt.ArrayLike, vertex_count: int) -> Ints:
    """Return (s,) int32 vertex numbers."""
    sources = np.asarray(values)
    if sources.size == 0:
        return np.zeros(0, np.int32)
    whole = as_numbers("source_vertices", sources, "(s,) integers")
    if sources.ndim != 1 or sources.dtype.kind not in "iu":
        raise BadShape("source_vertices", "(s,) integers", f"{sources.dtype} of shape {sources.shape}")
    if whole.min() < 0 or whole.max() >= vertex_count:
        raise BadShape("source_vertices", f"vertices 0 .. {vertex_count - 1}", f"{whole.min():g} .. {whole.max():g}")
    return np.ascontiguousarray(sources, dtype=np.int32)
