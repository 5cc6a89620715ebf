"""Which properties animation and drivers set: their value belongs to a frame and a pose, not to the design."""

from collections.abc import Iterator
from typing import Any

from ...scene.posing import action_curves


def animated_paths(owner: Any) -> frozenset[str]:
    """Return the paths of an object's or its shape keys' own properties that curves, strips or drivers set."""
    data = getattr(owner, "animation_data", None)
    return frozenset() if data is None else frozenset(curve.data_path for curve in _curves(data))


def _curves(data: Any) -> Iterator[Any]:
    yield from action_curves(data)
    yield from data.drivers
    for track in data.nla_tracks:
        for strip in track.strips:
            yield from action_curves(strip)
            yield from strip.fcurves
