"""Going through a motion pose by pose, with more poses where something would slip through between two."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Sequence

from ...model.arrays import FloatArray
from ...model.progress import Job, Progress
from ..fitting import Fitting
from .body import Body, PosedBodies
from .encounter import Encounter, Overlap
from .pairs import Pair
from .reach import move_apart

MOVES_T = (1.0, 0.5)
"""Poses that tell, against t = 0, whether two bodies move against each other at all; the likeliest first."""
HALVINGS = 5
"""So often the way between two poses is halved to find where something passes through on it."""


def moving(pairs: Iterable[Pair], stage: PosedBodies) -> list[Encounter]:
    """Return those of some pairs whose two move against each other in a motion, as encounters in it."""
    return [Encounter(pair, stage) for pair in pairs if _moves(pair, stage)]


def _moves(pair: Pair, stage: PosedBodies) -> bool:
    first, second = (_counted(body, stage, 0.0) for body in (pair.first, pair.second))
    return any(
        move_apart((first, _counted(pair.first, stage, t)), (second, _counted(pair.second, stage, t))) for t in MOVES_T
    )


def _counted(body: Body, stage: PosedBodies, t: float) -> FloatArray:
    return stage.vertices(body, t)[body.counted]


Looked = tuple[Encounter, tuple[Overlap, ...]]
"""A pair that moves in a motion, and what is seen of it on the way, in the order of the poses."""


def looked_at(fitting: Fitting, pairs: Iterable[Pair], stage: PosedBodies, times: Sequence[float]) -> Job[list[Looked]]:
    """Return what is seen at some poses of those of some pairs whose two move against each other in a motion.

    A pair whose bodies, and all that moves them, are as before is not looked at again.

    Parameters
    ----------
    fitting
        The design.
    pairs, stage
        Who is looked at, and in which motion.
    times
        Ascending.

    Yields
    ------
    Progress
        Poses looked at.
    """
    keys = {pair: _key(fitting, pair, stage, times) for pair in pairs}
    recalled = ((pair, fitting.kept.recall(key)) for pair, key in keys.items() if key)
    known: dict[Pair, tuple[Overlap, ...]] = {pair: row[0] for pair, row in recalled if row is not None}
    started = time.perf_counter()
    fresh = moving((pair for pair in keys if pair not in known), stage)
    seen: dict[Pair, list[Overlap]] = {encounter.pair: [] for encounter in fresh}
    for number, overlaps in enumerate(look_along(fresh, times if fresh else ()), start=1):
        for row, new in zip(seen.values(), overlaps, strict=True):
            row += new
        yield Progress(number, len(times) + 1, "")
    each_s = (time.perf_counter() - started) / max(len(keys) - len(known), 1)
    for pair, key in keys.items():
        if key and pair not in known:
            fitting.kept.keep(key, tuple(seen.get(pair, ())), each_s)
    rows = {pair: known[pair] if pair in known else tuple(seen.get(pair, ())) for pair in keys}
    known_at = {pair: (fitting.kept, key) if key else None for pair, key in keys.items()}
    return [(Encounter(pair, stage, known_at[pair]), row) for pair, row in rows.items() if row]


def _key(fitting: Fitting, pair: Pair, stage: PosedBodies, times: Sequence[float]) -> bytes:
    """Return what covers all that is seen of a pair; nothing in a motion that is only tried."""
    name = stage.poses.name
    if stage.poses is not fitting.poses(name):
        return b""
    both = fitting.among(pair.first.part, pair.second.part)
    return fitting.kept.contents.of("looked at", both, pair.first, pair.second, name, tuple(times))


def look_along(encounters: Sequence[Encounter], times: Sequence[float]) -> Iterator[list[list[Overlap]]]:
    """Yield what overlaps at each pose in turn: for each encounter what is new, the last of it at the pose itself.

    Poses in between come before it where a piece passes through something unseen. All are looked at in one pose before
    the next, so that each body is posed and indexed once for it.

    Parameters
    ----------
    encounters
        Who is looked at.
    times
        Ascending.
    """
    last: list[Overlap] = []
    for t in times:
        here = [encounter.overlap(t) for encounter in encounters]
        before = last or here
        yield [
            [*_caught(encounter, was, now, HALVINGS), now]
            for encounter, was, now in zip(encounters, before, here, strict=True)
        ]
        last = here


def _caught(encounter: Encounter, before: Overlap, after: Overlap, halvings: int) -> list[Overlap]:
    seen = encounter.crossing_pieces(before.faces) | encounter.crossing_pieces(after.faces)
    if before is after or not halvings or seen.all() or not (encounter.passes(before.t, after.t) & ~seen).any():
        return []
    middle = encounter.overlap(0.5 * (before.t + after.t))
    return [
        *_caught(encounter, before, middle, halvings - 1),
        middle,
        *_caught(encounter, middle, after, halvings - 1),
    ]
