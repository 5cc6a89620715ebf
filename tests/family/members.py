"""Members of the family: a head, its teeth and what moves them, as snapshots with what is true of them."""

from dataclasses import dataclass, field, replace
from functools import cache

import numpy as np

import dryfit
from dryfit.model.fingerprint import fingerprint
from dryfit.model.snapshot import Lock, Part, Snapshot

from . import jaws, lips, pieces, smiles, teeth
from .heads import Head, head

SAMPLED = 17
"""Key frames of a jaw whose turn is sampled: between two the skin strays 0.01 mm from its circle."""
RESTING_GAP_MM = 0.4


@dataclass(frozen=True)
class Member:
    """One snapshot and what it was made from."""

    snapshot: Snapshot
    head: Head
    jaw: jaws.Jaw | None = None
    rows: teeth.Rows | None = None
    frames: np.ndarray = field(default_factory=lambda: np.zeros((0, 0, 3)))

    def skin_at(self, t):
        """Return where the skin is at ``t`` of the jaw's key frames, straight between them."""
        place = np.clip(t, 0.0, 1.0) * (len(self.frames) - 1)
        first = min(int(place), len(self.frames) - 2)
        share = place - first
        return self.frames[first] * (1.0 - share) + self.frames[first + 1] * share

    def without(self, *landmarks):
        """Return the same member without some landmarks."""
        return self._with_landmarks({n: p for n, p in self.snapshot.landmarks.items() if n not in landmarks})

    def with_moved(self, landmark, shift_mm):
        """Return the same member with one landmark moved ``(3,)``, mm."""
        marks = dict(self.snapshot.landmarks)
        return self._with_landmarks(marks | {landmark: marks[landmark] + shift_mm})

    def with_motions(self, *motions):
        """Return the same member with more motions."""
        more = {motion.name: motion for motion in motions}
        return replace(self, snapshot=replace(self.snapshot, motions={**self.snapshot.motions, **more}))

    def wearing(self, *parts):
        """Return the same member with more parts."""
        return replace(self, snapshot=replace(self.snapshot, parts=(*self.snapshot.parts, *parts)))

    def proposed(self):
        """Return the same member with its landmarks as Dryfit proposes them."""
        return self._with_landmarks(dict(proposal(self.snapshot).points_mm))

    def _with_landmarks(self, marks):
        return replace(self, snapshot=replace(self.snapshot, landmarks=marks))


_PROPOSALS = {}


def proposal(snapshot):
    """Return Dryfit's proposal for a snapshot's base; asked once for each name and base."""
    key = fingerprint(snapshot.base.vertices_mm, snapshot.base.faces)
    if key not in _PROPOSALS:
        _PROPOSALS[key] = dryfit.propose_landmarks(replace(snapshot, landmarks={}))
    return _PROPOSALS[key]


def parts_of(shown, rows=None, lower_mm=None):
    """Return a head's parts: skin, eyes and, where it has any, teeth; the lower ones at ``lower_mm``."""
    parts = [Part("Head", "base", shown.vertices_mm, shown.faces)]
    parts += [Part(role.replace("_", " ").title(), role, *mesh) for role, mesh in shown.eyes.items()]
    if rows is not None:
        lower = rows.lower.vertices_mm if lower_mm is None else lower_mm
        parts += [
            Part("Upper", "upper_teeth", rows.upper.vertices_mm, rows.upper.faces),
            Part("Lower", "lower_teeth", lower, rows.lower.faces),
        ]
    return tuple(parts)


def locked(shown):
    """Return the lock of a head's skin as it is."""
    return Lock(fingerprint(shown.vertices_mm, shown.faces), shown.vertices_mm)


@cache
def resting(identity="mean", gap_mm=RESTING_GAP_MM, rounds=1, times=1):
    """Return a head with its lips at a known gap or overlap; a finer mesh of it has the very same surface."""
    if times == 1:
        return lips.rested(head(identity, rounds), gap_mm)
    plain, finer = head(identity, rounds), head(identity, rounds, times)
    return finer.moved(_carried(plain, resting(identity, gap_mm, rounds).vertices_mm - plain.vertices_mm, times))


def _carried(plain, values, times):
    from .heads import _quartered

    faces = plain.faces
    while times > 1:
        values, faces = _quartered(values, faces)
        times //= 4
    return values


@cache
def keyed(identity="mean", path="turn", gap_mm=RESTING_GAP_MM, tooth_keys=True, bite=None, frames=SAMPLED, times=1):
    """Return a head with rooted teeth whose jaw is keyed.

    Parameters
    ----------
    path
        ``turn`` (25 degrees), ``slide`` (turn and slide) or ``stored`` (the head's own jaw shape).
    tooth_keys
        Whether the lower teeth carry the jaw key themselves.
    """
    shown = resting(identity, gap_mm, times=times)
    jaw = path_of(shown, path)
    rows = teeth.rows(resting(identity, gap_mm), bite or teeth.Bite())
    frames = 2 if path == "stored" else frames
    skin = jaws.stored_shape(shown) if path == "stored" else jaws.skin_frames(shown, jaw, frames)
    posed = {"Head": skin}
    if tooth_keys:
        posed["Lower"] = jaws.tooth_frames(rows.lower.vertices_mm, jaw, frames)
    snapshot = Snapshot(
        f"{identity}, {path}",
        parts=parts_of(shown, rows),
        landmarks=shown.landmarks(),
        motions={"jaw": jaws.motion("jaw", posed)},
        lock=locked(shown),
    )
    return Member(snapshot, shown, jaw, rows, skin)


def path_of(shown, path):
    """Return the jaw a path stands for."""
    if path == "slide":
        return jaws.turn_and_slide(shown)
    return jaws.turn(shown, 24.4 if path == "stored" else 25.0)


@cache
def hinged(identity="mean", gap_mm=RESTING_GAP_MM, times=1):
    """Return the same head with nothing that moves: the jaw is a hinge found from landmarks."""
    like = keyed(identity, "turn", gap_mm, times=times)
    return replace(like, snapshot=replace(like.snapshot, motions={}))


@cache
def sculpted_open(identity="mean", path="turn", opening_mm=25.0):
    """Return a head sculpted with its mouth open, right landmarks, teeth in place, nothing that moves."""
    shut = resting(identity)
    jaw = path_of(shut, path)
    made = lips.baked_open(shut, jaw, opening_mm)
    rows = teeth.rows(shut)
    lower = jaw.rigid(rows.lower.vertices_mm, made.open_t)
    snapshot = Snapshot(
        f"{identity}, {opening_mm:g} mm open by {path}",
        parts=parts_of(made.head, rows, lower),
        landmarks=made.head.landmarks(),
        lock=locked(made.head),
    )
    return Member(snapshot, made.head, jaw, rows), made


def with_cheek_piece(member):
    """Return a member wearing the thin clean cheek piece."""
    return member.wearing(pieces.cheek_piece(member.head))


def smiling(member, strength):
    """Return a member that smiles."""
    return member.with_motions(smiles.smile(member.head, strength))


def with_only(member, *motions):
    """Return a member with only some of its motions."""
    kept = {name: motion for name, motion in member.snapshot.motions.items() if name in motions}
    return replace(member, snapshot=replace(member.snapshot, motions=kept))
