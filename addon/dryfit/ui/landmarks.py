"""Landmarks: picked on the base's surface, one after the other."""

from typing import Any

import bpy
from bpy.props import StringProperty

from ..model.snapshot import LANDMARKS
from ..sitting.brief_beside import STATED
from ..sitting.landmarking.landmark_placing import (
    missing_landmarks,
    place_landmark,
    placed_landmarks,
    remove_landmark,
    spot_under,
    stated_landmarks,
)
from ..sitting.landmarking.landmark_proposing import unconfirmed_landmarks
from ..sitting.landmarking.landmark_tags import off_words
from ..sitting.parts import scene_base
from ..sitting.words.landmark_words import full_landmark_word, landmark_place, landmark_word
from .landmark_proposing import draw_proposing
from .naming import REGION, SPACE, TAB
from .needing import NeedsBase
from .wording import BRIEF_ICON, ICON, draw_from_brief, letters_across, paragraph

NAVIGATION = (
    "MIDDLEMOUSE",
    "WHEELUPMOUSE",
    "WHEELDOWNMOUSE",
    "TRACKPADPAN",
    "TRACKPADZOOM",
    "MOUSEROTATE",
    "NDOF_MOTION",
)


class DRYFIT_OT_place_landmark(NeedsBase, bpy.types.Operator):
    """Click the landmark on the performer's skin; left and right are the performer's own"""

    bl_idname = "dryfit.place_landmark"
    bl_label = "Place Landmark"
    bl_options = {"REGISTER", "UNDO"}

    landmark: StringProperty(name="Landmark", description="Which one; empty goes through all that are missing")

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a base and a viewport."""
        if context.area is None or context.area.type != "VIEW_3D":
            cls.poll_message_set("Landmarks are placed in a 3D viewport")
            return False
        return super().poll(context)

    def invoke(self, context: Any, event: Any) -> set[str]:
        """Wait for clicks on the base."""
        if self.landmark in stated_landmarks():
            self.report({"ERROR"}, f"{landmark_word(self.landmark)}: {STATED}")
            return {"CANCELLED"}
        self.through = not self.landmark
        self.waiting = missing_landmarks(context.scene) if self.through else [self.landmark]
        self.placed, self.turning = 0, False
        if not self.waiting:
            self.report({"INFO"}, "All landmarks are placed")
            return {"CANCELLED"}
        context.window_manager.modal_handler_add(self)
        self._tell(context)
        return {"RUNNING_MODAL"}

    def modal(self, context: Any, event: Any) -> set[str]:
        """Place on a click, skip with the space bar, end with Esc or the right button."""
        if event.type in NAVIGATION or self._turns(context, event):
            return {"PASS_THROUGH"}
        if event.type in {"ESC", "RIGHTMOUSE"} and event.value == "PRESS":
            return self._end(context)
        if event.type == "SPACE" and event.value == "PRESS" and self.through:
            return self._next(context)
        if event.type == "LEFTMOUSE" and event.value == "PRESS":
            return self._click(context, event)
        return {"RUNNING_MODAL"}

    def _turns(self, context: Any, event: Any) -> bool:
        """Tell whether a press of the left button, or its move and release, turns the view: with Alt it always does."""
        if event.type == "LEFTMOUSE" and event.value == "PRESS":
            self.turning = event.alt
        turning = self.turning and event.type in ("LEFTMOUSE", "MOUSEMOVE", "LEFT_ALT", "RIGHT_ALT")
        if event.type == "LEFTMOUSE" and event.value == "RELEASE":
            self.turning = False
        return turning or event.type in ("LEFT_ALT", "RIGHT_ALT")

    def _click(self, context: Any, event: Any) -> set[str]:
        region = next((each for each in context.area.regions if each.type == "WINDOW"), None)
        if region is None:
            return {"RUNNING_MODAL"}
        pixel = (event.mouse_x - region.x, event.mouse_y - region.y)
        with context.temp_override(region=region):
            spot = spot_under(bpy.context, scene_base(context.scene), pixel)
        if spot is None:
            self.report({"WARNING"}, "That is not on the base")
            return {"RUNNING_MODAL"}
        place_landmark(context.scene, self.waiting[0], spot)
        self.placed += 1
        return self._next(context)

    def _next(self, context: Any) -> set[str]:
        self.waiting.pop(0)
        if not self.waiting:
            return self._end(context)
        self._tell(context)
        return {"RUNNING_MODAL"}

    def _tell(self, context: Any) -> None:
        skip = " · Space: skip" if self.through else ""
        name = self.waiting[0]
        words = f"Click: {full_landmark_word(name)}: {landmark_place(name)} (the performer's own side){skip} · Esc: end"
        context.workspace.status_text_set(words)
        context.area.header_text_set(words)

    def _end(self, context: Any) -> set[str]:
        context.workspace.status_text_set(None)
        if context.area is not None:
            context.area.header_text_set(None)
        return {"FINISHED"} if self.placed else {"CANCELLED"}


class DRYFIT_OT_remove_landmark(bpy.types.Operator):
    """Remove this landmark from the scene"""

    bl_idname = "dryfit.remove_landmark"
    bl_label = "Remove Landmark"
    bl_options = {"REGISTER", "UNDO"}

    landmark: StringProperty(name="Landmark", options={"HIDDEN"})

    def execute(self, context: Any) -> set[str]:
        """Remove its Empty."""
        return {"FINISHED"} if remove_landmark(context.scene, self.landmark) else {"CANCELLED"}


class DRYFIT_PT_landmarks(bpy.types.Panel):
    """Anatomical points that the measures and the jaw's hinge are read from."""

    bl_label = "Landmarks"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_parent_id = "DRYFIT_PT_setup"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: Any) -> None:
        """Show what is placed and what is missing."""
        layout = self.layout
        placed, stated = placed_landmarks(context.scene), stated_landmarks()
        missing = len(missing_landmarks(context.scene))
        paragraph(layout, context, f"{len(LANDMARKS) - missing} of {len(LANDMARKS)} placed", "EMPTY_AXIS")
        draw_from_brief(layout, context, f"{len(stated)} of them" if stated else "")
        row = layout.row()
        row.operator_context = "INVOKE_DEFAULT"
        words = f"Place {missing} Missing" if missing else "All Placed"
        row.operator("dryfit.place_landmark", text=words, icon="EYEDROPPER").landmark = ""
        row.enabled = bool(missing)
        draw_proposing(layout, context, missing)
        layout.prop(context.scene.dryfit, "tags", icon="FONT_DATA")
        waiting = unconfirmed_landmarks(context.scene)
        column = layout.column(align=True)
        column.operator_context = "INVOKE_DEFAULT"
        room = letters_across(context) - 2 * ICON
        for name in LANDMARKS:
            line = column.row(align=True)
            full = full_landmark_word(name)
            words = full if len(full) <= room else landmark_word(name, room)
            if name in stated:
                line.label(text=words, icon=BRIEF_ICON)
                continue
            seen = "QUESTION" if name in waiting else "CHECKMARK" if name in placed else "RADIOBUT_OFF"
            if name in placed:
                name_row = line.row(align=True)
                name_row.alignment = "LEFT"
                go = name_row.operator("dryfit.go_to_landmark", text=words, icon=seen, emboss=False)
                go.landmark = name
            else:
                line.label(text=words, icon=seen)
            if name in waiting:
                line.operator("dryfit.confirm_landmarks", text="", icon="CHECKMARK", emboss=False).landmark = name
            line.operator("dryfit.place_landmark", text="", icon="EYEDROPPER", emboss=False).landmark = name
            if name in placed:
                line.operator("dryfit.remove_landmark", text="", icon="X", emboss=False).landmark = name
            if name in waiting:
                column.label(text=off_words(waiting[name]).capitalize(), icon="BLANK1")


CLASSES = (DRYFIT_OT_place_landmark, DRYFIT_OT_remove_landmark, DRYFIT_PT_landmarks)
