"""Which motions a scene has, and their key frames: every part's vertices at as many poses as it takes."""

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from ..model.arrays import FloatArray
from ..model.brief import Brief, MotionBrief
from ..model.brief_reading import motions_from
from ..model.errors import InputError, MissingKey
from ..model.motion_tables import motion_tables
from ..model.progress import Job, Progress, drain
from ..model.snapshot import Motion
from .blender import BlenderScene
from .errors import BadStoredValue

MOTIONS = "dryfit_motions"
LINEAR_MM = 0.01
"""Largest distance of a sampled pose from the straight line between its neighbours, mm."""
STILL_MM = 0.001
"""A part that moves less than this everywhere rides the base."""
LEVELS = (2, 3, 5, 9, 17, 33, 65)
"""Numbers of evenly spaced key frames to choose from."""

PosedAt = Callable[[float], Mapping[str, FloatArray]]


def stored_motions(scene: BlenderScene) -> dict[str, MotionBrief]:
    """Return the motions stored with the scene as JSON, in the shape of a brief's ``[motions]``.

    Raises
    ------
    BadStoredValue
        When the property is there and means nothing.
    """
    text = scene.get(MOTIONS)
    if text in (None, ""):
        return {}
    try:
        return motions_from(json.loads(text), f"scene '{scene.name}'")
    except (InputError, TypeError, ValueError, AttributeError) as error:
        raise BadStoredValue(scene.name, MOTIONS, str(error)) from error


def store_motions(scene: BlenderScene, motions: Mapping[str, MotionBrief]) -> None:
    """Store motions with the scene, of keys, hinges and excursions alike, as ``stored_motions`` reads them."""
    scene[MOTIONS] = json.dumps(motion_tables(motions))


def motions_without_keys(motions: Mapping[str, MotionBrief]) -> dict[str, MotionBrief]:
    """Return the hinges and excursions: motions that are worked out from landmarks, not posed by Blender."""
    return {name: motion for name, motion in motions.items() if motion.hinge or motion.excursion}


def keyed_motions(scene: BlenderScene, brief: Brief) -> dict[str, MotionBrief]:
    """Return the motions made of shape keys: those stored with the scene, the brief's in their place.

    Raises
    ------
    BadStoredValue
    """
    motions = {**stored_motions(scene), **brief.motions}
    return {name: motion for name, motion in motions.items() if motion.keys}


def posed_motions(scene: BlenderScene, brief: Brief) -> dict[str, MotionBrief]:
    """Return the motions that Blender poses, of shape keys or a rig: those stored with the scene, the brief's first.

    Raises
    ------
    BadStoredValue
    """
    motions = {**stored_motions(scene), **brief.motions}
    return {name: motion for name, motion in motions.items() if motion.keys or motion.is_of_rig()}


def motions_here(motions: Mapping[str, MotionBrief], keys: Iterable[str]) -> dict[str, MotionBrief]:
    """Return the motions with only those keys that are in ``keys``; of shape keys' motions one left with none goes."""
    have = set(keys)
    kept = {
        name: replace(motion, keys={key: ends for key, ends in motion.keys.items() if key in have})
        for name, motion in motions.items()
    }
    return {name: motion for name, motion in kept.items() if motion.keys or motion.is_of_rig()}


def missing_keys(motions: Mapping[str, MotionBrief], available: Iterable[str]) -> dict[str, InputError]:
    """Return the motions that name a key that nothing has, and what to say of each: the first such key, and all found.

    Parameters
    ----------
    motions
        Those that were asked for.
    available
        Names of the shape keys that there are.
    """
    have = sorted(available)
    lost = {name: [key for key in motion.keys if key not in have] for name, motion in motions.items()}
    return {name: MissingKey(name, keys[0], have) for name, keys in lost.items() if keys}


