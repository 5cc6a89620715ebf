"""Motions that names in the scene speak of, each with a button that takes it."""

from typing import Any

import bpy
import numpy as np
from bpy.props import StringProperty

from ..model.errors import DryfitError
from ..scene.motions import store_motions, stored_motions
from ..scene.proposing.motion_proposing import ACROSS, ProposedMotion, proposed_motions
from ..sitting.brief_beside import STATED, brief_beside
from ..sitting.landmarking.landmark_placing import placed_landmarks
from .motion_words import icon_of, made_of
from .naming import REGION, SPACE, TAB
from .wording import paragraph

WHY = "Found by name, not taken yet. Take one, then play it above."


def offered(scene: Any) -> tuple[ProposedMotion, ...]:
    """Return what could make motions that neither the scene nor the brief beside it states.

    Nothing where what is stated cannot be read: panels draw from this.
    """
    try:
        stated = {*stored_motions(scene), *brief_beside(quiet=True).motions}
    except DryfitError:
        return ()
    return proposed_motions(scene.objects, stated, _across(scene))


def _across(scene: Any) -> Any:
    """Return the way from the performer's right ear to the left one; the scene's X where they are not marked."""
    marks = placed_landmarks(scene)
    if not {"tragion_left", "tragion_right"} <= {*marks}:
        return ACROSS
    left, right = (np.array(marks[f"tragion_{side}"].matrix_world.translation) for side in ("left", "right"))
    apart = float(np.linalg.norm(left - right))
    return (left - right) / apart if apart > 0.0 else ACROSS


class DRYFIT_OT_take_motion(bpy.types.Operator):
    """Take what was found by its name as this motion; play it afterwards, and remove it where it is another one"""

    bl_idname = "dryfit.take_motion"
    bl_label = "Take Motion"
    bl_options = {"REGISTER", "UNDO"}

    motion: StringProperty(name="Motion", options={"HIDDEN"})
    kind: StringProperty(name="Made By", description="key, bone, property or action", options={"HIDDEN"})

    def execute(self, context: Any) -> set[str]:
        """Store it with the scene."""
        if self.motion in brief_beside(quiet=True).motions:
            self.report({"ERROR"}, f"{self.motion}: {STATED}")
            return {"CANCELLED"}
        asked = (self.motion, self.kind)
        found = next((each for each in offered(context.scene) if (each.motion, each.kind) == asked), None)
        if found is None:
            self.report({"ERROR"}, f"Nothing in the scene is named like {self.motion or 'it'} any more")
            return {"CANCELLED"}
        store_motions(context.scene, {**stored_motions(context.scene), found.motion: found.brief})
        self.report({"INFO"}, f"{_word(found)}: {made_of(found.brief)}")
        return {"FINISHED"}


class DRYFIT_PT_proposed_motions(bpy.types.Panel):
    """What names in the scene speak of."""

    bl_label = "Found by Name"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_parent_id = "DRYFIT_PT_motions"

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need something to offer."""
        return bool(offered(context.scene))

    def draw(self, context: Any) -> None:
        """List it, a button each."""
        column = self.layout.column(align=True)
        paragraph(column, context, WHY, "QUESTION")
        for each in offered(context.scene):
            row = column.row(align=True)
            paragraph(row.column(align=True), context, f"{_word(each)}: {made_of(each.brief)}", icon_of(each.brief))
            button = row.operator("dryfit.take_motion", text="", icon="CHECKMARK")
            button.motion, button.kind = each.motion, each.kind


def _word(each: ProposedMotion) -> str:
    return each.motion.replace("_", " ").capitalize()


CLASSES = (DRYFIT_OT_take_motion, DRYFIT_PT_proposed_motions)
"""The panel follows that of the motions, which it stands in."""
