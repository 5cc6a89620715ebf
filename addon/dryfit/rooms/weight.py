"""How much more may be worn: what is left of the limits on mass and moment, in each material."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..checks.casting.load import balance_point_mm, lever_of
from ..checks.casting.worn_mass import WornMass, weigh, without_shared, worn_parts
from ..geometry.areas import areas_mm2
from ..geometry.inertia import Bulk, together
from ..geometry.rows import row_all, row_means
from ..model.arrays import FloatArray
from ..performer.fitting import Fitting
from ..performer.head_frame import HeadFrame
from .skin import REACH_MM, Ground

NO_BALANCE = "The moment needs the head's balance point: add the landmarks tragion_left and tragion_right."


@dataclass(frozen=True)
class WeightLeft:
    """What is left in one material.

    Attributes
    ----------
    material, density_g_cm3
        What it is made of.
    mass_g
        Grams until the mass is to be looked at, what is worn counted; not below 0.
    moment_mass_g
        Grams until the moment is, for a mass spread over the face as its skin is; nan without a balance point.
    volume_cm3
        The volume of the lesser of the two.
    room_cm3
        The volume of all the room, where that is known and ends: for comparison.
    why
        What could not be told and what to add, or ``""``.
    """

    material: str
    density_g_cm3: float
    mass_g: float
    moment_mass_g: float
    volume_cm3: float
    room_cm3: float
    why: str = ""


def weight_left(fitting: Fitting, skin: Ground, room_mm: FloatArray) -> Iterator[WeightLeft]:
    """Yield what is left in every material of the brief that can be worn."""
    limits, brief = fitting.brief.limits, fitting.brief
    weighed, _ = without_shared([weigh(part, fitting, brief) for part in worn_parts(fitting)], fitting)
    problems = [item.problem for item in weighed if item.problem]
    worn = together([Bulk(item.mass_g, item.bulk.centre_mm) for item in weighed if not item.problem])
    mass_g = max(limits.head_mass_review_g - _grams(weighed), 0.0) if not problems else float("nan")
    moment_g = _moment_mass_g(fitting, skin, worn)
    why = " ".join([*problems, *([NO_BALANCE] if np.isnan(moment_g) else [])])
    room_cm3 = _volume_cm3(skin, room_mm)
    for name, material in brief.materials.items():
        least_g = float(np.min([mass_g, moment_g]))
        yield WeightLeft(
            name, material.density_g_cm3, mass_g, moment_g, least_g / material.density_g_cm3, room_cm3, why
        )


def _grams(weighed: list[WornMass]) -> float:
    return float(sum(item.mass_g for item in weighed if not item.problem))


def _moment_mass_g(fitting: Fitting, skin: Ground, worn: Bulk) -> float:
    """Return how many grams over the face bring the moment to where it is looked at; nan without a balance point."""
    balance = balance_point_mm(fitting, fitting.brief.limits)
    if balance is None:
        return float("nan")
    frame, most = HeadFrame.from_landmarks(fitting.snapshot.landmarks), fitting.brief.limits.head_moment_review_n_cm
    arm = _face_middle_mm(fitting, skin, frame) - balance

    def moment(mass_g: float) -> float:
        whole = together([Bulk(mass_g, arm), Bulk(worn.volume_mm3, worn.centre_mm - balance)])
        return lever_of(whole.volume_mm3, whole.centre_mm, frame).moment_n_cm if whole.volume_mm3 > 0.0 else 0.0

    low, high = 0.0, 1e5
    if moment(low) > most:
        return 0.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if moment(middle) <= most else (low, middle)
    return low


def _face_middle_mm(fitting: Fitting, skin: Ground, frame: HeadFrame) -> FloatArray:
    """Return the middle of the skin before the ears, ``(3,)``, mm."""
    marks = fitting.snapshot.landmarks
    ears = 0.5 * (marks["tragion_left"] + marks["tragion_right"])
    corners = skin.points_mm[skin.faces]
    middles, areas = row_means(corners), areas_mm2(corners)
    face = ((middles - ears) @ frame.front > 0.0) & row_all(skin.sculpted[skin.faces])
    if "gnathion" in marks:
        face &= middles @ frame.up > marks["gnathion"] @ frame.up
    return np.asarray((middles[face] * areas[face, None]).sum(axis=0) / max(areas[face].sum(), 1e-9))


def _volume_cm3(skin: Ground, room_mm: FloatArray) -> float:
    """Return the volume of all room that something ends, as prisms over the skin."""
    height = np.where(np.isfinite(room_mm) & (room_mm < REACH_MM), room_mm, 0.0)
    each = areas_mm2(skin.points_mm[skin.faces]) * row_means(height[skin.faces])
    return float(each.sum() / 1000.0)
