"""How thick a form may be over what moves: lips, lids, folds and cheeks, from the check of thickness."""

from __future__ import annotations

import numpy as np

from ..checks.casting.thickness import levels_mm
from ..model.limits import Limits
from ..performer.fitting import Fitting
from ..performer.mobile_zones import MissingZone, mobile_zones
from .skin import Ground
from .stop import Stop, nowhere, untold

CHECK = "thickness"
WORDS = {"lip": "lips that move", "lid": "lids that move", "fold": "a fold that moves", "cheek": "a cheek that moves"}
LIMITS = {
    "lip": "mobile_thickness_review_mm",
    "lid": "lid_thickness_review_mm",
    "fold": "mobile_thickness_review_mm",
    "cheek": "cheek_thickness_review_mm",
}


def zone_stops(fitting: Fitting, skin: Ground, limits: Limits) -> list[Stop]:
    """Return what may stand on each kind of moving zone, said of the ordinary material as the check says it."""
    zones, missing = mobile_zones(fitting.snapshot.landmarks, limits, skin.surface)
    stops = []
    for kind, words in WORDS.items():
        height = nowhere(skin)
        own = [zone for zone in zones if zone.kind == kind]
        for zone in own:
            height[zone.beyond_mm(skin.points_mm) < 0.0] = levels_mm(kind, limits)[0]
        if own:
            stops.append(Stop(f"zone_{kind}", CHECK, words, LIMITS[kind], height))
    return [*stops, *_missing(missing, skin)]


def _missing(missing: tuple[MissingZone, ...], skin: Ground) -> list[Stop]:
    if not missing:
        return []
    marks = sorted({mark for zone in missing for mark in zone.landmarks})
    why = (
        f"Where the {', '.join(zone.name for zone in missing)} move is not known. Add the landmarks {', '.join(marks)}."
    )
    return [untold("zone_missing", CHECK, "what moves", skin, why, np.asarray(skin.sculpted))]
