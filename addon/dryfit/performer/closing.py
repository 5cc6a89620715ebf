"""Close the jaw from wide open until the lips seal or something stops it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..model.arrays import BoolArray, FloatArray
from ..model.brief import Brief
from ..model.progress import Job, Progress
from .contact.contact import Contact, PairWatch, meeting_pairs, mouth_pairs
from .contact.shortening import tissue_depth_mm
from .fitting import Fitting
from .motion.poses import Poses
from .mouth.lip_skin import LipSkin
from .mouth.lips import GapProfile, Lips

STEPS = 32
"""Poses between wide open and closed at which contact is looked for before it is bisected."""
KEYED_PAST_T = -0.4
HINGED_PAST_DEG = 30.0
"""How far past t = 0 the jaw is tried when the lips are still apart there: shape keys go on straight and soon mean
nothing, a hinge turns on until teeth or lips stop it."""
PRESSED_SHARE = 0.5
"""Lips stop the jaw where they press on each other over this share of the mouth's half width."""
SEAL_PRECISION_T = 1e-4


@dataclass(frozen=True)
class Closing:
    """How one closing went.

    Attributes
    ----------
    stop
        The gap along the lips at the pose where the jaw stopped, or where it was done.
    contact
        What stopped it, or None.
    sealed
        Whether the lips had met as well as they should by then.
    profiles
        The gap along the lips at every pose tried, from wide open to closed and on past it where the jaw went on.
    """

    stop: GapProfile
    contact: Contact | None
    sealed: bool
    profiles: tuple[GapProfile, ...]

    def at_rest(self) -> GapProfile:
        """Return the profile at t = 0."""
        return next(profile for profile in self.profiles if profile.t == 0.0)


@dataclass(frozen=True)
class Mouth:
    """What is needed to close a mouth.

    Attributes
    ----------
    lips
        The design's lips.
    watches
        The pairs that can stop it.
    allowed_mm
        The gap at each station up to which the lips count as met, ``(s,)``.
    yield_mm
        How deep a tooth may press into a lip without stopping, or how far the lip moves out of its way.
    past_t
        How far past closed the jaw is tried, zero or less.
    """

    lips: Lips
    watches: tuple[PairWatch, ...]
    allowed_mm: FloatArray
    yield_mm: float
    past_t: float = KEYED_PAST_T

    def jammed(self, profile: GapProfile) -> bool:
        """Tell whether the lips press on each other at the middle, deeper than lips give way."""
        middle = np.abs(profile.across_mm) <= PRESSED_SHARE * np.abs(profile.across_mm).max()
        return bool((profile.gap_mm[middle] < -self.yield_mm).any())

    def sealed(self, profile: GapProfile) -> bool:
        """Tell whether the lips have met at every station that could be read."""
        read = np.isfinite(profile.gap_mm)
        return bool(read.any() and (profile.gap_mm[read] <= self.allowed_mm[read]).all())

    def opposing(self, watch: PairWatch) -> LipSkin:
        """Return the lip a soft pair is about."""
        return self.lips.upper if watch.pair.second.name == "upper lip" else self.lips.lower

    def pressed(self, watch: PairWatch, t: float) -> BoolArray:
        """Return which vertices of a pair's first body block at ``t``, ``(n,)``.

        Against a rigid body all of them can; against a lip those deeper in it than it gives way.
        """
        points_mm = watch.pair.first.posed(t)
        if not watch.pair.soft:
            return np.ones(len(points_mm), bool)
        return np.asarray(tissue_depth_mm(points_mm, self.opposing(watch), t) > self.yield_mm)


def mouth_of(fitting: Fitting, poses: Poses, lips: Lips, allowed: FloatArray) -> Mouth:
    """Return all that is needed to close a mouth; ``allowed`` ``(s,)`` is the gap that counts as met, mm."""
    hinge = poses.source.hinge
    past_t = KEYED_PAST_T if hinge is None else -float(np.radians(HINGED_PAST_DEG)) / hinge.open_rad
    return Mouth(lips, watches_of(fitting, poses, lips), allowed, give_mm(poses, fitting.brief), past_t)


