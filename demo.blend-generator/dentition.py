"""Two rows of crowns on arches inside the lips, each in its gum."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .closed_surfaces import lathed_triangles
from .crowns import LOWER, UPPER, CrownSize, crown_surface
from .head import ORIGIN_MM

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Arch:
    """The line through the middles of one jaw's crowns: half an ellipse, flat.

    Attributes
    ----------
    half_width_mm, depth_mm
        Half axes across and front to back.
    front_mm, middle_mm
        The ellipse's foremost point and, behind it, the middle: back coordinates (y), mm.
    bite_mm
        Height (z) of each crown's biting edge by position from the midline.
    upward
        +1 where crowns point up (lower jaw), -1 where they point down.
    """

    jaw: str
    half_width_mm: float
    depth_mm: float
    front_mm: float
    bite_mm: tuple[float, ...]

    @property
    def points_up(self) -> bool:
        """Whether the crowns point up."""
        return self.jaw == "lower"

    def line(self) -> tuple[FloatArray, FloatArray]:
        """Return points ``(k, 2)`` (left, back) of the left half from the midline, and lengths ``(k,)`` along it."""
        angle = np.linspace(0.0, np.radians(112.0), 2001)
        back = self.front_mm + self.depth_mm * (1.0 - np.cos(angle))
        points = np.stack([self.half_width_mm * np.sin(angle), back], axis=1)
        steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
        return points, np.concatenate([[0.0], np.cumsum(steps)])

    def at(self, length_mm: float) -> tuple[FloatArray, FloatArray]:
        """Return the point ``(2,)`` at a length from the midline and the unit direction ``(2,)`` of the arch there."""
        points, lengths = self.line()
        near = np.clip([length_mm - 0.5, length_mm + 0.5], 0.0, lengths[-1])
        before, here, after = (
            np.array([np.interp(where, lengths, column) for column in points.T])
            for where in (near[0], length_mm, near[1])
        )
        return here, (after - before) / np.linalg.norm(after - before)


def _stored(front: float, up: float) -> tuple[float, float]:
    return ORIGIN_MM[2] - front, up - ORIGIN_MM[1]


FRONT_UPPER_MM, _ = _stored(133.6, 0.0)
FRONT_LOWER_MM, _ = _stored(132.6, 0.0)
UPPER_EDGES_MM = tuple(up - 712.0 for up in (666.5, 667.0, 666.3, 668.2, 668.3, 668.4, 668.6))
LOWER_EDGES_MM = tuple(up - 712.0 for up in (669.2, 669.2, 669.4, 667.7, 667.7, 667.7, 667.9))
UPPER_ARCH = Arch("upper", 27.0, 43.0, FRONT_UPPER_MM, UPPER_EDGES_MM)
LOWER_ARCH = Arch("lower", 25.0, 41.0, FRONT_LOWER_MM, LOWER_EDGES_MM)
"""Overbite 2.7 mm: Brunelle, Bhat & Lipton 1996, J Dent Res 75(Spec):706-713, mean 2.9 mm."""


@dataclass(frozen=True)
class Tooth:
    """One placed crown: its FDI number (ISO 3950) and where its vertices lie in the row."""

    fdi: int
    first: int
    last: int


@dataclass(frozen=True)
class Row:
    """One jaw's teeth and gum.

    Attributes
    ----------
    vertices_mm, faces
        ``(n, 3)`` and ``(m, 3)``; every crown and the gum are islands of their own.
    teeth
        Which vertices are which tooth.
    """

    vertices_mm: FloatArray
    faces: IntArray
    teeth: tuple[Tooth, ...]

    def tooth(self, fdi: int) -> FloatArray:
        """Return the vertices ``(k, 3)`` of one tooth, mm.

        Raises
        ------
        StopIteration
            When the row has no such tooth.
        """
        tooth = next(tooth for tooth in self.teeth if tooth.fdi == fdi)
        return self.vertices_mm[tooth.first : tooth.last]


def quadrant(jaw: str, left: bool) -> int:
    """Return the first digit of the FDI number (ISO 3950): 1 upper right, 2 upper left, 3 lower left, 4 lower right."""
    return {("upper", False): 1, ("upper", True): 2, ("lower", True): 3, ("lower", False): 4}[jaw, left]


def tooth_row(arch: Arch, sizes: dict[int, CrownSize]) -> Row:
    """Place one jaw's crowns along its arch, both sides, and lay a gum around their necks."""
    vertices, faces, teeth, count = [], [], [], 0
    for left in (True, False):
        along = 0.0
        for position, size in sizes.items():
            placed, triangles = _placed(arch, size, position, along + size.mesiodistal_mm / 2.0, left)
            along += size.mesiodistal_mm
            vertices.append(placed)
            faces.append(triangles + count)
            teeth.append(Tooth(10 * quadrant(arch.jaw, left) + position, count, count + len(placed)))
            count += len(placed)
    gum, gum_faces = _gum(arch, sizes)
    return Row(np.concatenate([*vertices, gum]), np.concatenate([*faces, gum_faces + count]), tuple(teeth))


