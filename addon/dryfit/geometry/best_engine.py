"""Who answers: the compiled kernel, or its numpy twin."""

from __future__ import annotations

from functools import cache

from .engine import Engine
from .kernel.calls import Compiled
from .kernel.library import load_library
from .twin.twin import Twin


@cache
def best_engine() -> Engine:
    """Return the compiled kernel, or the numpy twin where no binary fits (with one warning)."""
    library = load_library()
    return Twin() if library is None else Compiled(library)
