"""The room's panel: what the bare head allows, measured with progress, painted, and as a cage to sculpt under."""

from typing import Any

import bpy
from bpy.props import EnumProperty

from ..model.sentences import capital
from ..sitting.changes import settle
from ..sitting.live import follow_room, start_live, watching
from ..sitting.paint_switch import refresh_paint
from ..sitting.redraw import redraw_views
from ..sitting.room.kept_room import kept_room, standing_cage, store_room
from ..sitting.room.rim_marks import mark_rim, rim_marking_refused
from ..sitting.room.room_names import FIELDS, LEFT, ROOM, STOPS
from ..sitting.words.window_words import window_words
from . import errands
from .errands import Errand
from .fitting import short_cause
from .modal_job import RunsJob, Work, is_busy, progress_now, running
from .naming import REGION, SPACE, TAB
from .needing import KeepsAnswer
from .wording import ICON, paragraph, side_by_side

LABELS = {ROOM: "Room", STOPS: "What Stops", LEFT: "Room Left"}
UNMEASURED = "How much may be added to this head, where, and what stops it: before the first stroke."
DRAW_ONE = (
    "Draw a line on the head, mark it as a rim, and compute again: the nearest rim that skin allows is suggested."
)
GONE = "The cage was deleted; Compute Room makes it again."


class DRYFIT_OT_compute_room(RunsJob, KeepsAnswer, bpy.types.Operator):
    """Measure how much may be added to the bare head, where, and what stops it; Esc stops and keeps the earlier room"""

    bl_idname = "dryfit.compute_room"
    bl_label = "Compute Room"
    bl_options = {"UNDO"}

    def work(self, context: Any) -> Work:
        """Read the scene, measure its head, keep the room in the file and let its cage stand."""
        design = yield from self.read(context)
        room, values, sentences = yield Errand(errands.room, (design.snapshot, design.brief))
        scene = context.scene
        store_room(scene, design.snapshot.base.name, room, values, sentences, design.prints)
        watch = watching()
        if watch is not None:
            follow_room(scene, watch)
        _paint(scene, ROOM)
        settle(context)
        redraw_views()
        self.report({"INFO"}, f"Room known on {100.0 * _known_share(values):.0f} % of the skin to sculpt on")
        return {"FINISHED"}


def _known_share(values: Any) -> float:
    return float(values["skin"]["known"] / max(values["skin"]["sculpted"], 1))


def _paint(scene: Any, value: str) -> None:
    scene.dryfit.painted, scene.dryfit.paint = value, True
    refresh_paint(scene)


class DRYFIT_OT_paint_room(RunsJob, bpy.types.Operator):
    """Paint the room, what stops a form, or what strokes leave of it; again: stop painting"""

    bl_idname = "dryfit.paint_room"
    bl_label = "Paint Room"
    bl_options = {"REGISTER"}

    value: EnumProperty(name="Value", items=[(name, LABELS[name], words) for name, words in FIELDS])

    @classmethod
    def description(cls, context: Any, properties: Any) -> str:
        """Tell what is painted."""
        return f"{dict(FIELDS)[properties.value]}; again: stop painting"

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a room, and no other job."""
        if is_busy(cls):
            return False
        if not context.scene.dryfit.room_on:
            cls.poll_message_set("Compute Room first")
            return False
        return True

    def invoke(self, context: Any, event: Any) -> set[str]:
        """Show progress where strokes have to be followed first."""
        starts = self.value == LEFT and watching() is None
        return super().invoke(context, event) if starts else self.execute(context)

    def work(self, context: Any) -> Work:
        """Paint it; what is left of the room needs the pieces, so their strokes are followed from now on."""
        bench = context.scene.dryfit
        if bench.paint and bench.painted == self.value and (self.value != LEFT or watching() is not None):
            bench.paint = False
            return {"FINISHED"}
        if self.value == LEFT and watching() is None:
            design = yield from self.read(context, moving=False)
            followed = yield Errand(errands.follow, (design.snapshot, design.brief))
            watch = start_live(context, followed)
            if not watch.pieces:
                self.report({"WARNING"}, "No piece can be followed: room left is of appliances that are plain meshes")
        _paint(context.scene, self.value)
        return {"FINISHED"}


class DRYFIT_OT_show_cage(bpy.types.Operator):
    """Show or hide the cage, the skin at the room's height: what breaks through it is over its room"""

    bl_idname = "dryfit.show_cage"
    bl_label = "Show Cage"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need the cage."""
        if standing_cage(context.scene) is None:
            cls.poll_message_set(GONE if context.scene.dryfit.room_on else "Compute Room first")
            return False
        return True

    def execute(self, context: Any) -> set[str]:
        """Turn it over in this view layer."""
        cage: Any = standing_cage(context.scene)
        shown = cage.visible_get(view_layer=context.view_layer)
        cage.hide_viewport = False
        cage.hide_set(shown, view_layer=context.view_layer)
        redraw_views()
        return {"FINISHED"}


class DRYFIT_PT_room(bpy.types.Panel):
    """What the bare head allows."""

    bl_label = "Room"
    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_order = 4
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: Any) -> None:
        """Show the button or the run's progress, then how the room stands and what it can paint."""
        layout, bench = self.layout, context.scene.dryfit
        step = progress_now()
        if step is not None and isinstance(running[0], DRYFIT_OT_compute_room):
            layout.progress(factor=step.fraction, text=f"{100 * step.fraction:.0f} %")
            paragraph(layout, context, f"{capital(step.label)} · Esc stops")
            return
        column = layout.column()
        column.operator_context = "INVOKE_DEFAULT"
        column.operator("dryfit.compute_room", icon="PLAY")
        if not bench.room_on:
            paragraph(layout, context, UNMEASURED, "INFO")
            return
        if bench.room_outdated:
            paragraph(layout, context, f"Old. {short_cause(bench.room_outdated)}.", "FILE_REFRESH")
        else:
            layout.label(text=f"Measured {bench.room_on}", icon="CHECKMARK")
        _draw_switches(layout, context)


