"""What to do next so that a check can answer: read from the scene and from what the check said it lacked."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ..model.snapshot import LANDMARKS, Role
from .brief_beside import brief_beside
from .landmarking.landmark_placing import missing_landmarks
from .landmarking.landmark_proposing import unconfirmed_landmarks
from .materials_state import material_of, worn_parts
from .parts import listed_parts, role_counts, scene_base

WORN = (Role.APPLIANCE, Role.HARDWARE, Role.UPPER_TEETH, Role.LOWER_TEETH)
TEETH = re.compile(r"no teeth|'upper_teeth'|'lower_teeth'")
MATERIAL = re.compile(r"material")
MOTION = re.compile(r"motion|nothing moves|no blink|shape key")
LANDMARK = re.compile(r"landmark|" + "|".join(LANDMARKS))


@dataclass(frozen=True)
class NextStep:
    """Something to do, with its button.

    Attributes
    ----------
    words
        What the button says.
    operator
        What it does; a name of a menu where ``menu`` says so.
    icon
        Blender's name of the icon beside it.
    settings
        The operator's properties.
    menu
        Whether it opens a menu.
    """

    words: str
    operator: str
    icon: str
    settings: tuple[tuple[str, str], ...] = ()
    menu: bool = False


def first_steps(scene: Any) -> tuple[NextStep, ...]:
    """Return what a design needs before anything can be measured; none where it has that."""
    if scene_base(scene) is None:
        return () if brief_beside(quiet=True).base.file else (MAKE_BASE,)
    counts = role_counts(scene)
    return () if any(counts[role] for role in WORN) else (GIVE_ROLE,)


def steps_for(scene: Any, check: str, reason: str) -> tuple[NextStep, ...]:
    """Return what would let a check answer what it could not, the nearest first.

    Parameters
    ----------
    reason
        What the check said, as it is stored.
    """
    return first_steps(scene) or tuple(dict.fromkeys(_steps(scene, check, reason)))


def _steps(scene: Any, check: str, reason: str) -> Iterator[NextStep]:
    if check == "base_lock" and reason:
        yield LOCK_BASE
    if MATERIAL.search(reason):
        yield from (_choose_material(part.item.name) for part in worn_parts(scene) if not material_of(part.item))
    if TEETH.search(reason):
        yield GIVE_TEETH
    if LANDMARK.search(reason) or MOTION.search(reason):
        yield from _landmark_steps(scene)
    if MOTION.search(reason):
        yield SCULPT_BLINK if check == "blink" else ADD_MOTION
    yield from (_show(part.item.name) for part in listed_parts(scene) if f"{part.item.name} " in f"{reason} ")


def _landmark_steps(scene: Any) -> Iterator[NextStep]:
    if missing_landmarks(scene):
        yield PROPOSE
    if unconfirmed_landmarks(scene):
        yield CONFIRM


def _choose_material(part: str) -> NextStep:
    return NextStep(f"Choose Material of {part}", "dryfit.assign_material", "MATERIAL", (("part", part),), menu=True)


def _show(part: str) -> NextStep:
    return NextStep(f"Show Me {part}", "dryfit.show_part", "VIEWZOOM", (("part", part),))


MAKE_BASE = NextStep("Make Selected the Base", "dryfit.assign_role", "USER", (("role", str(Role.BASE)),))
GIVE_ROLE = NextStep("Give Selected a Role", "DRYFIT_MT_roles", "SURFACE_DATA", menu=True)
GIVE_TEETH = NextStep("Give Selected Teeth Their Role", "DRYFIT_MT_roles", "TRIA_UP", menu=True)
LOCK_BASE = NextStep("Lock Base", "dryfit.lock_base", "LOCKED")
PROPOSE = NextStep("Propose Landmarks", "dryfit.propose_landmarks", "OUTLINER_OB_ARMATURE")
CONFIRM = NextStep("Look at Landmarks and Confirm", "dryfit.go_to_landmark", "CHECKMARK")
ADD_MOTION = NextStep("Add Motion", "dryfit.add_motion", "ADD")
SCULPT_BLINK = NextStep("Sculpt the Closed Lids", "dryfit.sculpt_motion", "SHAPEKEY_DATA", (("motion", "blink"),))
