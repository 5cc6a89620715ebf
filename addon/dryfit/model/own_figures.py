"""What a design's own file states beside its brief: figures that go over it, motions that it goes over."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from .pickling import Refrozen

Figures = Mapping[str, float]


@dataclass(frozen=True)
class OwnFigures(Refrozen):
    """What a file states over its brief, in each figure's own unit.

    Attributes
    ----------
    limits
        Limit name -> value.
    materials
        Material name -> figure name -> value.
    motions
        Motions made without shape keys: name -> table as under a brief's ``[motions]``. A brief's own motion of the
        same name is used in its place.
    """

    limits: Figures = field(default_factory=dict)
    materials: Mapping[str, Figures] = field(default_factory=dict)
    motions: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Freeze the mappings."""
        object.__setattr__(self, "limits", MappingProxyType(dict(self.limits)))
        materials = {name: MappingProxyType(dict(figures)) for name, figures in self.materials.items() if figures}
        object.__setattr__(self, "materials", MappingProxyType(materials))
        object.__setattr__(self, "motions", MappingProxyType(dict(self.motions)))

    def __bool__(self) -> bool:
        return bool(self.limits or self.materials or self.motions)

    def words(self) -> str:
        """Return everything as text: ``additive_tolerance_mm = 3, silicone density_g_cm3 = 1.2, jaw (hinge)``."""
        limits = [f"{name} = {value:g}" for name, value in self.limits.items()]
        figures = [
            f"{name} {figure} = {value:g}" for name, own in self.materials.items() for figure, value in own.items()
        ]
        motions = [f"{name} ({', '.join(table)})" for name, table in self.motions.items()]
        return ", ".join([*limits, *figures, *motions])
