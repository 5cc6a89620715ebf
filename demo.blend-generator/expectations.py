"""What the checks must find in each design, known from how it was made."""

from typing import Any

from .wardens import DESIGNS


def expected_figures() -> dict[str, Any]:
    """Return, for each design, the status of each check and figures with tolerances."""
    return {name: {} for name in DESIGNS}
