"""A coarser stand-in for a surface, for questions that need no detail."""

import numpy as np

from .rows import lows
from .surface import Surface


def coarse_surface(surface: Surface, cell_mm: float) -> Surface:
    """Return a surface whose vertices are merged by cells of a grid; the surface itself where nothing would be left.

    Parameters
    ----------
    surface
        The fine surface.
    cell_mm
        Edge of a cell, mm, over zero; details smaller than it are lost and places move by up to about half of it.

    Notes
    -----
    Vertex clustering: Rossignac & Borrel 1993, Modeling in Computer Graphics, doi 10.1007/978-3-642-78114-8_29.
    """
    used = np.unique(surface.faces)
    cells = np.floor((surface.vertices_mm - lows(surface.vertices_mm[used])) / cell_mm).astype(np.int64)
    keys, place = np.unique(cells[used], axis=0, return_inverse=True)
    place = place.ravel()
    count = np.bincount(place, minlength=len(keys))
    middles = np.stack([np.bincount(place, axis, len(keys)) for axis in surface.vertices_mm[used].T], axis=1)
    of_vertex = np.zeros(len(surface.vertices_mm), np.int64)
    of_vertex[used] = place
    faces = of_vertex[surface.oriented_faces]
    a, b, c = faces.T
    faces = faces[(a != b) & (b != c) & (c != a)]
    if len(faces) < 100:
        return surface
    _, first = np.unique(np.sort(faces, axis=1), axis=0, return_index=True)
    return Surface(middles / count[:, None], faces[np.sort(first)], engine=surface.engine)
