"""How thick a piece of one material may be to bend no harder than one of another."""

from dataclasses import dataclass

import numpy as np

from ...model.arrays import FloatArray
from ...model.brief import Brief
from ...model.materials import Material

RIGID = 0.05
"""A rigid sheet bends as one of soft material twenty times its thickness: from 1.6 GPa down to 200 kPa."""
TABLED_MM = np.linspace(0.0, 100.0, 20001)


@dataclass(frozen=True)
class Bending:
    """How one material bends, beside the ordinary one that thicknesses over moving zones are said of.

    A plate's resistance to bending is its stiffness times its thickness cubed (Timoshenko & Woinowsky-Krieger 1959,
    Theory of Plates and Shells). A material whose stiffness nobody stated counts as ordinary.

    Attributes
    ----------
    material
        What the piece is made of; None where it is not known.
    ordinary_kpa
        The stiffness of the ordinary material.
    """

    material: Material | None
    ordinary_kpa: float

    @classmethod
    def of(cls, material: str, brief: Brief) -> "Bending":
        """Return how the named material of a brief bends."""
        return cls(brief.materials.get(material), brief.limits.mobile_stiffness_kpa)

    def as_ordinary_mm(self, thick_mm: FloatArray) -> FloatArray:
        """Return how thick a sheet of the ordinary material bends as one of this material does, shaped as given."""
        if self.material is None or not (self.material.rigid or self.material.stiffness_known):
            return thick_mm
        if self.material.rigid:
            return thick_mm / RIGID
        share: FloatArray = self.material.bending_kpa(thick_mm) / max(self.ordinary_kpa, 1e-9)
        return np.asarray(thick_mm * np.cbrt(share))

    def own_mm(self, ordinary_mm: float) -> float:
        """Return how thick a sheet of this material bends as one of the ordinary material does."""
        return float(np.interp(ordinary_mm, self.as_ordinary_mm(TABLED_MM), TABLED_MM))