def _draw_switches(layout: Any, context: Any) -> None:
    bench = context.scene.dryfit
    row = side_by_side(layout, context, sum(len(words) for words in LABELS.values()) + ICON)
    row.operator_context = "INVOKE_DEFAULT"
    for value, words in LABELS.items():
        on = bench.paint and bench.painted == value and (value != LEFT or watching() is not None)
        row.operator("dryfit.paint_room", text=words, depress=on).value = value
    cage = standing_cage(context.scene)
    shown = cage is not None and cage.visible_get(view_layer=context.view_layer)
    layout.operator("dryfit.show_cage", text="Hide Cage" if shown else "Show Cage", icon="MOD_WIREFRAME", depress=shown)
    if cage is None:
        paragraph(layout, context, GONE, "INFO")
    elif shown and bench.paint:
        paragraph(layout, context, "The cage lies over the paint: hide it to see what is painted below.", "INFO")


class _RoomWords:
    """A closed panel of sentences under the room's."""

    bl_space_type = SPACE
    bl_region_type = REGION
    bl_category = TAB
    bl_parent_id = "DRYFIT_PT_room"
    bl_options = {"DEFAULT_CLOSED"}
    kind = ""

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Stand there while there is something to say."""
        return not running and bool(kept_room(context.scene).get("sentences", {}).get(cls.kind))

    def draw(self, context: Any) -> None:
        """Draw each sentence."""
        for sentence in kept_room(context.scene)["sentences"][self.kind]:
            paragraph(self.layout, context, window_words(sentence))  # type: ignore[attr-defined]


class DRYFIT_PT_room_regions(_RoomWords, bpy.types.Panel):
    """What each region of the face allows."""

    bl_label = "Regions"
    bl_order = 0
    kind = "regions"


class DRYFIT_PT_room_teeth(_RoomWords, bpy.types.Panel):
    """How much longer each tooth may become."""

    bl_label = "Teeth"
    bl_order = 1
    kind = "teeth"


class DRYFIT_OT_mark_rim(bpy.types.Operator):
    """Let the active line, a curve without a bevel or a mesh of edges, draw a rim; again: let it draw none"""

    bl_idname = "dryfit.mark_rim"
    bl_label = "Mark as Rim"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a line."""
        why = rim_marking_refused(context.active_object)
        if why:
            cls.poll_message_set(why)
        return not why

    def execute(self, context: Any) -> set[str]:
        """Mark it, or take the mark off."""
        drawn = mark_rim(context.active_object)
        words = "draws a rim: Compute Room suggests the nearest one" if drawn else "draws no rim any more"
        self.report({"INFO"}, f"{context.active_object.name} {words}")
        return {"FINISHED"}


class DRYFIT_PT_room_rims(_RoomWords, bpy.types.Panel):
    """The rim nearest to each that was drawn."""

    bl_label = "Rims"
    bl_order = 2
    kind = "rims"

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Stand there once there is a room: where a rim is drawn is told here."""
        return not running and bool(context.scene.dryfit.room_on)

    def draw(self, context: Any) -> None:
        """Draw how each may lie, or how to draw one."""
        self.layout.operator("dryfit.mark_rim", icon="CURVE_PATH")
        if not kept_room(context.scene).get("sentences", {}).get(self.kind):
            paragraph(self.layout, context, DRAW_ONE, "INFO")
            return
        super().draw(context)


class DRYFIT_PT_room_weight(_RoomWords, bpy.types.Panel):
    """How much more may be worn."""

    bl_label = "Weight Left"
    bl_order = 3
    kind = "weight"

    def draw(self, context: Any) -> None:
        """Say when it is old, which what is worn makes it."""
        old = context.scene.dryfit.room_weight_outdated
        if old:
            paragraph(self.layout, context, f"Old. {short_cause(old)}.", "FILE_REFRESH")
        super().draw(context)


class DRYFIT_PT_room_notes(_RoomWords, bpy.types.Panel):
    """What the room does not know."""

    bl_label = "Not Known"
    bl_order = 4
    kind = "notes"


CLASSES = (
    DRYFIT_OT_compute_room,
    DRYFIT_OT_paint_room,
    DRYFIT_OT_show_cage,
    DRYFIT_OT_mark_rim,
    DRYFIT_PT_room,
    DRYFIT_PT_room_regions,
    DRYFIT_PT_room_teeth,
    DRYFIT_PT_room_rims,
    DRYFIT_PT_room_weight,
    DRYFIT_PT_room_notes,
)
