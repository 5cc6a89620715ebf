"""Propose the landmarks that nobody placed, and confirm them after a look."""

from typing import Any

import bpy
from bpy.props import StringProperty

from ..model.errors import MissingRole
from ..model.snapshot import Role
from ..performer.landmarks.confidence import Word
from ..performer.landmarks.proposal import Proposal
from ..sitting.landmarking.landmark_placing import placed_landmarks
from ..sitting.landmarking.landmark_proposing import confirm_landmarks, place_proposed, unconfirmed_landmarks
from ..sitting.parts import select_part
from ..sitting.picking import look_at_landmark
from ..sitting.words.landmark_words import full_landmark_word, landmark_place, landmark_word
from . import errands
from .errands import Errand
from .modal_job import RunsJob, Work, is_busy
from .needing import NeedsBase
from .wording import paragraph


class DRYFIT_OT_propose_landmarks(RunsJob, NeedsBase, bpy.types.Operator):
    """Propose the landmarks nobody placed, from an average head fitted to the base; look at each and confirm or drag"""

    bl_idname = "dryfit.propose_landmarks"
    bl_label = "Propose Landmarks"
    bl_options = {"UNDO"}

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a base, and no other job."""
        return not is_busy(cls) and super().poll(context)

    def work(self, context: Any) -> Work:
        """Read the scene, look for the base's face, and place what nobody placed."""
        design = yield from self.read(context, moving=False)
        if not design.snapshot.with_role(Role.BASE):
            raise MissingRole("base", design.snapshot.name)
        proposal: Proposal = yield Errand(errands.propose, (design.snapshot,))
        names = place_proposed(context.scene, proposal)
        far = [landmark_word(name) for name in names if proposal.confidence[name].word is Word.LOOK]
        look = f"; look first at {', '.join(far)}" if far else ""
        self.report({"INFO"}, f"{len(names)} landmarks proposed, none confirmed{look}")
        return {"FINISHED"} if names else {"CANCELLED"}


class DRYFIT_OT_go_to_landmark(bpy.types.Operator):
    """Turn the view to this landmark and select it, to be looked at and dragged where it is off"""

    bl_idname = "dryfit.go_to_landmark"
    bl_label = "Go to Landmark"
    bl_options = {"REGISTER", "UNDO"}

    landmark: StringProperty(
        name="Landmark", description="Which one; empty takes the first that waits to be confirmed", options={"HIDDEN"}
    )

    def execute(self, context: Any) -> set[str]:
        """Go there."""
        name = self.landmark or next(iter(unconfirmed_landmarks(context.scene)), "")
        item = placed_landmarks(context.scene).get(name)
        if item is None:
            self.report({"WARNING"}, "It is not placed in this scene" if name else "No landmark waits to be confirmed")
            return {"CANCELLED"}
        why = select_part(context, item.name)
        if why:
            self.report({"WARNING"}, why)
        context.scene.dryfit.tags = True
        look_at_landmark(context, item)
        self.report({"INFO"}, f"{full_landmark_word(name)}: {landmark_place(name)}")
        return {"FINISHED"}


class DRYFIT_OT_confirm_landmarks(bpy.types.Operator):
    """Take proposed landmarks as they stand now, after a look at each"""

    bl_idname = "dryfit.confirm_landmarks"
    bl_label = "Confirm Landmarks"
    bl_options = {"REGISTER", "UNDO"}

    landmark: StringProperty(
        name="Landmark", description="Which one; empty confirms all that were proposed", options={"HIDDEN"}
    )

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a proposed landmark."""
        if not unconfirmed_landmarks(context.scene):
            cls.poll_message_set("No landmark waits to be confirmed")
            return False
        return True

    def execute(self, context: Any) -> set[str]:
        """Confirm them."""
        count = confirm_landmarks(context.scene, self.landmark)
        self.report({"INFO"}, f"{count} landmark{'s' * (count != 1)} confirmed")
        return {"FINISHED"}


def draw_proposing(layout: Any, context: Any, missing: int) -> None:
    """Show the two buttons where they have something to do."""
    waiting = unconfirmed_landmarks(context.scene)
    if missing:
        row = layout.row()
        row.operator_context = "INVOKE_DEFAULT"
        row.operator("dryfit.propose_landmarks", text=f"Propose {missing} Missing", icon="OUTLINER_OB_ARMATURE")
    if waiting:
        words = f"{len(waiting)} proposed, not confirmed. Look at each; drag what is off."
        paragraph(layout, context, words, "QUESTION")
        layout.operator("dryfit.go_to_landmark", text="Look at the Next", icon="VIEWZOOM").landmark = ""
        layout.operator("dryfit.confirm_landmarks", text=f"Confirm All {len(waiting)}", icon="CHECKMARK").landmark = ""


CLASSES = (DRYFIT_OT_propose_landmarks, DRYFIT_OT_go_to_landmark, DRYFIT_OT_confirm_landmarks)
