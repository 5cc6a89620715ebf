"""The type of a pose: where some points are at any t of a motion."""

from collections.abc import Callable

from ..model.arrays import FloatArray

Posed = Callable[[float], FloatArray]
"""``t -> (k, 3)`` mm."""
