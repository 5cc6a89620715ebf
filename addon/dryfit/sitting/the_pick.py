"""The finding that is picked in the list."""

from typing import Any


def picked_finding(bench: Any) -> Any | None:
    """Return the picked finding, or None."""
    return bench.findings[bench.picked] if 0 <= bench.picked < len(bench.findings) else None
