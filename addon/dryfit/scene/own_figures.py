"""What a scene states beside its brief: limits and figures of materials over it, as JSON text, and motions under it.

``scene["dryfit_limits"]`` is limit name -> value; ``scene["dryfit_materials"]`` is material -> figure -> value, each
in the figure's own unit. Everything else comes from the brief beside the file, else from the defaults.
"""

import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from ..model.adopting import FIGURES
from ..model.limits import ENTRIES
from ..model.motion_tables import motion_tables
from ..model.own_figures import OwnFigures
from .errors import BadStoredValue
from .motions import motions_without_keys, stored_motions

LIMITS = "dryfit_limits"
MATERIALS = "dryfit_materials"


def stored_own_figures(scene: Any) -> OwnFigures:
    """Return what the scene states beside its brief.

    Raises
    ------
    BadStoredValue
        When a property is there and is not a JSON object of numbers, or of motions.
    """
    return replace(_stored_figures(scene), motions=motion_tables(motions_without_keys(stored_motions(scene))))


def _stored_figures(scene: Any) -> OwnFigures:
    limits = _read(scene, LIMITS)
    materials = {name: _numbers(scene, MATERIALS, figures) for name, figures in _read(scene, MATERIALS).items()}
    return OwnFigures(_numbers(scene, LIMITS, limits), materials)


def own_limits(scene: Any) -> dict[str, float]:
    """Return the known limits changed in the sidebar; what cannot be read is left out, for panels that draw."""
    return {name: value for name, value in _quietly(scene).limits.items() if name in ENTRIES}


def own_materials(scene: Any) -> dict[str, dict[str, float]]:
    """Return the known figures changed in the sidebar by material; what cannot be read is left out."""
    return {
        name: {figure: value for figure, value in figures.items() if figure in FIGURES}
        for name, figures in _quietly(scene).materials.items()
    }


def store_own_limits(scene: Any, values: Mapping[str, float]) -> None:
    """Store the limits changed in the sidebar; none at all removes the property."""
    _store(scene, LIMITS, dict(values))


def store_own_materials(scene: Any, values: Mapping[str, Mapping[str, float]]) -> None:
    """Store the figures of materials changed in the sidebar; none at all removes the property."""
    _store(scene, MATERIALS, {name: dict(figures) for name, figures in values.items() if figures})


def _store(scene: Any, name: str, values: Mapping[str, Any]) -> None:
    if values:
        scene[name] = json.dumps(values, sort_keys=True)
    elif name in scene:
        del scene[name]


def _quietly(scene: Any) -> OwnFigures:
    try:
        return _stored_figures(scene)
    except BadStoredValue:
        return OwnFigures()


def _read(scene: Any, name: str) -> dict[str, Any]:
    try:
        values = json.loads(scene.get(name) or "{}")
    except (TypeError, ValueError) as error:
        raise BadStoredValue(scene.name, name, str(error)) from error
    if not isinstance(values, dict):
        raise BadStoredValue(scene.name, name, "it is no JSON object")
    return values


def _numbers(scene: Any, name: str, values: Any) -> dict[str, float]:
    if not isinstance(values, dict) or not all(isinstance(each, int | float) for each in values.values()):
        raise BadStoredValue(scene.name, name, "its figures are not numbers")
    return {figure: float(value) for figure, value in values.items()}
