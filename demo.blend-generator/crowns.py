"""Tooth crowns from published sizes: one closed surface a tooth, in its own frame.

Sizes are textbook means in mm, height x mesiodistal x labiolingual. Those of the maxillary incisors were
read in a dental textbook's table; the others, from the same family of tables (Ash & Nelson, Wheeler's Dental
Anatomy), are from memory. Measured means for comparison: Orozco-Varo et al. 2015, J Prosthet Dent 113:565
(412 casts; central 10.23 x 8.71, lateral 8.59 x 6.75, canine 9.93 x 7.81).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .closed_surfaces import lathed_triangles

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

AROUND = 24


@dataclass(frozen=True)
class CrownSize:
    """Published size of one crown, mm, and the kind of shape it has."""

    height_mm: float
    mesiodistal_mm: float
    labiolingual_mm: float
    kind: str


UPPER = {
    1: CrownSize(10.5, 8.5, 7.0, "incisor"),
    2: CrownSize(9.0, 6.5, 6.0, "incisor"),
    3: CrownSize(10.0, 7.5, 8.0, "canine"),
    4: CrownSize(8.5, 7.0, 9.0, "premolar"),
    5: CrownSize(8.5, 7.0, 9.0, "premolar"),
    6: CrownSize(7.5, 10.0, 11.0, "molar"),
    7: CrownSize(7.0, 9.0, 11.0, "molar"),
}
"""Position from the midline -> size, upper jaw."""

LOWER = {
    1: CrownSize(9.0, 5.0, 6.0, "incisor"),
    2: CrownSize(9.5, 5.5, 6.5, "incisor"),
    3: CrownSize(11.0, 7.0, 7.5, "canine"),
    4: CrownSize(8.5, 7.0, 7.5, "premolar"),
    5: CrownSize(8.0, 7.0, 8.0, "premolar"),
    6: CrownSize(7.5, 11.0, 10.5, "molar"),
    7: CrownSize(7.0, 10.5, 10.0, "molar"),
}
"""Position from the midline -> size, lower jaw."""


@dataclass(frozen=True)
class Contour:
    """How a crown's outline changes from the neck (share 0) to the biting edge (share 1).

    Attributes
    ----------
    share
        Heights of the rings, ascending.
    mesiodistal, labiolingual
        Width of each ring as a share of the published width.
    corner
        Exponent of each ring's superellipse: 2 is an ellipse, 4 nearly a box.
    """

    share: tuple[float, ...]
    mesiodistal: tuple[float, ...]
    labiolingual: tuple[float, ...]
    corner: tuple[float, ...]


CONTOURS = {
    "incisor": Contour(
        (0.0, 0.05, 0.14, 0.28, 0.45, 0.62, 0.78, 0.90, 0.965, 1.0),
        (0.70, 0.78, 0.83, 0.89, 0.94, 0.98, 1.00, 0.985, 0.95, 0.86),
        (0.86, 0.96, 1.00, 0.92, 0.68, 0.46, 0.31, 0.235, 0.185, 0.10),
        (2.2, 2.3, 2.4, 2.5, 2.7, 2.9, 3.0, 3.0, 2.8, 2.5),
    ),
    "canine": Contour(
        (0.0, 0.05, 0.14, 0.28, 0.45, 0.60, 0.72, 0.83, 0.93, 1.0),
        (0.72, 0.80, 0.85, 0.91, 0.97, 1.00, 0.96, 0.78, 0.46, 0.14),
        (0.84, 0.95, 1.00, 0.94, 0.74, 0.54, 0.40, 0.30, 0.22, 0.10),
        (2.2, 2.2, 2.3, 2.3, 2.4, 2.4, 2.3, 2.2, 2.1, 2.0),
    ),
    "premolar": Contour(
        (0.0, 0.06, 0.18, 0.35, 0.52, 0.68, 0.82, 0.92, 0.98, 1.0),
        (0.74, 0.82, 0.89, 0.95, 0.99, 1.00, 0.96, 0.84, 0.66, 0.42),
        (0.84, 0.92, 0.98, 1.00, 0.98, 0.93, 0.85, 0.74, 0.58, 0.36),
        (2.3, 2.4, 2.5, 2.6, 2.7, 2.7, 2.6, 2.5, 2.4, 2.3),
    ),
    "molar": Contour(
        (0.0, 0.06, 0.18, 0.35, 0.52, 0.68, 0.82, 0.92, 0.98, 1.0),
        (0.80, 0.87, 0.93, 0.97, 1.00, 1.00, 0.97, 0.90, 0.78, 0.55),
        (0.86, 0.93, 0.98, 1.00, 0.99, 0.96, 0.91, 0.83, 0.70, 0.48),
        (2.8, 3.0, 3.2, 3.3, 3.3, 3.2, 3.1, 3.0, 2.8, 2.6),
    ),
}
FLAT_FACE = {"upper": 1.0, "lower": 0.35}
"""How far the biting edge leans to the lip side: 1 keeps the lip side flat, 0 tapers both sides alike."""
FOSSA_SHARE = 0.16
"""Depth of the hollow between the cusps of the back teeth, share of the crown's height."""


