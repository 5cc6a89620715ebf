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

SOFT_OVER_MM, SOFT_MM, SOFT_SHARE = 8.0, 25.0, 0.6
BLOCK_HALF_MM = 3.0


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
        """Return the same member with its landmarks as Dryfit proposes them; the same one each time."""
        key = id(self.snapshot)
        if key not in _PROPOSED:
            found = proposal(self.snapshot)
            there = self._with_landmarks(dict(found.points_mm)).snapshot
            said = {name: each.bound_mm for name, each in found.confidence.items()}
            _PROPOSED[key] = self, replace(self, snapshot=_stating(there, proposed=said))
        return _PROPOSED[key][1]

    def with_own_teeth(self):
        """Return the same member with its teeth and eyes stated to be the performer's own, not the design's."""
        parts = tuple(part if part.role in DESIGNED else _stating(part, own=True) for part in self.snapshot.parts)
        return replace(self, snapshot=replace(self.snapshot, parts=parts))

    def _with_landmarks(self, marks):
        return replace(self, snapshot=replace(self.snapshot, landmarks=marks))


DESIGNED = ("base", "appliance", "hardware")


def _stating(value, **stated):
    """Return a value with more stated on it, as far as its kind can state that at all."""
    return replace(value, **{name: said for name, said in stated.items() if name in value.__dataclass_fields__})


_PROPOSALS = {}
_PROPOSED = {}


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
    """Return a head with its lips at a known gap or overlap, None for its own; a finer mesh has the very same surface."""
    if gap_mm is None:
        return head(identity, rounds, times)
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
        ``turn`` (25 degrees about where an opening mandible turns as a whole), ``condyles`` (25 degrees about these),
        ``slide`` (turn and slide) or ``stored`` (the head's own jaw shape).
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
    if path == "condyles":
        return jaws.turn_at_the_condyles(shown)
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


@cache
def soft_chinned(over_mm=SOFT_OVER_MM, identity="mean"):
    """Return a member without tooth keys whose skin takes less of the jaw's turn toward the neck.

    The lower lip and the gum take all of it; from ``over_mm`` over gnathion down the skin takes less and less.
    """
    like = keyed(identity, tooth_keys=False)
    chin_mm = like.head.vertices_mm[like.head.marks["gnathion"], 2]
    below = np.clip((chin_mm + over_mm - like.head.vertices_mm[:, 2]) / SOFT_MM, 0.0, 1.0)
    below = np.where(like.head.outer, below, 0.0)
    shown = replace(like.head, jaw_share=like.head.jaw_share * (1.0 - SOFT_SHARE * below))
    skin = jaws.skin_frames(shown, like.jaw, SAMPLED)
    snapshot = replace(like.snapshot, motions={"jaw": jaws.motion("jaw", {"Head": skin})})
    return replace(like, snapshot=snapshot, head=shown, frames=skin)


@cache
def blocked(height_mm, identity="mean", path="turn", bite=None):
    """Return a member with a block on its lower left molars that stands so high over them, moved by the jaw."""
    like = keyed(identity, path, bite=bite)
    low, high = block_box(like, height_mm)
    box = pieces.block(low, high, 4)
    part = Part("Block", "hardware", *box)
    jaw_frames = dict(like.snapshot.motions["jaw"].frames_mm) | {"Block": jaws.tooth_frames(box[0], like.jaw, SAMPLED)}
    worn = like.wearing(part)
    return replace(worn, snapshot=replace(worn.snapshot, motions={"jaw": jaws.motion("jaw", jaw_frames)}))


def block_box(member, height_mm):
    """Return the corners of the block on tooth 36."""
    tooth, _ = teeth._one(member.rows.lower, 36)
    low, high = tooth.min(axis=0), tooth.max(axis=0)
    middle = 0.5 * (low + high)
    return np.array([*middle[:2] - BLOCK_HALF_MM, high[2] - 3.0]), np.array(
        [*middle[:2] + BLOCK_HALF_MM, high[2] + height_mm]
    )


def block_pairs(member, t):
    """Return the pairs (above, below) that a member's block could stop the jaw with, at ``t``, upright."""
    part = member.snapshot.part("Block")
    placed = _upright(member, member.jaw.rigid(part.vertices_mm, t), part.faces)
    return [(_upright(member, *teeth._one(member.rows.upper, fdi)), placed) for fdi in (24, 25, 26, 27)]


def cap_pairs(member, t):
    """Return the pairs (above, below) of a member's left caps and lower teeth at ``t``, upright."""
    caps, lower = member.snapshot.part("Caps"), member.rows.lower
    left = caps.faces[(caps.vertices_mm[caps.faces][:, :, 0] > 0.0).all(axis=1)]
    used, compact = np.unique(left, return_inverse=True)
    worn = _upright(member, caps.vertices_mm[used], compact.reshape(-1, 3))
    below = [teeth._one(lower, fdi) for fdi in (34, 35, 36, 37)]
    return [(worn, _upright(member, member.jaw.rigid(points, t), faces)) for points, faces in below]


def _upright(member, points_mm, faces):
    """Return a body in the head's own coordinates: left, front, up."""
    return points_mm @ member.head.frame.T, faces


def least_room_mm(pairs):
    """Return the least upright room of some pairs; negative where one overlaps."""
    return min(teeth.room_mm(*pair) for pair in pairs)


@cache
def block_stop_t(height_mm, identity="mean", path="turn", bite=None):
    """Return the opening at which a block's top meets an upper tooth, by upright room and bisection."""
    member = blocked(height_mm, identity, path, bite)
    return _first_t(lambda t: least_room_mm(block_pairs(member, t)))


@cache
def capped(longer_mm=2.0):
    """Return a member that wears caps on its upper back teeth, which hold the bite open; they carry no keys."""
    member = keyed()
    return member.wearing(Part("Caps", "hardware", *teeth.denture(member.rows.upper, longer_mm=longer_mm)))


@cache
def cap_stop_t(longer_mm=2.0):
    """Return the opening at which a lower tooth meets the caps."""
    return _first_t(lambda t: least_room_mm(cap_pairs(capped(longer_mm), t)))


def _first_t(room_mm):
    """Return the largest t at which upright room ``t -> mm`` is no more, coming from wide open."""
    shut_t, open_t = 0.0, 1.0
    while open_t - shut_t > 1e-4:
        middle = 0.5 * (shut_t + open_t)
        shut_t, open_t = (shut_t, middle) if room_mm(middle) > 0.0 else (middle, open_t)
    return shut_t


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
