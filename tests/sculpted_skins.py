"""Random skins under a room, and bumps over it, as pieces on the head: what the promise of a room is tried on."""

from dataclasses import dataclass, replace

import numpy as np

from dryfit.checks.runner import run_fitting
from dryfit.geometry import distance_along
from dryfit.model.kept_answers import SHARED_MB, KeptAnswers
from dryfit.model.progress import drain
from dryfit.model.snapshot import Part
from dryfit.performer.fitting import Fitting
from dryfit.performer.indexed_bases import IndexedBases

COVERED = ("sightline", "blink", "thickness", "airway", "closure", "interference")
LEAST_MM = 0.8
"""Where there is less room than this nothing is put: a piece must be cast."""
THINNEST_MM = 0.7
FEATHER = 0.4
STEEPEST = 1.0


def smooth_share(points, rng, waves=6, length_mm=40.0, low=0.2):
    """A smooth random field in low..1 over some points."""
    field = np.zeros(len(points))
    for _ in range(waves):
        way = rng.normal(size=3)
        way *= 2 * np.pi / (length_mm * rng.uniform(0.5, 2.0)) / np.linalg.norm(way)
        field += np.sin(points @ way + rng.uniform(0, 2 * np.pi))
    field = (field - field.min()) / np.ptp(field)
    return low + (1.0 - low) * field


def gentle(room, heights, steepest=STEEPEST):
    """The highest skin under some heights that nowhere rises faster than a slope."""
    start = np.nan_to_num(np.maximum(heights, 0.0), nan=0.0)
    along, _ = distance_along(
        room.vertices_mm * steepest, room.faces, np.arange(len(start)), 100.0, source_distance_mm=start
    )
    return np.minimum(along, start)


def feathered(room, heights, chosen):
    """Heights that come down to the skin at the border of what is chosen, inside it."""
    outside = np.flatnonzero(~chosen)
    to_rim, _ = distance_along(room.vertices_mm, room.faces, outside, 60.0)
    return np.where(chosen, np.minimum(heights, FEATHER * np.minimum(to_rim, 60.0)), 0.0)


def piece_on(room, heights, name, among):
    """A piece: the faces that stand off the skin or border on such, of those ``among`` ``(m,)``."""
    some = np.nan_to_num(room.room_mm) > 0.0
    faces = room.faces[among & (heights[room.faces] > 0.0).any(axis=1) & some[room.faces].all(axis=1)]
    if not len(faces):
        return None
    used, compact = np.unique(faces, return_inverse=True)
    moved = room.vertices_mm + heights[:, None] * room.outward
    return Part(name, "appliance", moved[used], compact.reshape(-1, 3), "silicone")


def pieces_on(room, heights, owner):
    """One piece for each owner of vertices ``(n,)``; heights are nothing along their borders."""
    face_owner = owner[room.faces]
    mixed = (face_owner != face_owner[:, :1]).any(axis=1)
    parts = []
    for which in np.unique(owner):
        part = piece_on(room, heights, f"Piece{which}", ~mixed & (face_owner[:, 0] == which))
        if part is not None:
            parts.append(part)
    return tuple(parts)


def wearing(bare, parts):
    return replace(bare, name="sculpted", parts=(*bare.parts, *parts))


KNOWN = IndexedBases(KeptAnswers(SHARED_MB))
"""One head wears all skins: what is known of it serves the next, as in a batch."""


def statuses(bare, brief, parts, only=COVERED):
    report = drain(run_fitting(Fitting(wearing(bare, parts), brief, KNOWN), only))
    return {result.id: result for result in report.checks}


def owners(bare, room):
    """Upper face, lower lip with chin, and throat: three pieces that a mouth keeps apart."""
    marks = bare.landmarks
    up = marks["sellion"] - marks["gnathion"]
    up = up / np.linalg.norm(up)
    height = room.vertices_mm @ up
    mouth, chin = marks["stomion_superius"] @ up, marks["gnathion"] @ up
    return np.where(height > mouth, 0, np.where(height > chin, 1, 2))


@dataclass(frozen=True)
class Shape:
    """How a random skin is made."""

    share: float
    length_mm: float
    low: float
    steepest: float = STEEPEST


def random_skin(bare, room, seed, shape):
    """Heights of a smooth random skin under the room, and who owns what."""
    rng = np.random.default_rng(seed)
    owner = owners(bare, room)
    under = gentle(room, shape.share * room.room_mm, shape.steepest)
    border = (owner[room.faces] != owner[room.faces][:, :1]).any(axis=1)
    chosen = under >= LEAST_MM
    chosen[room.faces[border].ravel()] = False
    share = smooth_share(room.vertices_mm, rng, length_mm=shape.length_mm, low=shape.low)
    heights = np.maximum(under * share, np.minimum(under, THINNEST_MM))
    return feathered(room, heights, chosen), owner


def bump(room, centres, height, top_mm=2.5, steep=1.5, among=None):
    """Heights of a flat-topped bump about some vertices."""
    far, _ = distance_along(room.vertices_mm, room.faces, np.asarray(centres), top_mm + height / steep + 1.0)
    heights = np.clip(height - steep * np.maximum(far - top_mm, 0.0), 0.0, height)
    return heights if among is None else np.where(among, heights, 0.0)


def over_one(room, vertex, stop):
    """Pieces that stand at 1.1 times the room and 0.3 mm at a place, over what the stop's check judges."""
    everywhere = np.ones(len(room.faces), bool)
    if stop.together:
        height = np.where(stop.height_mm < 60.0, 1.1 * stop.height_mm + 0.3, 0.0)
        return tuple(filter(None, [piece_over(room, height, "Raised", everywhere)]))
    height = 1.1 * float(room.room_mm[vertex]) + 0.3
    if stop.id != "meeting":
        return (piece_over(room, bump(room, [vertex], height), "Bump", everywhere),)
    ring = room.faces[(room.faces == vertex).any(axis=1)].ravel()
    ring = ring[stop.other[ring] >= 0]
    if not len(ring):
        return ()
    here = ring[stop.height_mm[ring].argmin()]
    there = stop.other[here]
    near = [distance_along(room.vertices_mm, room.faces, np.array([end]), 40.0)[0] for end in (here, there)]
    own = near[0] <= near[1]
    sides = [own[room.faces].all(axis=1), ~own[room.faces].any(axis=1)]
    ends = zip((here, there), ("One", "Other"), sides, strict=True)
    return tuple(filter(None, [piece_over(room, bump(room, [at], height), name, side) for at, name, side in ends]))


def piece_over(room, heights, name, among):
    """A piece that may also stand where there is no room."""
    faces = room.faces[among & (heights[room.faces] > 0.0).any(axis=1)]
    if not len(faces):
        return None
    used, compact = np.unique(faces, return_inverse=True)
    moved = room.vertices_mm + heights[:, None] * room.outward
    return Part(name, "appliance", moved[used], compact.reshape(-1, 3), "silicone")


def stopped_places(room, count, seed):
    """Random vertices at which a check stops a form."""
    judged = np.array([bool(stop.check) for stop in room.stops])
    able = np.flatnonzero((room.stopped_by >= 0) & judged[room.stopped_by])
    return np.random.default_rng(seed).choice(able, count, replace=False)