def crown_surface(size: CrownSize, jaw: str) -> tuple[FloatArray, IntArray]:
    """Return one crown as a closed surface.

    The frame: x along the arch, y toward the lips, z from the neck (0) to the biting edge (the height).

    Parameters
    ----------
    size
        The published size; the surface measures exactly that along its three axes.
    jaw
        ``upper`` or ``lower``: where the biting edge stands.

    Returns
    -------
    vertices_mm, faces
        ``(n, 3)`` and ``(m, 3)``, counter-clockwise from outside.
    """
    contour = CONTOURS[size.kind]
    rings = np.stack([_ring(contour, row, size, jaw) for row in range(len(contour.share))])
    neck, bite = rings[0].mean(axis=0), rings[-1].mean(axis=0)
    if size.kind in ("premolar", "molar"):
        rings, bite = _with_fossa(rings, size)
    vertices = np.concatenate([neck[None], rings.reshape(-1, 3), bite[None]])
    return _fitted(vertices, size), lathed_triangles(len(rings), AROUND)


def _ring(contour: Contour, row: int, size: CrownSize, jaw: str) -> FloatArray:
    angle = np.arange(AROUND) * 2.0 * np.pi / AROUND
    power = 2.0 / contour.corner[row]
    across, deep = np.cos(angle), np.sin(angle)
    x = np.sign(across) * np.abs(across) ** power * contour.mesiodistal[row] * size.mesiodistal_mm / 2.0
    y = np.sign(deep) * np.abs(deep) ** power * contour.labiolingual[row] * size.labiolingual_mm / 2.0
    lean = FLAT_FACE[jaw] * (1.0 - contour.labiolingual[row]) * size.labiolingual_mm / 2.0
    tapers = size.kind in ("incisor", "canine") and contour.share[row] > 0.14
    return np.stack([x, y + lean * tapers, np.full(AROUND, contour.share[row] * size.height_mm)], axis=1)


def _with_fossa(rings: FloatArray, size: CrownSize) -> tuple[FloatArray, FloatArray]:
    """Return the rings of a back tooth with one more inside the cusps, and the hollow's deepest point."""
    depth_mm = FOSSA_SHARE * size.height_mm
    middle = rings[-1].mean(axis=0)
    inner = middle + (rings[-1] - middle) * 0.5 - [0.0, 0.0, 0.6 * depth_mm]
    return np.concatenate([rings, inner[None]]), middle - [0.0, 0.0, depth_mm]


def _fitted(vertices: FloatArray, size: CrownSize) -> FloatArray:
    """Return the vertices scaled so that their extents are the published size, centred across, neck at z = 0."""
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    wanted = np.array([size.mesiodistal_mm, size.labiolingual_mm, size.height_mm])
    centred = (vertices - (low + high) / 2.0) / (high - low) * wanted
    return centred + [0.0, 0.0, size.height_mm / 2.0]
