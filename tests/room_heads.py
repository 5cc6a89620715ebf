"""The real head as ground for rooms: coarse for what has to be measured many times, and changed in known ways."""

from dataclasses import replace
from functools import cache

import numpy as np

from dryfit.demo_door import demo_module
from dryfit.model.brief import Brief
from dryfit.model.limits import Limits
from dryfit.model.progress import drain
from dryfit.model.snapshot import Motion, Part, Snapshot
from dryfit.performer.fitting import Fitting
from dryfit.rooms.room import measure_room

SIDES = {"left": "right", "right": "left"}


@cache
def bare_head(levels=1):
    """The CC0 head with eyes, teeth, five motions; 34,000 triangles, or 138,000 at two levels."""
    module = demo_module("performer")
    before, module.LEVELS = module.LEVELS, levels
    try:
        head = module.performer.__wrapped__()
    finally:
        module.LEVELS = before
    meshes = demo_module("wardens").bare_parts(head)
    parts = tuple(
        Part(mesh.name, mesh.role, mesh.vertices_mm, mesh.faces, areas=mesh.areas, own=mesh.role != "base")
        for mesh in meshes
    )
    motions = {name: _motion(module, head, name, parts[-1]) for name in module.MOTIONS}
    return Snapshot("bare", parts=parts, landmarks=head.landmarks, motions=motions)


def _motion(module, head, name, lower):
    moved = np.sum([head.shapes_mm[key] for key in module.MOTIONS[name]], axis=0)
    times = np.linspace(0.0, 1.0, 9 if name == "jaw" else 2)
    frames = {"Performer": np.stack([head.vertices_mm + t * moved for t in times])}
    if name == "jaw":
        frames["LowerTeeth"] = np.stack([module.jaw_turned(lower.vertices_mm, t) for t in times])
    return Motion(name, times, frames)


def room_on(snapshot, **limits):
    return drain(measure_room(Fitting(snapshot, Brief(limits=replace(Limits(), **limits)))))


@cache
def room_of_the_head(levels=1):
    return room_on(bare_head(levels))


def moved(snapshot, turn, shift):
    """A snapshot after a rigid motion of everything."""
    return _mapped(snapshot, lambda points: points @ turn.T + shift)


def mirrored(snapshot):
    """A snapshot seen in a mirror: left is right."""
    flat = _mapped(snapshot, lambda points: points * [-1.0, 1.0, 1.0])
    parts = tuple(
        replace(
            part,
            role=_other_side(str(part.role)),
            faces=part.faces[:, ::-1],
            areas={_other_side(name): weights for name, weights in part.areas.items()},
        )
        for part in flat.parts
    )
    return replace(flat, parts=parts, landmarks={_other_side(name): at for name, at in flat.landmarks.items()})


def _other_side(name):
    for side, other in SIDES.items():
        if name.endswith(side):
            return name.removesuffix(side) + other
    return name


def _mapped(snapshot, change):
    motions = {
        name: Motion(name, motion.frames_t, {part: change(frames) for part, frames in motion.frames_mm.items()})
        for name, motion in snapshot.motions.items()
    }
    return replace(
        snapshot,
        parts=tuple(replace(part, vertices_mm=change(part.vertices_mm)) for part in snapshot.parts),
        landmarks={name: change(at) for name, at in snapshot.landmarks.items()},
        motions=motions,
    )


def shuffled(snapshot, seed):
    """The same head with the base's vertices in another order, and that order."""
    order = np.random.default_rng(seed).permutation(len(snapshot.base.vertices_mm))
    place = np.argsort(order)
    base = snapshot.base
    other = replace(
        base,
        vertices_mm=base.vertices_mm[order],
        faces=place[base.faces],
        areas={name: weights[order] for name, weights in base.areas.items()},
    )
    motions = {
        name: Motion(name, motion.frames_t, dict(motion.frames_mm) | {base.name: motion.frames_mm[base.name][:, order]})
        for name, motion in snapshot.motions.items()
    }
    parts = tuple(other if part.role == "base" else part for part in snapshot.parts)
    return replace(snapshot, parts=parts, motions=motions), order


def subdivided(snapshot):
    """The same head with every triangle of the base cut in four; the first vertices are the old ones."""
    base = snapshot.base
    ends = np.sort(np.stack([base.faces, np.roll(base.faces, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    edges, place = np.unique(ends, axis=0, return_inverse=True)
    middle = place.reshape(-1, 3) + len(base.vertices_mm)
    corner = base.faces
    faces = np.concatenate(
        [
            np.stack([corner[:, 0], middle[:, 0], middle[:, 2]], axis=1),
            np.stack([corner[:, 1], middle[:, 1], middle[:, 0]], axis=1),
            np.stack([corner[:, 2], middle[:, 2], middle[:, 1]], axis=1),
            middle,
        ]
    )

    def more(values):
        return np.concatenate([values, 0.5 * (values[..., edges[:, 0], :] + values[..., edges[:, 1], :])], axis=-2)

    def weights_of(weights):
        return np.concatenate([weights, 0.5 * (weights[edges[:, 0]] + weights[edges[:, 1]])])

    finer = replace(
        base,
        vertices_mm=more(base.vertices_mm),
        faces=faces,
        areas={name: weights_of(weights) for name, weights in base.areas.items()},
    )
    motions = {
        name: Motion(name, motion.frames_t, dict(motion.frames_mm) | {base.name: more(motion.frames_mm[base.name])})
        for name, motion in snapshot.motions.items()
    }
    parts = tuple(finer if part.role == "base" else part for part in snapshot.parts)
    return replace(snapshot, parts=parts, motions=motions)
