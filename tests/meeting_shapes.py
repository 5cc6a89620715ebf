"""Things that move toward each other on straight lines beside a head, with depth and first touch in closed form."""

import numpy as np

from dryfit.model.brief import Brief
from dryfit.model.snapshot import Motion, Part, Snapshot
from shapes import icosphere


def box(low, high):
    """A closed box facing outward."""
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)])
    quads = np.array([[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]])
    faces = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]]])
    return np.asarray(low) + corners * (np.asarray(high) - np.asarray(low)), faces


def ball(centre, radius_mm, level=5):
    """A sphere with a vertex on each axis through its middle."""
    vertices, faces = icosphere(level, radius_mm)
    return upright(vertices) + centre, faces


def upright(vertices):
    """Turn a sphere's vertices so that one lies on the x axis, and with it the one opposite."""
    axis = vertices[0] / np.linalg.norm(vertices[0])
    toward = np.array([1.0, 0.0, 0.0])
    half = axis + toward
    return 2.0 * np.outer(vertices @ half, half) / (half @ half) - vertices


def moving(*parts, motions):
    """A head that stays put (a block whose top is at z = -50), and parts with straight motions.

    ``motions`` is motion name -> part name -> its shift at each key frame, ``(k, 3)``.
    """
    base = Part("Head", "base", *box([-200, -200, -90], [200, 200, -50]))
    by_name = {part.name: part for part in parts}
    keyed = {}
    for name, shifts in motions.items():
        frames = {
            part: [by_name[part].vertices_mm + np.asarray(shift) for shift in row] for part, row in shifts.items()
        }
        count = len(next(iter(frames.values())))
        keyed[name] = Motion(name, np.linspace(0, 1, count), {part: np.stack(row) for part, row in frames.items()})
    return Snapshot("s", parts=(base, *parts), motions=keyed), Brief()
