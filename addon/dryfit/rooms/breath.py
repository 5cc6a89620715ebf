"""How high skin may stand before nostrils and ears are covered: the inverse of the check of the airway."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..checks.breath import ears as hearing
from ..geometry import Surface
from ..geometry.rows import row_any, row_norms, row_sums
from ..model.arrays import BoolArray, FloatArray, IntArray
from ..model.limits import Limits
from ..performer import nostrils
from ..performer.eyes import SIDES
from ..performer.fitting import Fitting
from ..performer.head_frame import HeadFrame
from .growing import even_height_mm, first_entry_mm, passing_mm
from .skin import REACH_MM, Ground
from .stop import Stop, nowhere, untold
from .ways import Ways

CHECK = "airway"
PLACES = 40
"""Of the points of a nostril's opening so many are looked from, evenly taken."""
CELL = 0.08
"""Side of a cell of the map of ways out: 4.6 degrees."""


@dataclass(frozen=True)
class FreeOpening:
    """Something that straight ways out must be left to.

    Attributes
    ----------
    id, words, limit
        Of the stop it makes.
    places_mm
        Points that ways lead out from, ``(k, 3)``.
    outward, upright
        Which way it looks, and which way is up on the head, ``(3,)`` each.
    reach_mm
        How near something has to be to be in the way.
    least
        The share of the ways out that must be left.
    left
        (what is worn) -> the share that is left, as the check reads it.
    slope_mm
        How high the skin stands at most when it is built up evenly: it rises from the opening's border, ``(n,)``.
    """

    id: str
    words: str
    limit: str
    places_mm: FloatArray
    outward: FloatArray
    upright: FloatArray
    reach_mm: float
    least: float
    left: Callable[[list[Surface]], float]
    slope_mm: FloatArray


def breath_stops(fitting: Fitting, skin: Ground, limits: Limits) -> Iterator[Stop]:
    """Yield what each nostril and each ear leaves, or why it cannot be told."""
    upright = HeadFrame.from_landmarks(fitting.snapshot.landmarks).up
    for side in SIDES:
        nostril = nostrils.find_nostril(fitting, side)
        if nostril is None:
            marks = ", ".join(nostrils.wanted_landmarks(side))
            group = nostrils.group_name(side)
            why = f"The {side} nostril was not found: mark its skin with the vertex group {group}, or add {marks}."
            yield untold(f"nostril_{side}", CHECK, f"the {side} nostril", skin, why, _of_side(fitting, skin, side))
        else:
            yield _stop(_nostril(nostril, upright, skin, limits), skin)
    for side in SIDES:
        if f"tragion_{side}" not in fitting.snapshot.landmarks:
            why = f"The {side} ear was not found: add the landmark tragion_{side}."
            yield untold(f"ear_{side}", CHECK, f"the {side} ear", skin, why, _of_side(fitting, skin, side))
        else:
            yield _stop(_ear(fitting, side, skin, limits), skin)


def _of_side(fitting: Fitting, skin: Ground, side: str) -> BoolArray:
    left = HeadFrame.from_landmarks(fitting.snapshot.landmarks).left
    off = (skin.points_mm - skin.points_mm.mean(axis=0)) @ left
    return np.asarray(skin.sculpted & ((off > 0.0) if side == "left" else (off < 0.0)))


def _nostril(nostril: nostrils.Nostril, upright: FloatArray, skin: Ground, limits: Limits) -> FreeOpening:
    lining = Surface(skin.points_mm, skin.faces[nostril.faces])
    places = nostrils.opening_points(nostril, skin.surface)
    return FreeOpening(
        id=f"nostril_{nostril.side}",
        words=f"the {nostril.side} nostril",
        limit="nostril_open_review",
        places_mm=places[np.unique(np.linspace(0, len(places) - 1, PLACES).astype(int))] if len(places) else places,
        outward=nostril.outward,
        upright=upright,
        reach_mm=nostrils.REACH_MM,
        least=limits.nostril_open_review,
        left=lambda worn: nostrils.breath(nostril, skin.surface, worn).open_fraction,
        slope_mm=lining.closest(skin.points_mm).distance_mm,
    )


