"""The performer's head as it is stored: quads, shapes and parts, in millimetres and Blender's axes."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

STORED_HEAD = Path(__file__).parent / "data" / "makehuman_head_cc0.npz"
ORIGIN_MM = np.array([0.0, 712.0, 45.0])
"""The stored point that becomes the origin: inside the skull, between the ears."""


@dataclass(frozen=True)
class Head:
    """A head of several parts over one list of vertices.

    Attributes
    ----------
    vertices_mm
        ``(n, 3)``: x to the performer's left, y to the back, z up.
    quads
        ``(m, 4)`` corner indices, counter-clockwise from outside.
    part_of_quad
        ``(m,)`` index into ``part_names``.
    part_names
        ``skin``, ``eye_L`` and so on.
    shapes_mm
        Face shape -> displacement ``(n, 3)`` at full weight.
    """

    vertices_mm: FloatArray
    quads: IntArray
    part_of_quad: IntArray
    part_names: tuple[str, ...]
    shapes_mm: Mapping[str, FloatArray]

    def part(self, name: str) -> "Head":
        """Return one part alone, with its own vertex numbering.

        Raises
        ------
        ValueError
            When there is no such part.
        """
        quads = self.quads[self.part_of_quad == self.part_names.index(name)]
        used, compact = np.unique(quads, return_inverse=True)
        return Head(
            self.vertices_mm[used],
            compact.reshape(-1, 4),
            np.zeros(len(quads), np.int64),
            (name,),
            {shape: moved[used] for shape, moved in self.shapes_mm.items()},
        )


def to_blender_axes(vectors: npt.ArrayLike) -> FloatArray:
    """Return ``(..., 3)`` vectors (left, up, front) as (left, back, up): Blender's front view sees the face."""
    left, up, front = np.moveaxis(np.asarray(vectors, dtype=np.float64), -1, 0)
    return np.stack([left, -front, up], axis=-1)


def load_head(path: Path = STORED_HEAD) -> Head:
    """Read the stored head.

    Raises
    ------
    OSError, KeyError
        When the file is not there or is not such a file.
    """
    with np.load(path, allow_pickle=False) as stored:
        names = [str(name) for name in stored["morph_names"]]
        count = len(stored["V_mm"])
        starts, at = stored["morph_start"], stored["morph_idx"].astype(np.int64)
        moved = stored["morph_delta"].astype(np.float64) * float(stored["morph_unit_mm"])
        shapes = {}
        for name, start, end in zip(names, starts[:-1], starts[1:], strict=True):
            shape = np.zeros((count, 3))
            shape[at[start:end]] = moved[start:end]
            shapes[name] = to_blender_axes(shape)
        return Head(
            to_blender_axes(stored["V_mm"].astype(np.float64) - ORIGIN_MM),
            stored["F"].astype(np.int64),
            stored["face_part"].astype(np.int64),
            tuple(str(name) for name in stored["part_names"]),
            shapes,
        )
