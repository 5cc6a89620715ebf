"""The limits as properties of the sidebar, generated from the one place that declares them; see ``own_figures``."""

from collections.abc import Callable
from dataclasses import Field, fields
from typing import Any

import bpy
from bpy.props import FloatProperty

from ..model.adopting import adopt
from ..model.brief import Brief
from ..model.errors import InputError
from ..model.limits import Limits
from ..model.own_figures import OwnFigures
from .brief_beside import brief_beside
from .own_figures import own_limits, own_materials, store_own_limits, stored_own_figures

UNIT_WORDS = {"mm2": "mm²", "mm3": "mm³", "deg": "°", "fraction": "of 1", "n_cm": "N·cm"}
LARGEST = 1e6


def scene_brief(scene: Any) -> Brief:
    """Return the brief beside the file, with the figures changed in the sidebar in place of its own.

    Raises
    ------
    InputError
        When the brief beside the file, or what the file states over it, cannot be read.
    """
    return adopt(brief_beside(), stored_own_figures(scene), scene.name)


def quiet_brief(scene: Any) -> Brief:
    """Return the same for a panel, which cannot complain: what cannot be read is left out."""
    brief = brief_beside(quiet=True)
    try:
        return adopt(brief, OwnFigures(own_limits(scene), own_materials(scene)))
    except InputError:
        return brief


def limit_label(entry: "Field[float]") -> str:
    """Return a limit's name for a user, with its unit: ``Rim thickness (mm)``."""
    words = entry.name.removesuffix("_" + str(entry.metadata["unit"])).replace("_", " ")
    unit = str(entry.metadata["unit"])
    return f"{words.capitalize()} ({UNIT_WORDS.get(unit, unit)})" if unit else words.capitalize()


def _getter(name: str) -> Callable[[Any], float]:
    def get(group: Any) -> float:
        scene = group.id_data
        own = own_limits(scene)
        return own[name] if name in own else float(getattr(brief_beside(quiet=True).limits, name))

    return get


def _setter(name: str) -> Callable[[Any, float], None]:
    def set_(group: Any, value: float) -> None:
        scene = group.id_data
        own = own_limits(scene)
        own[name] = round(value, 6)
        if own[name] == getattr(brief_beside(quiet=True).limits, name):
            del own[name]
        store_own_limits(scene, own)

    return set_


def _property(entry: "Field[float]") -> Any:
    metadata = entry.metadata
    return FloatProperty(
        name=limit_label(entry),
        description=f"{str(metadata['reason']).capitalize()}. Source: {metadata['source']}",
        default=float(entry.default),  # type: ignore[arg-type]
        min=0.0,
        max=LARGEST,
        precision=3,
        step=5,
        get=_getter(entry.name),
        set=_setter(entry.name),
    )


DRYFIT_PG_limits = type(
    "DRYFIT_PG_limits",
    (bpy.types.PropertyGroup,),
    {
        "__doc__": "Every limit, in its own unit.",
        "__annotations__": {entry.name: _property(entry) for entry in fields(Limits)},
    },
)
