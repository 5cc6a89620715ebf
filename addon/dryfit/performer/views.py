"""From where a design is looked at."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fnmatch import fnmatchcase

import numpy as np

from ..model.arrays import FloatArray
from ..model.brief import Views
from ..model.snapshot import Camera, Snapshot
from .head_frame import HeadFrame

WILD = "*?["
EVERY_CAMERA = "*"


@dataclass(frozen=True)
class ViewPoint:
    """One place to look from.

    Attributes
    ----------
    name
        For measures: ``+30``, ``0``, or a camera's name.
    words
        For sentences: "30° from the left", "the front", "camera ShotCam".
    eye_mm
        The place, ``(3,)``, world space.
    """

    name: str
    words: str
    eye_mm: FloatArray


def view_points(views: Views, snapshot: Snapshot, frame: HeadFrame, target_mm: FloatArray) -> tuple[ViewPoint, ...]:
    """Return the view points of a brief around a target ``(3,)``, mm: turns about the upright, then cameras.

    Cameras of the brief that the scene does not have are left out; ``missing_cameras`` names them.
    """
    turned = tuple(
        ViewPoint(angle_name(angle), angle_words(angle), target_mm + views.distance_mm * frame.turned(angle))
        for angle in views.angles_deg
    )
    return turned + tuple(
        ViewPoint(camera.name, f"camera {camera.name}", np.array(camera.position_mm))
        for camera in _chosen(views, snapshot, frame, target_mm)
    )


def missing_cameras(views: Views, have: Iterable[Camera]) -> tuple[str, ...]:
    """Return the cameras the brief names and the scene does not have; a pattern may match none."""
    names = {camera.name for camera in have}
    return tuple(name for name in views.cameras if name not in names and not any(sign in name for sign in WILD))


def _chosen(views: Views, snapshot: Snapshot, frame: HeadFrame, target_mm: FloatArray) -> Iterator[Camera]:
    """Yield the cameras asked for: named ones wherever they stand, every other one only before the face."""
    named = [name for name in views.cameras if name != EVERY_CAMERA]
    for camera in snapshot.cameras:
        asked = camera.name in named or any(fnmatchcase(camera.name, name) for name in named)
        ahead = (np.array(camera.position_mm) - target_mm) @ frame.front > 0.0
        if asked or (ahead and EVERY_CAMERA in views.cameras):
            yield camera


def angle_name(angle_deg: float) -> str:
    """Return an angle with its sign, ``+30``; the front is ``0``."""
    return f"{angle_deg:+g}" if angle_deg else "0"


def angle_words(angle_deg: float) -> str:
    """Return an angle in words; positive is the performer's left."""
    if not angle_deg:
        return "the front"
    return f"{abs(angle_deg):g}° from the performer's {'left' if angle_deg > 0 else 'right'}"
