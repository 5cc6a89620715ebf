"""The set-up's panel, folded away once it is done: performer, parts, motions and limits stand in it."""

from typing import Any

import bpy

from ..sitting.landmarking.landmark_placing import missing_landmarks
from ..sitting.landmarking.landmark_proposing import unconfirmed_landmarks
from ..sitting.materials_state import material_of, worn_parts
from ..sitting.parts import scene_base
from .naming import REGION, SPACE, TAB
from .wording import letters_across

BESIDE = len("Set-Up") + 12
"""Letters that the panel's name takes, with its arrow, an icon, the handle at the right and the space between them."""


class DRYFIT_PT_setup(bpy.types.Panel):
    """What is set up once for a design."""

    bl_label = "Set-Up"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_order = 4
    bl_options = {"DEFAULT_CLOSED"}

    def draw_header_preset(self, context: Any) -> None:
        """Tell whether it is done."""
        lacking = setup_lacks(context.scene)
        words = lacking or "Complete"
        fits = len(words) <= letters_across(context) - BESIDE
        self.layout.label(text=words if fits else "", icon="ERROR" if lacking else "CHECKMARK")

    def draw(self, context: Any) -> None:
        """Everything stands in the panels inside."""


def setup_lacks(scene: Any) -> str:
    """Return what the set-up lacks first, in few letters, or ``""``."""
    worn = worn_parts(scene)
    lacks = (
        (scene_base(scene) is None, "No base"),
        (not worn, "No parts"),
        (any(not material_of(part.item) for part in worn), "Materials"),
        (bool(missing_landmarks(scene)), "Landmarks"),
        (bool(unconfirmed_landmarks(scene)), "To confirm"),
    )
    return next((words for so, words in lacks if so), "")


CLASSES = (DRYFIT_PT_setup,)