def watches_of(fitting: Fitting, poses: Poses, lips: Lips) -> tuple[PairWatch, ...]:
    """Return what can stop the mouth, ready to be watched."""
    pairs = mouth_pairs(fitting, poses, lips.upper, lips.lower)
    watches = (PairWatch(pair) for pair in meeting_pairs(pairs))
    return tuple(watch for watch in watches if watch.watching)


def give_mm(poses: Poses, brief: Brief) -> float:
    """Return how far a lip gives way to a tooth before the jaw stops, mm.

    On a face sculpted with an open mouth the lips stand where the open jaw drags them; what they travel with ease on
    their own comes on top.
    """
    limits = brief.limits
    return limits.lip_yield_mm + (limits.lip_gap_review_mm if poses.source.rest_t > 0.0 else 0.0)


def close_mouth(mouth: Mouth, steps: int = STEPS, with_profiles: bool = True) -> Job[Closing]:
    """Close the jaw.

    Parameters
    ----------
    mouth
        What is closed.
    steps
        Poses between wide open and closed.
    with_profiles
        Whether the gap is read on the way too, or only where it is needed.

    Yields
    ------
    Progress
        Poses tried.

    Returns
    -------
    Closing
        Where it stopped, and why.
    """
    profiles = [mouth.lips.profile(1.0)] if with_profiles else []
    firm = [watch for watch in mouth.watches if mouth.pressed(watch, 0.0).any()]
    contact = None
    for number, (apart_t, touch_t) in enumerate(pairwise(np.linspace(1.0, 0.0, steps + 1).tolist()), start=1):
        yield Progress(number, steps + 1, "closing the jaw")
        if with_profiles or touch_t == 0.0:
            profiles.append(mouth.lips.profile(touch_t))
        contact = contact or first_contact(mouth, firm, apart_t, touch_t)
    if contact is not None:
        stop = mouth.lips.profile(contact.t)
        return Closing(stop, contact, mouth.sealed(stop), tuple(profiles))
    if mouth.sealed(profiles[-1]):
        return Closing(profiles[-1], None, True, tuple(profiles))
    return past_closed(mouth, profiles)


def past_closed(mouth: Mouth, profiles: list[GapProfile]) -> Closing:
    """Go on past t = 0 until the lips seal or jam or something stops the jaw; if nothing does, t = 0 stands."""
    rest = profiles[-1]
    for apart_t, touch_t in pairwise(np.arange(0.0, mouth.past_t - 1e-9, -1.0 / STEPS).tolist()):
        firm = [watch for watch in mouth.watches if mouth.pressed(watch, touch_t).any()]
        contact = first_contact(mouth, firm, apart_t, touch_t)
        profile = mouth.lips.profile(touch_t if contact is None else contact.t)
        profiles.append(profile)
        if mouth.sealed(profile):
            met = _first_seal(mouth, apart_t, profile.t)
            return Closing(met, None, True, (*profiles[:-1], met))
        if contact is not None or mouth.jammed(profile):
            return Closing(profile, contact, False, tuple(profiles))
    return Closing(rest, None, False, tuple(profiles))


def first_contact(mouth: Mouth, watches: Sequence[PairWatch], apart_t: float, touch_t: float) -> Contact | None:
    """Return the contact that comes first between two poses of a closing jaw, or None."""
    return max(_contacts(mouth, watches, apart_t, touch_t), key=lambda contact: contact.t, default=None)


def _contacts(mouth: Mouth, watches: Sequence[PairWatch], apart_t: float, touch_t: float) -> Iterator[Contact]:
    for watch in watches:

        def stops(t: float, watch: PairWatch = watch) -> bool:
            return bool(mouth.pressed(watch, t).any())

        if watch.watching and len(watch.crossings(touch_t)) and stops(touch_t):
            yield watch.contact(apart_t, touch_t, stops)


def _first_seal(mouth: Mouth, apart_t: float, sealed_t: float) -> GapProfile:
    while apart_t - sealed_t > SEAL_PRECISION_T:
        middle = 0.5 * (apart_t + sealed_t)
        if mouth.sealed(mouth.lips.profile(middle)):
            sealed_t = middle
        else:
            apart_t = middle
    return mouth.lips.profile(sealed_t)
