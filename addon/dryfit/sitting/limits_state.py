"""The limits as properties of the sidebar, generated from the one place that declares them; see ``own_figures``."""

from dataclasses import Field, fields
from typing import Any

import bpy

from ..model.limits import Limits
from ..model.sentences import capital
from ..scene.own_figures import own_limits, store_own_limits
from .adjusting import Adjusting
from .brief_beside import brief_beside
from .words.unit_words import unit_word


def limit_label(entry: "Field[float]") -> str:
    """Return a limit's name for a user, with its unit: ``Rim thickness (mm)``."""
    in_name = str(entry.metadata["unit"]).lower().replace("/", "_").replace(".", "_")
    words = entry.name.removesuffix("_" + in_name).replace("_", " ")
    unit = str(entry.metadata["unit"])
    return f"{words.capitalize()} ({unit_word(unit)})" if unit else words.capitalize()


def _stated(_scene: Any, name: str) -> float:
    return float(getattr(brief_beside(quiet=True).limits, name))


ADJUSTING = Adjusting(_stated, own_limits, store_own_limits)


def _span(entry: "Field[float]") -> dict[str, float]:
    """Return the bounds as a property takes them."""
    return {"min": float(entry.metadata["least"]), "max": float(entry.metadata["most"])}


def _property(entry: "Field[float]") -> Any:
    metadata = entry.metadata
    meaning = f"{capital(str(metadata['reason']))}. {capital(str(metadata['basis']))}: {metadata['source']}"
    default = float(entry.default)  # type: ignore[arg-type]
    return ADJUSTING.as_property(entry.name, limit_label(entry), meaning, default=default, **_span(entry))


DRYFIT_PG_limits = type(
    "DRYFIT_PG_limits",
    (bpy.types.PropertyGroup,),
    {
        "__doc__": "Every limit, in its own unit.",
        "__annotations__": {entry.name: _property(entry) for entry in fields(Limits)},
    },
)
