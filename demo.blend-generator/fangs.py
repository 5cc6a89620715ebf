"""Teeth grown out of proportion: lower canines as tusks, upper front teeth that hang over the lower lip."""

import numpy as np
import numpy.typing as npt

from .closed_surfaces import lathed_triangles
from .crowns import AROUND, CrownSize
from .dentition import Arch, Row, Tooth, outward, tooth_row
from .ramps import smooth_step

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

TUSK_TEETH = (33, 43)
TUSK_LEAN_MM = 3.0
"""How far a tusk's tip leans to the cheek."""


def tusked_row(arch: Arch, sizes: dict[int, CrownSize], longer_mm: float) -> Row:
    """Return the lower teeth with the canines drawn out upward by a known length.

    The crown is stretched above its lower third, so that its neck stays in its neighbours' row, and leans outward.
    """
    row = tooth_row(arch, sizes)
    vertices = row.vertices_mm.copy()
    for tooth in row.teeth:
        if tooth.fdi in TUSK_TEETH:
            vertices[tooth.first : tooth.last] = drawn_out(row.tooth(tooth.fdi), longer_mm)
    return Row(vertices, row.faces, row.teeth)


def drawn_out(crown: FloatArray, longer_mm: float) -> FloatArray:
    """Return a lower crown ``(n, 3)`` stretched upward so that its tip stands ``longer_mm`` higher."""
    low, high = crown[:, 2].min(), crown[:, 2].max()
    share = np.clip((crown[:, 2] - low) / (high - low), 0.0, 1.0)
    grown = crown.copy()
    grown[:, 2] += longer_mm * share**1.5
    outside = np.sign(crown[:, 0].mean())
    grown[:, 0] += outside * TUSK_LEAN_MM * share**2
    return grown


FANG_TEETH = (11, 12, 21, 22)
FANG_RINGS = 24


def overhanging_row(arch: Arch, sizes: dict[int, CrownSize], overhang_mm: float) -> Row:
    """Return the upper teeth with the four incisors growing forward between the lips and down over the lower one."""
    row = tooth_row(arch, sizes)
    vertices, faces, teeth = [], [], []
    count = 0
    for tooth in row.teeth:
        mine = ((row.faces >= tooth.first) & (row.faces < tooth.last)).all(axis=1)
        mesh = row.tooth(tooth.fdi), row.faces[mine] - tooth.first
        if tooth.fdi in FANG_TEETH:
            mesh = fang(row.tooth(tooth.fdi), overhang_mm)
        vertices.append(mesh[0])
        faces.append(mesh[1] + count)
        teeth.append(Tooth(tooth.fdi, count, count + len(mesh[0])))
        count += len(mesh[0])
    last = max(tooth.last for tooth in row.teeth)
    gum = (row.faces >= last).all(axis=1)
    vertices.append(row.vertices_mm[last:])
    faces.append(row.faces[gum] - last + count)
    return Row(np.concatenate(vertices), np.concatenate(faces), tuple(teeth))


def fang(crown: FloatArray, overhang_mm: float) -> tuple[FloatArray, IntArray]:
    """Return a tooth swept from a crown's neck, out between the lips and down in front of the lower lip."""
    middle = crown.mean(axis=0)
    width = np.ptp(crown[:, 0])
    path = fang_path(middle, overhang_mm)
    share = np.linspace(0.0, 1.0, FANG_RINGS)
    angle = np.arange(AROUND) * 2.0 * np.pi / AROUND
    half_width = 0.5 * width * np.interp(share, [0.0, 0.3, 0.75, 0.93, 1.0], [0.85, 0.92, 1.0, 0.93, 0.75]) * 0.86
    half_thick = np.interp(share, [0.0, 0.15, 0.35, 0.6, 0.9, 1.0], [2.4, 2.2, 1.15, 1.2, 1.2, 1.15])
    direction = np.gradient(path, axis=0)
    direction /= np.linalg.norm(direction, axis=1, keepdims=True)
    side = np.array([1.0, 0.0, 0.0])
    rings = []
    for place, along, wide, thick in zip(path, direction, half_width, half_thick, strict=True):
        out = np.cross(along, side)
        corner = 2.0 / 2.6
        across = np.sign(np.cos(angle)) * np.abs(np.cos(angle)) ** corner * wide
        deep = np.sign(np.sin(angle)) * np.abs(np.sin(angle)) ** corner * thick
        rings.append(place + across[:, None] * side + deep[:, None] * out)
    vertices = np.concatenate([path[:1], *rings, path[-1:]])
    return vertices, outward(vertices, lathed_triangles(FANG_RINGS, AROUND))


def fang_path(middle: FloatArray, overhang_mm: float) -> FloatArray:
    """Return the middle line ``(24, 3)`` of an overhanging tooth; y to the back, z up, mm."""
    forward = middle[1] + 88.0
    knots = np.array(
        [
            (-89.0, -35.0), (-89.6, -40.0), (-92.5, -43.6), (-97.5, -44.6), (-102.5, -45.4), (-106.3, -47.6),
            (-107.6, -51.5), (-107.3, -44.3 - overhang_mm),
        ]
    )  # fmt: skip
    steps = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(knots, axis=0), axis=1))])
    even = np.linspace(0.0, steps[-1], FANG_RINGS)
    back, up = (np.interp(even, steps, column) for column in knots.T)
    relax = smooth_step(even, 0.0, steps[-1])
    for _ in range(2):
        back[1:-1], up[1:-1] = ((c[:-2] + 2.0 * c[1:-1] + c[2:]) / 4.0 for c in (back, up))
    spread = middle[0] * (1.0 + 0.05 * relax)
    return np.column_stack([spread, back + forward * (1.0 - 0.35 * relax), up])
