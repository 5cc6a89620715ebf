"""What the bench keeps in the file: the findings as a list, what is painted, which pose is shown.

Everything here is saved, undone and redone with the file. The report itself, the elements of its findings and
the painted values are kept beside it; see ``stored_report``.
"""

import bpy
from bpy.props import (
    BoolProperty,
    CollectionProperty,
    EnumProperty,
    FloatProperty,
    IntProperty,
    PointerProperty,
    StringProperty,
)

from .finding_columns import finding_properties
from .limits_state import DRYFIT_PG_limits
from .materials_state import DRYFIT_PG_material, shown_name_property
from .paint_switch import paint_switched
from .paintable import FIRST, painted_items
from .picking import finding_picked
from .posed_view import pose_moved
from .redraw import redraw_views


class DRYFIT_PG_check(bpy.types.PropertyGroup):
    """One check's result as it counts now; ``outdated`` says why it no longer holds."""

    name: StringProperty()
    status: StringProperty()
    reason: StringProperty()
    headline: StringProperty()
    outdated: StringProperty()


class DRYFIT_PG_part(bpy.types.PropertyGroup):
    """One measured part and its object, which may be renamed later."""

    name: StringProperty()
    subject: PointerProperty(type=bpy.types.Object)


DRYFIT_PG_finding = type(
    "DRYFIT_PG_finding",
    (bpy.types.PropertyGroup,),
    {"__doc__": "One finding, as the list shows it.", "__annotations__": finding_properties()},
)


class DRYFIT_PG_bench(bpy.types.PropertyGroup):
    """The bench of one scene."""

    limits: PointerProperty(type=DRYFIT_PG_limits)
    material: PointerProperty(type=DRYFIT_PG_material)
    shown_material: shown_name_property()
    checks: CollectionProperty(type=DRYFIT_PG_check)
    parts: CollectionProperty(type=DRYFIT_PG_part)
    findings: CollectionProperty(type=DRYFIT_PG_finding)
    picked: IntProperty(
        name="Finding",
        description="The finding that is selected, framed and marked in the viewport",
        default=-1,
        update=finding_picked,
    )
    follow: BoolProperty(
        name="Go to Finding",
        description="Picking a finding selects its piece and turns the view to it",
        default=True,
    )
    verdict: StringProperty()
    headline: StringProperty()
    measured_on: StringProperty()
    stale: BoolProperty()
    keep_fresh: BoolProperty(
        name="Keep Fresh",
        description="Once the hand rests, what the last stroke changed is measured again in the background; the next "
        "stroke ends that, and so does any other run",
    )
    room_on: StringProperty()
    room_outdated: StringProperty()
    room_weight_outdated: StringProperty()
    cage: PointerProperty(
        type=bpy.types.Object, name="Cage", description="The skin at the room's height; nobody measures it"
    )
    paint: BoolProperty(
        name="Paint",
        description="Paint measured values on the pieces; switched off, nothing of it stays in the file",
        update=paint_switched,
    )
    was_painted: BoolProperty(
        description="Paint was on before: a pick no longer switches it on by itself", options={"HIDDEN"}
    )
    painted: EnumProperty(
        name="Value",
        description="Which measured value is painted",
        items=painted_items(),
        default=FIRST,
        update=paint_switched,
    )
    opacity: FloatProperty(
        name="Opacity",
        description="How strongly the paint covers the sculpt",
        default=0.85,
        min=0.05,
        max=1.0,
        subtype="FACTOR",
        update=redraw_views,
    )
    marks: BoolProperty(
        name="Marks",
        description="Mark the picked finding in the viewport with its figure",
        default=True,
        update=redraw_views,
    )
    motion: StringProperty(
        name="Motion", description="The motion that the slider plays", default="jaw", update=pose_moved
    )
    t: FloatProperty(
        name="Pose",
        description="Where in the motion every part is shown: 0 is its start, 1 its end. No shape key is touched",
        min=0.0,
        max=1.0,
        step=1,
        precision=3,
        subtype="FACTOR",
        update=pose_moved,
    )
    tags: BoolProperty(
        name="Name Tags",
        description="Write each landmark's name beside it in the viewport",
        update=redraw_views,
    )
    notes: BoolProperty(name="Notes", description="List notes too, which do not count in the verdict", default=False)
    by: StringProperty(name="Who", description="Who accepts the finding")


STATE_CLASSES = (
    DRYFIT_PG_limits,
    DRYFIT_PG_material,
    DRYFIT_PG_check,
    DRYFIT_PG_part,
    DRYFIT_PG_finding,
    DRYFIT_PG_bench,
)


def register_state() -> None:
    """Give every scene its bench."""
    for each in STATE_CLASSES:
        bpy.utils.register_class(each)
    bpy.types.Scene.dryfit = PointerProperty(type=DRYFIT_PG_bench)


def unregister_state() -> None:
    """Take the bench away; what it stored stays in the file."""
    del bpy.types.Scene.dryfit
    for each in reversed(STATE_CLASSES):
        bpy.utils.unregister_class(each)
