"""Where a design is photographed from: round the head, close to the mouth, close to a finding."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from ...model.arrays import BoolArray, FloatArray
from ...model.snapshot import Part
from ...performer.head_frame import HeadFrame, unit
from .stage import Stage
from .viewpoint import Viewpoint

ROUND = (
    ("front", "front", 0.0),
    ("three-quarter-left", "three-quarter, performer's left", 38.0),
    ("three-quarter-right", "three-quarter, performer's right", -38.0),
    ("profile-left", "profile, performer's left", 90.0),
    ("profile-right", "profile, performer's right", -90.0),
)
"""Name, words and turn in degrees, positive to the performer's left."""
PORTRAIT_SIZE, CLOSE_SIZE = (420, 525), (560, 456)
LARGE_SIZE = (560, 700)
SHOWN_SMALL = 1.5
"""Lettering of pictures that the page shows at about half their size."""
MARGIN = 1.10
CHIN_SHARE = 0.16
"""How much below the chin a portrait shows, as a share of the height from chin to crown."""
MOUTH_ROUND = (
    ("mouth", "close to the mouth, front", 0.0),
    ("mouth-left", "close to the mouth, performer's left", 45.0),
)
MOUTH_WIDTHS = 2.0
CLOSING_DEG = 40.0
STEP_SIZE = (330, 330)
CLOSE_MM = (48.0, 150.0)
"""Least and greatest height of a close view."""
SMALL_MM = 110.0
"""A painted part smaller than this gets close views instead of portraits."""
FROM_OUTSIDE = 0.2
"""A place is looked at from outside the head: cosine to the line from its middle, at the least."""
TURNS_DEG, TILTS_DEG = (0, 30, -30, 60, -60, 90, -90, 135, -135, 180), (0, 25, -25)


def portraits(
    base: Part, worn: list[FloatArray], landmarks: Mapping[str, FloatArray], frame: HeadFrame
) -> list[Viewpoint]:
    """Return the views round the head, all at one scale, that hold the face and everything worn.

    Parameters
    ----------
    base
        The performer's scan.
    worn
        Vertices of everything else, mm.
    landmarks, frame
        Where the face is and which way it looks.
    """
    places = frame.coordinates(np.concatenate([_face(base, landmarks, frame), *worn]))
    low, high = places.min(axis=0), places.max(axis=0)
    centre = (low + high) / 2 @ np.stack([frame.left, frame.front, frame.up])
    width, height = PORTRAIT_SIZE
    span = high - low
    across = float(max(span[0], span[1]))
    shown = max(float(span[2]), across * height / width) * MARGIN
    return [
        Viewpoint(name, words, centre, frame.turned(turn), frame.up, shown, PORTRAIT_SIZE, lettering=SHOWN_SMALL)
        for name, words, turn in ROUND
    ]


def _face(base: Part, landmarks: Mapping[str, FloatArray], frame: HeadFrame) -> FloatArray:
    """Return the base's vertices above the chin and a point below it, where landmarks say where that is."""
    if not {"gnathion", "vertex_top"} <= set(landmarks):
        return base.vertices_mm
    upward = base.vertices_mm @ frame.up
    chin, crown = landmarks["gnathion"] @ frame.up, landmarks["vertex_top"] @ frame.up
    kept = base.vertices_mm[upward > chin]
    below = landmarks["gnathion"] - frame.up * CHIN_SHARE * (crown - chin)
    return np.vstack([kept, below]) if len(kept) else base.vertices_mm


def mouth_views(landmarks: Mapping[str, FloatArray], frame: HeadFrame, drop_mm: float = 0.0) -> list[Viewpoint]:
    """Return close views of the mouth from the front and from the left; none without the mouth's corners.

    Parameters
    ----------
    landmarks, frame
        Where the mouth is at rest.
    drop_mm
        How far the lower lip has dropped in the pose that is shown.
    """
    if not {"cheilion_left", "cheilion_right"} <= set(landmarks):
        return []
    left, right = landmarks["cheilion_left"], landmarks["cheilion_right"]
    width = float(np.linalg.norm(left - right))
    centre = (left + right) / 2 - frame.up * drop_mm / 2
    shown = max(width * MOUTH_WIDTHS * CLOSE_SIZE[1] / CLOSE_SIZE[0], (width * 0.7 + drop_mm) * MARGIN)
    return [
        Viewpoint(name, words, centre, frame.turned(turn), frame.up, shown, CLOSE_SIZE, lettering=SHOWN_SMALL)
        for name, words, turn in MOUTH_ROUND
    ]


