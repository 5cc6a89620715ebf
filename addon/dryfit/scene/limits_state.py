"""The limits as properties of the sidebar, generated from the one place that declares them.

Only what the user changed is stored, as a plain ID property: ``scene["dryfit_limits"]`` is JSON, limit name ->
value in the limit's own unit. Everything else comes from the brief beside the file, else from the defaults.
"""

import json
from collections.abc import Callable
from dataclasses import Field, fields, replace
from typing import Any

import bpy
from bpy.props import FloatProperty

from ..model.brief import Brief
from ..model.limits import Limits
from .brief_beside import brief_beside

LIMITS = "dryfit_limits"
UNIT_WORDS = {"mm2": "mm²", "mm3": "mm³", "deg": "°", "fraction": "of 1", "n_cm": "N·cm"}
LARGEST = 1e6


def own_limits(scene: Any) -> dict[str, float]:
    """Return the limits changed in the sidebar, name -> value."""
    try:
        stored = json.loads(scene.get(LIMITS) or "{}")
    except (TypeError, ValueError):
        return {}
    known = {entry.name for entry in fields(Limits)}
    return {name: float(value) for name, value in stored.items() if name in known}


def store_own_limits(scene: Any, values: dict[str, float]) -> None:
    """Store the limits changed in the sidebar; none at all removes the property."""
    if values:
        scene[LIMITS] = json.dumps(values, sort_keys=True)
    elif LIMITS in scene:
        del scene[LIMITS]


def scene_brief(scene: Any) -> Brief:
    """Return the brief beside the file, with the limits changed in the sidebar in its place.

    Raises
    ------
    InputError
        When the brief beside the file cannot be read.
    """
    brief = brief_beside()
    own = own_limits(scene)
    return replace(brief, limits=replace(brief.limits, **own)) if own else brief


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