def rest_values(motions: Mapping[str, MotionBrief]) -> dict[str, float]:
    """Return every motion key's value at t = 0; where two motions disagree, the first one's."""
    values: dict[str, float] = {}
    for motion in motions.values():
        for key, (start, _) in motion.keys.items():
            values.setdefault(key, start)
    return values


def values_at(motion: MotionBrief, t: float, rest: Mapping[str, float]) -> dict[str, float]:
    """Return every key's value at ``t`` of one motion, the others at rest."""
    return {**rest, **{key: start + (end - start) * t for key, (start, end) in motion.keys.items()}}


@dataclass(frozen=True)
class Sampled:
    """One motion as key frames, and how far the true path may leave the straight lines between them, mm."""

    motion: Motion
    error_mm: float


def sampled_motion(name: str, posed_at: PosedAt) -> Sampled:
    """Return the key frames of one motion: two where vertices move straight, up to 65 where they do not.

    Parameters
    ----------
    name
        The motion's name.
    posed_at
        Part name -> vertices ``(n, 3)``, mm, at a parameter t.

    Raises
    ------
    InputError
        Whatever ``posed_at`` raises.
    """
    return drain(sampling(name, posed_at))


def sampling(name: str, posed_at: PosedAt) -> Job[Sampled]:
    """Sample a motion as ``sampled_motion`` does, a step for every pose and every comparison."""
    poses: dict[float, Mapping[str, FloatArray]] = {}
    for finer in LEVELS[2:]:
        for t in np.linspace(0.0, 1.0, finer).tolist():
            if t not in poses:
                poses[t] = posed_at(t)
                yield Progress(len(poses), LEVELS[-1], name)
        frames = yield from _stacked(poses)
        for count in LEVELS[: LEVELS.index(finer)]:
            chosen = _every(frames, count)
            if (yield from _largest_miss_mm(chosen, frames)) <= LINEAR_MM:
                return Sampled(Motion(name, np.linspace(0.0, 1.0, count), chosen), LINEAR_MM)
    # Halving the step of a smooth path quarters its distance from the chord.
    error_mm = (yield from _largest_miss_mm(_every(frames, LEVELS[-2]), frames)) / 4.0
    return Sampled(Motion(name, np.linspace(0.0, 1.0, LEVELS[-1]), frames), error_mm)


def _stacked(poses: Mapping[float, Mapping[str, FloatArray]]) -> Job[dict[str, FloatArray]]:
    """Return the path of every part that moves, ``(poses, n, 3)``, a step a part."""
    ordered = [poses[t] for t in sorted(poses)]
    frames = {}
    for name in ordered[0]:
        path = np.stack([pose[name] for pose in ordered])
        if path.size and _longest(path - path[0]) > STILL_MM:
            frames[name] = path
        yield Progress(len(poses), LEVELS[-1], name)
    return frames


def _every(frames: Mapping[str, FloatArray], count: int) -> dict[str, FloatArray]:
    return {name: path[:: (len(path) - 1) // (count - 1)] for name, path in frames.items()}


def _largest_miss_mm(coarse: Mapping[str, FloatArray], fine: Mapping[str, FloatArray]) -> Job[float]:
    """Return how far the finer paths leave the coarser ones, mm, a step a part."""
    largest = 0.0
    for name, path in fine.items():
        largest = max(largest, _miss_mm(coarse[name], path))
        yield Progress(1, 1, name)
    return largest


def _miss_mm(coarse: FloatArray, fine: FloatArray) -> float:
    step = (len(fine) - 1) // (len(coarse) - 1)
    largest = 0.0
    for place in range(len(fine)):
        segment, share = place // step, place % step / step
        if share:
            straight = coarse[segment] * (1.0 - share) + coarse[segment + 1] * share
            largest = max(largest, _longest(fine[place] - straight))
    return largest


def _longest(ways: FloatArray) -> float:
    """Return the length of the longest of many vectors ``(..., 3)``."""
    x, y, z = ways[..., 0], ways[..., 1], ways[..., 2]
    return float(np.sqrt((x * x + y * y + z * z).max()))
