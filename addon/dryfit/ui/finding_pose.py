"""Going to a pose that was measured: a finding's own, or the one at which things start to run into each other."""

from typing import Any

import bpy

from ..sitting.posed_view import player
from ..sitting.the_pick import picked_finding
from ..sitting.words.meeting_words import meeting_start
from .modal_job import RunsJob, Work, is_busy
from .motions import play_motion


class DRYFIT_OT_play_finding(RunsJob, bpy.types.Operator):
    """Show every part in the pose that the picked finding was measured in; no shape key is touched"""

    bl_idname = "dryfit.play_finding"
    bl_label = "Play to Its Pose"
    bl_options = {"REGISTER"}

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a finding in a pose, and no job in progress."""
        if is_busy(cls):
            return False
        finding = picked_finding(context.scene.dryfit)
        if finding is None or not finding.motion:
            cls.poll_message_set("The picked finding was measured at rest" if finding else "Pick a finding first")
            return False
        return True

    def work(self, context: Any) -> Work:
        """Play its motion to its pose."""
        finding = picked_finding(context.scene.dryfit)
        if finding is None:
            return {"CANCELLED"}
        return (yield from _gone_to(self, context, finding.motion, finding.t))


class DRYFIT_OT_go_to_start(RunsJob, bpy.types.Operator):
    """Move the slider to the pose from which on things run into each other, playing that motion"""

    bl_idname = "dryfit.go_to_start"
    bl_label = "Go Where They Meet"
    bl_options = {"REGISTER"}

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a start, and no job in progress."""
        if is_busy(cls):
            return False
        if meeting_start(context.scene) is None:
            cls.poll_message_set("Nothing starts to meet at a known pose; run the check Interference")
            return False
        return True

    def work(self, context: Any) -> Work:
        """Go there."""
        start = meeting_start(context.scene)
        if start is None:
            self.report({"ERROR"}, "Nothing starts to meet at a known pose; run the check Interference")
            return {"CANCELLED"}
        return (yield from _gone_to(self, context, start.motion, start.t))


def _gone_to(operator: RunsJob, context: Any, motion: str, t: float) -> Work:
    """Put the slider of a motion at a pose, within its ends; the motion is played first where it is not."""
    playing = player()
    if playing is None or (playing.scene, playing.motion) != (context.scene.name, motion):
        yield from play_motion(operator, context, motion)
    context.scene.dryfit.t = min(max(t, 0.0), 1.0)
    return {"FINISHED"}


CLASSES = (DRYFIT_OT_play_finding, DRYFIT_OT_go_to_start)
