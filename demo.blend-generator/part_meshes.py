"""One finished object of a design: a mesh with a name, a role, a material and a colour."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

Colour = tuple[float, float, float]
SKIN_COLOUR: Colour = (0.52, 0.36, 0.28)


@dataclass(frozen=True)
class PartMesh:
    """One object, mm.

    Attributes
    ----------
    name, role, material
        As written to the file: object name, ``dryfit_role``, ``dryfit_material``.
    vertices_mm, faces
        ``(n, 3)`` and ``(m, 3)``.
    colour
        Linear red, green, blue.
    areas
        Vertex group -> weights ``(n,)``.
    bare
        ``(m,)`` faces that lie on the base and are coloured as skin; empty for none.
    """

    name: str
    role: str
    vertices_mm: FloatArray
    faces: IntArray
    material: str = ""
    colour: Colour = (0.6, 0.6, 0.6)
    areas: Mapping[str, FloatArray] = field(default_factory=dict)
    bare: npt.NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, bool))
