"""The motions' panel: what makes which motion, and a slider that plays it."""

import math
from collections.abc import Generator
from typing import Any

import bpy
from bpy.props import EnumProperty, FloatProperty, StringProperty

from ..model.brief import HingeBrief, MotionBrief
from ..model.errors import DryfitError
from ..performer.motion.base_motion import JAW
from ..performer.motion.hinge import missing_for_hinge
from ..scene.motions import store_motions, stored_motions
from ..scene.posing import key_names
from ..sitting.brief_beside import STATED, brief_beside
from ..sitting.landmarking.landmark_placing import placed_landmarks, stated_landmarks
from ..sitting.posed_view import player, posing_words, start_playing, stop_playing
from ..sitting.still_true.design_reading import DesignRead
from ..sitting.words.meeting_words import meeting_start
from ..sitting.words.pose_words import contact_t, pose_title
from . import errands
from .errands import Errand, Playable
from .modal_job import RunsJob, Work, is_busy
from .motion_words import icon_of, made_of
from .naming import REGION, SPACE, TAB
from .refusals import MEANT_FOR_USERS
from .wording import BRIEF_ICON, draw_from_brief, paragraph

KINDS = (
    ("jaw", "Jaw", "From closed to wide open"),
    ("blink", "Blink", "From open to closed lids"),
    ("smile", "Smile", "From rest to a full smile"),
    ("brow_raise", "Brow Raise", "From rest to raised brows"),
    ("pucker", "Pucker", "From rest to rounded lips"),
)
NO_MOTION = (
    "No motion yet. Name the shape key that opens the jaw; without one, the jaw turns on a hinge as soon as the "
    "landmarks for it are placed."
)


def scene_motions(scene: Any) -> dict[str, MotionBrief]:
    """Return the motions of the brief beside the file and of the scene, and a jaw on a hinge where it has no keys.

    What cannot be read is left out: panels draw from this.
    """
    try:
        motions = {**stored_motions(scene), **brief_beside().motions}
    except (DryfitError, OSError):
        return {}
    if JAW not in motions and not missing_for_hinge({*stated_landmarks(), *placed_landmarks(scene)}):
        return {JAW: MotionBrief(hinge=HingeBrief()), **motions}
    return motions


class DRYFIT_OT_add_motion(bpy.types.Operator):
    """Say which shape key makes a motion, and its values at the start and the end"""

    bl_idname = "dryfit.add_motion"
    bl_label = "Add Motion"
    bl_options = {"REGISTER", "UNDO"}

    motion: EnumProperty(name="Motion", items=KINDS)
    key: StringProperty(
        name="Shape Key",
        description="The shape key that makes it; every object that has it moves",
        search=lambda self, context, text: [name for name in key_names(context.scene.objects) if text in name],
    )
    start: FloatProperty(name="At Start", description="The key's value at t = 0", default=0.0)
    end: FloatProperty(name="At End", description="The key's value at t = 1", default=1.0)

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a shape key."""
        if not key_names(context.scene.objects):
            cls.poll_message_set("No object in the scene has a shape key")
            return False
        return True

    def invoke(self, context: Any, event: Any) -> set[str]:
        """Ask."""
        answer: set[str] = context.window_manager.invoke_props_dialog(self)
        return answer

    def draw(self, context: Any) -> None:
        """Show the fields."""
        self.layout.use_property_split = True
        for name in ("motion", "key", "start", "end"):
            self.layout.prop(self, name)

    def execute(self, context: Any) -> set[str]:
        """Store it with the scene."""
        if self.key not in key_names(context.scene.objects):
            self.report({"ERROR"}, f"No object has the shape key '{self.key}'")
            return {"CANCELLED"}
        if self.motion in brief_beside(quiet=True).motions:
            self.report({"ERROR"}, f"{self.motion}: {STATED}")
            return {"CANCELLED"}
        try:
            motions = stored_motions(context.scene)
        except DryfitError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        before = motions.get(self.motion, MotionBrief())
        keys = {**before.keys, self.key: (round(self.start, 6), round(self.end, 6))}
        store_motions(context.scene, {**motions, self.motion: MotionBrief(keys=keys)})
        if before != MotionBrief() and not before.keys:
            self.report({"INFO"}, f"'{self.key}' makes it now, in place of: {made_of(before)}")
        return {"FINISHED"}


class DRYFIT_OT_remove_motion(bpy.types.Operator):
    """Forget this motion; its shape keys stay"""

    bl_idname = "dryfit.remove_motion"
    bl_label = "Remove Motion"
    bl_options = {"REGISTER", "UNDO"}

    motion: StringProperty(name="Motion", options={"HIDDEN"})

    def execute(self, context: Any) -> set[str]:
        """Remove it from the scene."""
        try:
            motions = stored_motions(context.scene)
        except DryfitError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        if self.motion not in motions:
            self.report({"WARNING"}, f"{self.motion}: {STATED}")
            return {"CANCELLED"}
        store_motions(context.scene, {name: each for name, each in motions.items() if name != self.motion})
        return {"FINISHED"}


class DRYFIT_OT_show_poses(RunsJob, bpy.types.Operator):
    """Show every part at the slider's pose, riding parts included; no shape key is touched"""

    bl_idname = "dryfit.show_poses"
    bl_label = "Play Motion"
    bl_options = {"REGISTER"}

    motion: StringProperty(name="Motion", default=JAW)

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need that no job is in progress."""
        return not is_busy(cls)

    def work(self, context: Any) -> Work:
        """Play it."""
        yield from play_motion(self, context, self.motion)
        return {"FINISHED"}


def play_motion(operator: RunsJob, context: Any, motion: str) -> Work:
    """Read the parts and start drawing them at the slider's pose of a motion.

    Raises
    ------
    MEANT_FOR_USERS
        When the scene cannot be read or has no such motion; what was played before goes on.
    """
    design = yield from operator.read(context)
    playable = yield Errand(errands.play, (design.snapshot, design.brief, motion), here=True)
    draw_playable(context, playable)
    return {"FINISHED"}


def played_again(context: Any, design: DesignRead) -> Generator[Errand, Any, Playable | None]:
    """Return what is being played with a design as it is now; None where nothing is, or it cannot be any more."""
    playing = player()
    if playing is None or playing.scene != context.scene.name:
        return None
    try:
        return (yield Errand(errands.play, (design.snapshot, design.brief, playing.motion), here=True))
    except MEANT_FOR_USERS:
        return None


def draw_playable(context: Any, playable: Playable | None) -> None:
    """Draw a motion from now on at the slider's pose; None ends what was drawn."""
    if playable is None:
        stop_playing()
        return
    context.scene.dryfit.motion = playable.motion
    start_playing(context, playable.motion, playable.snapshot, playable.poses, playable.open_deg)


