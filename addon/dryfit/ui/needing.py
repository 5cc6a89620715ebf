"""What an operator needs before it may be pressed, said in its tooltip where it is missing."""

from typing import Any

from ..model.brief_file import BRIEF_NAME
from ..sitting.brief_beside import brief_beside
from ..sitting.parts import scene_base
from .modal_job import is_busy


def base_missing(scene: Any) -> str:
    """Return why there is nothing to measure against in the open scene, or ``""``."""
    if scene_base(scene) is not None:
        return ""
    elsewhere = brief_beside(quiet=True).base.file
    if elsewhere:
        return f"{BRIEF_NAME} names the base in {elsewhere}: link or append it to work on it here"
    return "No object has the role Base"


class NeedsBase:
    """An operator that measures against the base, or does something to it."""

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a base."""
        why = base_missing(context.scene)
        if why:
            cls.poll_message_set(why)  # type: ignore[attr-defined]
        return not why


class KeepsAnswer(NeedsBase):
    """An operator whose job measures against the base and keeps its answer in the file."""

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a base, a scene that can keep the answer, and no other job."""
        return not is_busy(cls) and not is_linked(cls, context.scene) and super().poll(context)


def is_linked(operator: Any, scene: Any) -> bool:
    """Tell, as part of an operator's poll, whether the scene is another file's; the tooltip says so then."""
    if scene.library is not None:
        operator.poll_message_set("The scene is linked from another file")
    return scene.library is not None


class NeedsReport:
    """An operator that hands on what was measured."""

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a report."""
        if not context.scene.dryfit.verdict:
            cls.poll_message_set("Nothing has been measured yet; run Check Fit first")  # type: ignore[attr-defined]
            return False
        return True
