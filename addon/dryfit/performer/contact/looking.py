"""Going through a motion pose by pose, with more poses where something would slip through between two."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from ...model.arrays import FloatArray
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