class DRYFIT_OT_go_to_contact(bpy.types.Operator):
    """Move the slider to the pose where something first stops the jaw"""

    bl_idname = "dryfit.go_to_contact"
    bl_label = "Go Where the Jaw Stops"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a contact."""
        if contact_t(context.scene) is None:
            cls.poll_message_set("No contact was measured; run the check Closure")
            return False
        return True

    def execute(self, context: Any) -> set[str]:
        """Go there; before the closed pose the slider ends."""
        context.scene.dryfit.t = max(contact_t(context.scene) or 0.0, 0.0)
        return {"FINISHED"}


class DRYFIT_OT_stop_poses(bpy.types.Operator):
    """Go back to the scene as it is"""

    bl_idname = "dryfit.stop_poses"
    bl_label = "Stop Playing"
    bl_options = {"REGISTER"}

    def execute(self, context: Any) -> set[str]:
        """Stop drawing poses."""
        stop_playing()
        return {"FINISHED"}


class DRYFIT_PT_motions(bpy.types.Panel):
    """How the face moves."""

    bl_label = "Motions"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_parent_id = "DRYFIT_PT_setup"
    bl_order = 2

    def draw(self, context: Any) -> None:
        """Play a motion."""
        layout = self.layout
        motions = scene_motions(context.scene)
        if not motions:
            paragraph(layout, context, NO_MOTION, "INFO")
            row = layout.row()
            row.operator_context = "INVOKE_DEFAULT"
            row.operator("dryfit.add_motion", icon="ADD")
            return
        _draw_player(layout, context, list(motions))


class DRYFIT_PT_motion_keys(bpy.types.Panel):
    """What makes which motion."""

    bl_label = "Made By"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_parent_id = "DRYFIT_PT_motions"
    bl_options = {"DEFAULT_CLOSED"}

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a motion."""
        return bool(scene_motions(context.scene))

    def draw(self, context: Any) -> None:
        """List the motions and what they are made of."""
        layout = self.layout
        column = layout.column(align=True)
        stored, stated = stored_motions(context.scene), brief_beside(quiet=True).motions
        for name, motion in scene_motions(context.scene).items():
            row = column.row(align=True)
            words = f"{name.replace('_', ' ').capitalize()}: {made_of(motion)}"
            paragraph(row.column(align=True), context, words, icon_of(motion))
            if name in stated:
                row.label(text="", icon=BRIEF_ICON)
            elif name in stored:
                row.operator("dryfit.remove_motion", text="", icon="X", emboss=False).motion = name
        draw_from_brief(layout, context, "Motions" if stated else "")
        row = layout.row()
        row.operator_context = "INVOKE_DEFAULT"
        row.operator("dryfit.add_motion", icon="ADD")


def _draw_player(layout: Any, context: Any, names: list[str]) -> None:
    bench = context.scene.dryfit
    playing = posing_words(context.scene)
    flow = layout.grid_flow(row_major=True, columns=2, even_columns=True, align=True)
    for name in names:
        shown = playing is not None and bench.motion == name
        word = name.replace("_", " ").title()
        flow.operator("dryfit.show_poses", text=word, icon="PLAY", depress=shown).motion = name
    if playing is None:
        return
    column = layout.column(align=True)
    column.prop(bench, "t", slider=True, text=bench.motion.replace("_", " ").capitalize())
    shown = player()
    column.label(text=pose_title(bench.motion, bench.t, shown.open_deg if shown is not None else math.nan))
    for line in playing:
        paragraph(column, context, line)
    if bench.motion == JAW:
        column.operator("dryfit.go_to_contact", icon="SNAP_ON")
    start = meeting_start(context.scene)
    if start is not None and start.motion == bench.motion:
        column.operator("dryfit.go_to_start", icon="SNAP_ON")
    column.operator("dryfit.stop_poses", icon="X")


CLASSES = (
    DRYFIT_OT_add_motion,
    DRYFIT_OT_remove_motion,
    DRYFIT_OT_show_poses,
    DRYFIT_OT_go_to_contact,
    DRYFIT_OT_stop_poses,
    DRYFIT_PT_motions,
    DRYFIT_PT_motion_keys,
)
