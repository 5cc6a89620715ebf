"""Figures of the brief that the sidebar shows and changes: what was changed is kept, what was set back is forgotten."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from bpy.props import FloatProperty

DIGITS = 6
"""A property holds a 32-bit number; beyond this many decimals it is noise."""


@dataclass(frozen=True)
class Adjusting:
    """Where the figures of one kind stand, and where changes of them are kept.

    Attributes
    ----------
    stated
        From a scene and a figure's name to what the brief says.
    own
        From a scene to the figures changed in it, by name.
    keep
        Stores the changed figures of a scene.
    """

    stated: Callable[[Any, str], float]
    own: Callable[[Any], Mapping[str, float]]
    keep: Callable[[Any, Mapping[str, float]], None]

    def shown(self, scene: Any, name: str) -> float:
        """Return the figure that counts now."""
        own = self.own(scene)
        return own[name] if name in own else self.stated(scene, name)

    def change(self, scene: Any, name: str, value: float) -> None:
        """Keep a changed figure; one that is what the brief says is no change."""
        own = {each: kept for each, kept in self.own(scene).items() if each != name}
        wanted = round(value, DIGITS)
        if wanted != self.stated(scene, name):
            own[name] = wanted
        self.keep(scene, own)

    def as_property(self, name: str, label: str, meaning: str, **bounds: float) -> Any:
        """Return a property of a group of the scene that shows and changes a figure.

        Parameters
        ----------
        label, meaning
            Its label with the unit, and its tooltip.
        bounds
            ``min``, ``max`` and ``default``, as Blender takes them.
        """
        return FloatProperty(
            name=label,
            description=meaning,
            precision=3,
            step=5,
            get=lambda group: self.shown(group.id_data, name),
            set=lambda group, value: self.change(group.id_data, name, value),
            **bounds,
        )