def closing_view(
    landmarks: Mapping[str, FloatArray], frame: HeadFrame, drop_mm: float, side: float
) -> Viewpoint | None:
    """Return the view a closing mouth is shown from, half from one side; None without the mouth's corners.

    Parameters
    ----------
    landmarks, frame
        Where the mouth is at rest.
    drop_mm
        How far the lower lip drops.
    side
        Over or below zero for the performer's left or right.
    """
    straight = next(iter(mouth_views(landmarks, frame, drop_mm)), None)
    if straight is None:
        return None
    left = side >= 0.0
    toward = frame.turned(CLOSING_DEG if left else -CLOSING_DEG)
    words = f"close to the mouth, performer's {'left' if left else 'right'}"
    return replace(straight, name="closing", words=words, toward=toward, size=STEP_SIZE)


def close_view(stage: Stage, place_mm: FloatArray, extent_mm: float, frame: HeadFrame) -> Viewpoint:
    """Return the view that shows a place best: seen, as squarely as may be.

    Parameters
    ----------
    stage
        What may stand in front of it.
    place_mm, extent_mm
        Middle and size of what is to be shown.
    frame
        Which way is up.
    """
    facing = stage.skin_normal(place_mm)
    directions = _directions(frame)
    outward = unit(place_mm - stage.middle_mm)
    directions = directions[directions @ outward > FROM_OUTSIDE]
    best = 2.0 * _seen(stage, place_mm, directions) + directions @ unit(2.0 * facing + outward)
    toward: FloatArray = directions[int(best.argmax())]
    up = unit(frame.up - toward * (frame.up @ toward))
    shown = float(np.clip(extent_mm * 1.8, *CLOSE_MM))
    return Viewpoint(
        "close",
        "close to the worst finding",
        np.asarray(place_mm),
        toward,
        up,
        shown,
        CLOSE_SIZE,
        lettering=SHOWN_SMALL,
    )


def is_seen(stage: Stage, place_mm: FloatArray, frame: HeadFrame) -> bool:
    """Tell whether a place can be seen from outside the head."""
    directions = _directions(frame)
    directions = directions[directions @ unit(place_mm - stage.middle_mm) > FROM_OUTSIDE]
    return bool(_seen(stage, place_mm, directions).any())


def _directions(frame: HeadFrame) -> FloatArray:
    return np.array([_tilted(frame, turn, tilt) for tilt in TILTS_DEG for turn in TURNS_DEG])


def _seen(stage: Stage, place_mm: FloatArray, directions: FloatArray) -> BoolArray:
    lifted = place_mm + directions * (1.0 + (stage.reach_mm if stage.shown_through else 0.0))
    seen: BoolArray = ~stage.surface.blocked(lifted, directions)
    return seen


def close_portraits(vertices_mm: FloatArray, frame: HeadFrame) -> list[Viewpoint]:
    """Return front and three-quarter views that hold one small part."""
    low, high = vertices_mm.min(axis=0), vertices_mm.max(axis=0)
    shown = float(np.linalg.norm(high - low)) * MARGIN
    return [
        Viewpoint(
            f"close-{name}",
            f"close, {words}",
            (low + high) / 2,
            frame.turned(turn),
            frame.up,
            shown,
            CLOSE_SIZE,
            lettering=SHOWN_SMALL,
        )
        for name, words, turn in ROUND[:3]
    ]


def _tilted(frame: HeadFrame, turn_deg: float, tilt_deg: float) -> FloatArray:
    level = frame.turned(turn_deg)
    tilt = np.radians(tilt_deg)
    return np.cos(tilt) * level + np.sin(tilt) * frame.up
