"""Cast-bronze studs and a boss: spherical caps with hollowed backs, seated on a sculpt's forehead."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .closed_surfaces import lathed_triangles
from .surface_normals import vertex_normals

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

AROUND, RINGS = 64, 14
BRONZE_G_CM3 = 8.80
"""Tin bronze UNS C90300, ASTM B505 sheets."""


@dataclass(frozen=True)
class Stud:
    """One casting: where it sits, its foot's radius, its height and how deep its back is hollowed, mm."""

    left_mm: float
    up_mm: float
    foot_radius_mm: float
    height_mm: float
    hollow_mm: float

    @property
    def volume_mm3(self) -> float:
        """A spherical cap less the cap hollowed out of its back."""
        return cap_volume_mm3(self.foot_radius_mm, self.height_mm) - cap_volume_mm3(self.foot_radius_mm, self.hollow_mm)

    @property
    def mass_g(self) -> float:
        """Solid bronze."""
        return self.volume_mm3 * BRONZE_G_CM3 / 1000.0


STUDS = (
    Stud(0.0, 70.0, 20.0, 17.5, 2.4),
    Stud(29.0, 67.0, 6.5, 5.5, 0.3), Stud(-29.0, 67.0, 6.5, 5.5, 0.3),
    Stud(43.0, 55.0, 5.5, 4.6, 0.3), Stud(-43.0, 55.0, 5.5, 4.6, 0.3),
    Stud(52.0, 40.0, 4.5, 3.8, 0.3), Stud(-52.0, 40.0, 4.5, 3.8, 0.3),
)  # fmt: skip


def cap_volume_mm3(foot_radius_mm: float, height_mm: float) -> float:
    """Return the volume of a spherical cap, pi h (3 a2 + h2) / 6, mm3."""
    return float(np.pi * height_mm * (3.0 * foot_radius_mm**2 + height_mm**2) / 6.0)


def stud_mesh(stud: Stud) -> tuple[FloatArray, IntArray]:
    """Return one casting standing on z = 0, closed."""
    back = _cap_rings(stud.foot_radius_mm, stud.hollow_mm)[1:][::-1]
    front = _cap_rings(stud.foot_radius_mm, stud.height_mm)
    rings = np.concatenate([back, front])
    poles = [[0.0, 0.0, stud.hollow_mm]], [[0.0, 0.0, stud.height_mm]]
    return np.concatenate([poles[0], rings.reshape(-1, 3), poles[1]]), lathed_triangles(len(rings), AROUND)


def _cap_rings(foot_radius_mm: float, height_mm: float) -> FloatArray:
    """Return rings ``(r, a, 3)`` of a spherical cap from its foot upward, without its pole."""
    sphere = (foot_radius_mm**2 + height_mm**2) / (2.0 * height_mm)
    opening = np.arctan2(foot_radius_mm, sphere - height_mm)
    angle = np.arange(AROUND) * 2.0 * np.pi / AROUND
    circle = np.stack([np.cos(angle), np.sin(angle), np.zeros(AROUND)], axis=1)
    polar = np.linspace(opening, 0.0, RINGS, endpoint=False)[:, None, None]
    lift = np.array([0.0, 0.0, 1.0]) * (height_mm - sphere * (1.0 - np.cos(polar)))
    rings: FloatArray = circle * sphere * np.sin(polar) + lift
    return rings


def seated_stud(stud: Stud, vertices: FloatArray, normals: FloatArray) -> tuple[FloatArray, IntArray]:
    """Return a casting lying on a sculpt, square to it, lowered until it just clears its surface.

    Parameters
    ----------
    stud
        The casting.
    vertices, normals
        ``(n, 3)`` of the sculpt.
    """
    mesh, triangles = stud_mesh(stud)
    near = np.linalg.norm(vertices[:, [0, 2]] - [stud.left_mm, stud.up_mm], axis=1) < stud.foot_radius_mm
    near &= vertices[:, 1] < -20.0
    up = normals[near].mean(axis=0)
    up /= np.linalg.norm(up)
    side = np.cross([0.0, 0.0, 1.0], up)
    side /= np.linalg.norm(side)
    frame = np.stack([side, np.cross(up, side), up])
    middle = vertices[near].mean(axis=0)
    local = (vertices - middle) @ frame.T
    under = (np.linalg.norm(local[:, :2], axis=1) < stud.foot_radius_mm) & (np.abs(local[:, 2]) < 25.0)
    share = (np.linalg.norm(local[under, :2], axis=1) / stud.foot_radius_mm) ** 2
    seat = (local[under, 2] - stud.hollow_mm * (1.0 - share)).max() + 0.05
    return mesh @ frame + middle + seat * up, triangles


def stud_meshes(vertices: FloatArray, faces: IntArray) -> list[tuple[FloatArray, IntArray]]:
    """Return all castings seated on a sculpt."""
    normals = vertex_normals(vertices, faces)
    return [seated_stud(stud, vertices, normals) for stud in STUDS]