def _ear(fitting: Fitting, side: str, skin: Ground, limits: Limits) -> FreeOpening:
    frame = HeadFrame.from_landmarks(fitting.snapshot.landmarks)
    at_mm = fitting.snapshot.landmarks[f"tragion_{side}"]
    outward = frame.left if side == "left" else -frame.left
    return FreeOpening(
        id=f"ear_{side}",
        words=f"the {side} ear",
        limit="ear_open_review",
        places_mm=(at_mm + hearing.LIFT_MM * outward)[None],
        outward=outward,
        upright=frame.up,
        reach_mm=hearing.REACH_MM,
        least=limits.ear_open_review,
        left=lambda worn: hearing.ear(side, at_mm, outward, skin.surface, worn).open_fraction,
        slope_mm=row_norms(skin.points_mm - at_mm),
    )


def _stop(opening: FreeOpening, skin: Ground) -> Stop:
    """Return what an opening leaves: the ways that an even build-up to its limit would close may be closed."""
    near = _near(opening, skin)
    growing = np.zeros(len(skin.points_mm), bool)
    growing[near[opening.slope_mm[near] > 0.0]] = True
    faces = np.asarray(skin.faces[row_any(growing[skin.faces])])
    height = nowhere(skin)
    if len(faces) and len(opening.places_mm):

        def grown(height_mm: FloatArray) -> Surface:
            return Surface(skin.grown(np.where(growing, height_mm, 0.0)), faces, facing_out=True)

        def evenly(height_mm: float) -> Surface:
            return grown(np.minimum(height_mm, opening.slope_mm))

        even = even_height_mm(lambda height_mm: not opening.left([evenly(height_mm)]) < opening.least)
        if np.isfinite(even):
            kept = _kept(opening, skin, evenly(even))

            def within(points_mm: FloatArray, _: IntArray) -> BoolArray:
                return _in_a_way(kept, opening.reach_mm, points_mm)

            height[near] = first_entry_mm(skin, near, within)
            height[near[opening.slope_mm[near] <= 0.0]] = 0.0
            height = passing_mm(skin, height, lambda heights: not opening.left([grown(heights)]) < opening.least)
    return Stop(opening.id, CHECK, opening.words, opening.limit, height, together=True)


def _near(opening: FreeOpening, skin: Ground) -> IntArray:
    """Return the vertices that can come within reach before an opening, ``(k,)``."""
    if not len(opening.places_mm):
        return np.zeros(0, np.int64)
    away = skin.points_mm - opening.places_mm.mean(axis=0)
    spread = row_norms(opening.places_mm - opening.places_mm.mean(axis=0)).max()
    far = row_norms(away) < opening.reach_mm + spread + REACH_MM
    along_mm = np.clip(-row_sums(away * skin.outward), 0.0, REACH_MM)
    closest = row_norms(away - along_mm[:, None] * -skin.outward)
    return np.flatnonzero(skin.sculpted & far & (closest < opening.reach_mm + spread))


def _kept(opening: FreeOpening, skin: Ground, grown: Surface) -> list[Ways]:
    """Return, for each place, the ways out that a skin so grown leaves."""
    kept = []
    for place in opening.places_mm:
        fan = Ways.about(opening.outward, opening.upright, place, 89.0, CELL)
        start = np.broadcast_to(place, fan.directions.shape)
        free = ~skin.surface.blocked(start, fan.directions, opening.reach_mm)
        free[free] = ~grown.blocked(start[free], fan.directions[free], opening.reach_mm)
        kept.append(fan.holding(free))
    return kept


def _in_a_way(kept: Sequence[Ways], reach_mm: float, points_mm: FloatArray) -> BoolArray:
    within = np.zeros(len(points_mm), bool)
    for fan in kept:
        asked = np.flatnonzero(~within & (row_norms(points_mm - fan.from_mm) <= reach_mm))
        within[asked] = fan.holds(points_mm[asked])
    return within