def _placed(arch: Arch, size: CrownSize, position: int, along_mm: float, left: bool) -> tuple[FloatArray, IntArray]:
    crown, triangles = crown_surface(size, arch.jaw)
    here, direction = arch.at(along_mm)
    lipward = np.array([direction[1], -direction[0]])
    flat = here + crown[:, :1] * direction + crown[:, 1:2] * lipward
    to_edge = size.height_mm - crown[:, 2]
    height = arch.bite_mm[position - 1] + (-to_edge if arch.points_up else to_edge)
    placed = np.column_stack([flat[:, 0] if left else -flat[:, 0], flat[:, 1], height])
    # x along the arch, y lipward, z toward the bite is left-handed once only: each reflection turns it over
    turned_over = arch.points_up == left
    return placed, triangles[:, ::-1] if turned_over else triangles


GUM_AROUND = 16
GUM_RINGS = 81


def _gum(arch: Arch, sizes: dict[int, CrownSize]) -> tuple[FloatArray, IntArray]:
    """Return a closed roll around the necks of the crowns."""
    widths = np.array([size.mesiodistal_mm for size in sizes.values()])
    middles = np.cumsum(widths) - widths / 2.0
    end = widths.sum() + 1.0
    away = -1.0 if arch.points_up else 1.0
    necks = smoothed([bite + away * size.height_mm for bite, size in zip(arch.bite_mm, sizes.values(), strict=True)])
    thick = np.array([size.labiolingual_mm for size in sizes.values()])
    angle = np.arange(GUM_AROUND) * 2.0 * np.pi / GUM_AROUND
    rings = []
    for along in np.linspace(-end, end, GUM_RINGS):
        here, direction = arch.at(abs(along))
        lipward = np.array([direction[1], -direction[0]])
        neck = np.interp(abs(along), middles, necks)
        taper = min(1.0, 0.35 + (end - abs(along)) / 6.0)
        half = (0.42 * np.interp(abs(along), middles, thick) + 0.5) * taper
        flat = here + (half * np.cos(angle))[:, None] * lipward
        up = neck + away * (2.2 * taper * (1.0 + np.sin(angle)) - 1.0)
        rings.append(np.column_stack([np.sign(along) * flat[:, 0] if along else flat[:, 0], flat[:, 1], up]))
    points = np.stack(rings)
    ends = points[0].mean(axis=0), points[-1].mean(axis=0)
    vertices = np.concatenate([ends[0][None], points.reshape(-1, 3), ends[1][None]])
    triangles = lathed_triangles(GUM_RINGS, GUM_AROUND)
    return vertices, outward(vertices, triangles)


def smoothed(heights: list[float]) -> FloatArray:
    """Return heights with each one averaged half and half with its neighbours, the ends kept."""
    values = np.array(heights)
    values[1:-1] = 0.5 * values[1:-1] + 0.25 * (values[:-2] + values[2:])
    return values


def outward(vertices: FloatArray, faces: IntArray) -> IntArray:
    """Return the faces of a closed surface wound so that its volume is positive."""
    return faces if volume_mm3(vertices, faces) > 0.0 else faces[:, ::-1]


def volume_mm3(vertices: FloatArray, faces: IntArray) -> float:
    """Return the signed volume of a closed surface by the divergence theorem, in the unit cubed."""
    a, b, c = vertices[faces].transpose(1, 0, 2)
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


def upper_row() -> Row:
    """Return the upper teeth at their published sizes."""
    return tooth_row(UPPER_ARCH, UPPER)


def lower_row() -> Row:
    """Return the lower teeth at their published sizes, jaw closed."""
    return tooth_row(LOWER_ARCH, LOWER)
