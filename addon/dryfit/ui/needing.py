"""What an operator needs before it may be pressed, said in its tooltip where it is missing."""

from typing import Any


class NeedsReport:
    """An operator that hands on what was measured."""

    @classmethod
    def poll(cls, context: Any) -> bool:
        """Need a report."""
        if not context.scene.dryfit.verdict:
            cls.poll_message_set("Nothing has been measured yet; run Check Fit first")  # type: ignore[attr-defined]
            return False
        return True
