"""Bronze castings: round studs and a ringed medallion, each turned about its axis, seated on a sculpt's forehead."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .closed_surfaces import lathed_triangles
from .surface_normals import vertex_normals

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

AROUND = 96
CAP_RINGS = 14
BRONZE_G_CM3 = 8.80
"""Tin bronze UNS C90300, ASTM B505 sheets."""


@dataclass(frozen=True)
class Casting:
    """One turned casting.

    Attributes
    ----------
    left_mm, up_mm
        Where it sits, seen from the front.
    hollow_mm
        Depth of its back, hollowed as a spherical cap to lie on the brow.
    front_mm
        ``(r, 2)`` outline of its front, (radius, height), from the foot (height 0) to the axis (radius 0).
    """

    left_mm: float
    up_mm: float
    hollow_mm: float
    front_mm: tuple[tuple[float, float], ...]

    @property
    def foot_radius_mm(self) -> float:
        """Radius of its foot."""
        return self.front_mm[0][0]

    @property
    def volume_mm3(self) -> float:
        """The front as a stack of cone frusta, pi h (R2 + R r + r2) / 3, less the cap hollowed out of its back."""
        radius, height = np.array(self.front_mm).T
        slices = np.diff(height) * (radius[:-1] ** 2 + radius[:-1] * radius[1:] + radius[1:] ** 2)
        return float(np.pi * slices.sum() / 3.0) - cap_volume_mm3(self.foot_radius_mm, self.hollow_mm)

    @property
    def mass_g(self) -> float:
        """Solid bronze."""
        return self.volume_mm3 * BRONZE_G_CM3 / 1000.0


def cap_volume_mm3(foot_radius_mm: float, height_mm: float) -> float:
    """Return the volume of a spherical cap, pi h (3 a2 + h2) / 6, mm3."""
    return float(np.pi * height_mm * (3.0 * foot_radius_mm**2 + height_mm**2) / 6.0)


def cap_outline(foot_radius_mm: float, height_mm: float) -> tuple[tuple[float, float], ...]:
    """Return the outline of a spherical cap from its foot to its top, (radius, height), mm."""
    sphere = (foot_radius_mm**2 + height_mm**2) / (2.0 * height_mm)
    opening = np.arctan2(foot_radius_mm, sphere - height_mm)
    polar = np.linspace(opening, 0.0, CAP_RINGS + 1)
    points = np.stack([sphere * np.sin(polar), height_mm - sphere * (1.0 - np.cos(polar))], axis=1)
    points[0], points[-1] = (foot_radius_mm, 0.0), (0.0, height_mm)
    return tuple((float(radius), float(height)) for radius, height in points)


TREE_RINGS_MM = (
    (24.0, 0.0), (24.0, 6.5), (23.4, 7.5), (22.0, 8.1), (20.9, 7.6), (20.3, 6.7), (19.4, 6.7), (18.8, 8.0),
    (17.4, 8.9), (16.2, 8.5), (15.5, 7.5), (14.5, 7.5), (13.9, 9.0), (12.4, 9.9), (11.1, 9.4), (10.4, 8.3),
    (9.3, 8.3), (8.7, 9.9), (7.2, 10.8), (5.9, 10.3), (5.2, 9.2), (4.2, 9.2), (3.6, 10.8), (2.0, 11.8), (0.0, 12.1),
)  # fmt: skip
"""The medallion's front: the year rings of a felled tree."""

CASTINGS = (
    Casting(0.0, 68.0, 3.0, TREE_RINGS_MM),
    Casting(32.0, 64.0, 0.4, cap_outline(6.5, 4.6)), Casting(-32.0, 64.0, 0.4, cap_outline(6.5, 4.6)),
    Casting(45.0, 53.0, 0.4, cap_outline(5.5, 3.9)), Casting(-45.0, 53.0, 0.4, cap_outline(5.5, 3.9)),
    Casting(52.5, 39.0, 0.4, cap_outline(4.5, 3.2)), Casting(-52.5, 39.0, 0.4, cap_outline(4.5, 3.2)),
)  # fmt: skip


def casting_mesh(casting: Casting) -> tuple[FloatArray, IntArray]:
    """Return one casting standing on z = 0, closed."""
    back = cap_outline(casting.foot_radius_mm, casting.hollow_mm)[1:-1][::-1]
    outline = np.array([*back, *casting.front_mm[:-1]])
    angle = np.arange(AROUND) * 2.0 * np.pi / AROUND
    circle = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    rings = [np.column_stack([circle * radius, np.full(AROUND, height)]) for radius, height in outline]
    poles = np.array([[0.0, 0.0, casting.hollow_mm]]), np.array([[0.0, 0.0, casting.front_mm[-1][1]]])
    return np.concatenate([poles[0], *rings, poles[1]]), lathed_triangles(len(rings), AROUND)


def seated(casting: Casting, vertices: FloatArray, normals: FloatArray) -> tuple[FloatArray, IntArray]:
    """Return a casting lying on a sculpt, square to it, lowered until it just clears its surface.

    Parameters
    ----------
    casting
        The casting.
    vertices, normals
        ``(n, 3)`` of the sculpt.
    """
    mesh, triangles = casting_mesh(casting)
    radius = casting.foot_radius_mm
    near = np.linalg.norm(vertices[:, [0, 2]] - [casting.left_mm, casting.up_mm], axis=1) < radius
    near &= vertices[:, 1] < -20.0
    up = normals[near].mean(axis=0)
    up /= np.linalg.norm(up)
    side = np.cross([0.0, 0.0, 1.0], up)
    side /= np.linalg.norm(side)
    frame = np.stack([side, np.cross(up, side), up])
    middle = vertices[near].mean(axis=0)
    local = (vertices - middle) @ frame.T
    from_axis = np.linalg.norm(local[:, :2], axis=1)
    under = (from_axis < radius + 0.5) & (np.abs(local[:, 2]) < 25.0)
    hollow = casting.hollow_mm * np.clip(1.0 - (from_axis[under] / radius) ** 2, 0.0, None)
    seat = (local[under, 2] - hollow).max() + 0.1
    return mesh @ frame + middle + seat * up, triangles


def seated_castings(vertices: FloatArray, faces: IntArray) -> list[tuple[FloatArray, IntArray]]:
    """Return all castings seated on a sculpt."""
    normals = vertex_normals(vertices, faces)
    return [seated(casting, vertices, normals) for casting in CASTINGS]
