"""Figures that were changed in a design's own file, in the sidebar, and that go over its brief."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

Figures = Mapping[str, float]


@dataclass(frozen=True)
class OwnFigures:
    """What a file states over its brief, in each figure's own unit.

    Attributes
    ----------
    limits
        Limit name -> value.
    materials
        Material name -> figure name -> value.
    """

    limits: Figures = field(default_factory=dict)
    materials: Mapping[str, Figures] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Freeze the mappings."""
        object.__setattr__(self, "limits", MappingProxyType(dict(self.limits)))
        materials = {name: MappingProxyType(dict(figures)) for name, figures in self.materials.items() if figures}
        object.__setattr__(self, "materials", MappingProxyType(materials))

    def __bool__(self) -> bool:
        return bool(self.limits or self.materials)

    def words(self) -> str:
        """Return every figure as text: ``additive_tolerance_mm = 3, silicone density_g_cm3 = 1.2``."""
        limits = [f"{name} = {value:g}" for name, value in self.limits.items()]
        figures = [
            f"{name} {figure} = {value:g}" for name, own in self.materials.items() for figure, value in own.items()
        ]
        return ", ".join([*limits, *figures])
