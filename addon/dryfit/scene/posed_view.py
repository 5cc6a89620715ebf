"""Show every part at a pose of a motion, drawn over the viewport, nothing in the file changed."""

from typing import Any


def pose_moved(bench: Any, context: Any) -> None:
    """Show the pose of the slider, as the update of the bench's pose."""


def draw_posed(context: Any) -> None:
    """Draw the parts at the pose."""


def draw_posed_label(context: Any) -> None:
    """Write the pose's gap."""


def forget_posed() -> None:
    """Drop cached drawings."""
