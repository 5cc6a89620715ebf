"""Register the bench in Blender and take it away again."""

import bpy

from ..sitting.changes import stop_watching, watch_changes
from ..sitting.live import stop_live
from ..sitting.overlay import install_overlay, remove_overlay
from ..sitting.paint_switch import put_away_paint
from ..sitting.state import register_state, unregister_state
from . import (
    attributes,
    beside,
    exceptions,
    finding_pose,
    findings,
    fitting,
    freshening,
    guide,
    handouts,
    keys,
    landmark_proposing,
    landmarks,
    limits,
    live,
    materials,
    mending,
    motion_proposing,
    motions,
    next_buttons,
    painting,
    parts,
    performer,
    renders,
    roles_assigning,
    room,
    setting_up,
)

CLASSES = (
    *roles_assigning.CLASSES,
    *next_buttons.CLASSES,
    *fitting.CLASSES,
    *mending.CLASSES,
    *finding_pose.CLASSES,
    *findings.CLASSES,
    *painting.CLASSES,
    *live.CLASSES,
    *room.CLASSES,
    *setting_up.CLASSES,
    *performer.CLASSES,
    *parts.CLASSES,
    *landmark_proposing.CLASSES,
    *materials.CLASSES,
    *landmarks.CLASSES,
    *motions.CLASSES,
    *motion_proposing.CLASSES,
    *limits.CLASSES,
    *exceptions.CLASSES,
    *attributes.CLASSES,
    *handouts.CLASSES,
    *renders.CLASSES,
    *guide.CLASSES,
)


def add_bench() -> None:
    """Add panels, operators, keys, the overlay and the handlers."""
    register_state()
    for each in CLASSES:
        bpy.utils.register_class(each)
    keys.add_keys()
    guide.add_manual()
    watch_changes()
    install_overlay()
    freshening.start()


def remove_bench() -> None:
    """Take everything away, in reverse order."""
    stop_live("")
    freshening.stop()
    beside.dismiss()
    put_away_paint()
    remove_overlay()
    stop_watching()
    guide.remove_manual()
    keys.remove_keys()
    for each in reversed(CLASSES):
        bpy.utils.unregister_class(each)
    unregister_state()
