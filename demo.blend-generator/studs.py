"""Cast studs: spherical caps on flat backs, seated on a sculpt's forehead."""

import numpy as np
import numpy.typing as npt

from .closed_surfaces import lathed_triangles
from .surface_normals import vertex_normals

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

FOOT_RADIUS_MM = 5.5
HEIGHT_MM = 4.0
AROUND, RINGS = 48, 14
PLACES_MM = ((0.0, 76.0), (17.0, 73.0), (-17.0, 73.0), (33.0, 64.0), (-33.0, 64.0), (45.0, 50.0), (-45.0, 50.0))
"""(left, up) of each stud, mm."""


def cap_volume_mm3(foot_radius_mm: float = FOOT_RADIUS_MM, height_mm: float = HEIGHT_MM) -> float:
    """Return the volume of a spherical cap, pi h (3 a2 + h2) / 6, mm3."""
    return np.pi * height_mm * (3.0 * foot_radius_mm**2 + height_mm**2) / 6.0


def cap_mesh() -> tuple[FloatArray, IntArray]:
    """Return one cap standing on z = 0, closed by its flat back."""
    sphere = (FOOT_RADIUS_MM**2 + HEIGHT_MM**2) / (2.0 * HEIGHT_MM)
    opening = np.arcsin(FOOT_RADIUS_MM / sphere)
    angle = np.arange(AROUND) * 2.0 * np.pi / AROUND
    circle = np.stack([np.cos(angle), np.sin(angle), np.zeros(AROUND)], axis=1)
    rings = []
    for polar in np.linspace(opening, 0.0, RINGS, endpoint=False):
        rings.append(circle * sphere * np.sin(polar) + [0.0, 0.0, HEIGHT_MM - sphere * (1.0 - np.cos(polar))])
    points = np.concatenate([np.zeros((1, 3)), *rings, [[0.0, 0.0, HEIGHT_MM]]])
    return points, lathed_triangles(RINGS, AROUND)


def stud_meshes(vertices: FloatArray, faces: IntArray) -> list[tuple[FloatArray, IntArray]]:
    """Return the studs seated on a sculpt: each rests on the highest point under its foot."""
    normals = vertex_normals(vertices, faces)
    cap, triangles = cap_mesh()
    return [(_seated(cap, place, vertices, normals), triangles) for place in PLACES_MM]


def _seated(cap: FloatArray, place: tuple[float, float], vertices: FloatArray, normals: FloatArray) -> FloatArray:
    under = np.linalg.norm(vertices[:, [0, 2]] - place, axis=1) < FOOT_RADIUS_MM + 1.0
    under &= vertices[:, 1] < -20.0
    up = normals[under].mean(axis=0)
    up /= np.linalg.norm(up)
    middle = vertices[under].mean(axis=0)
    seat = ((vertices[under] - middle) @ up).max() + 0.02
    side = np.cross([0.0, 0.0, 1.0], up)
    side /= np.linalg.norm(side)
    frame = np.stack([side, np.cross(up, side), up])
    seated: FloatArray = cap @ frame + middle + seat * up
    return seated
