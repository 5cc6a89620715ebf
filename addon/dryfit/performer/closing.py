"""Close the jaw from wide open until the lips seal or something stops it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ..model.arrays import FloatArray
from ..model.brief import Brief
from ..model.progress import Job, Progress
from .contact.forgiveness import Forgiveness
from .contact.shortening import Excess, excesses
from .contact.stops import Contact, Stops, look_for_stops
from .fitting import Fitting
from .motion.base_motion import JAW, NoMotion
from .motion.poses import Poses
from .mouth.known_lips import bare_lips, worn_lips
from .mouth.line import missing_landmarks
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
TURNS_DEG = 1.0
"""A jaw that turns by less than this from closed to wide open slides: how far it is open is said in mm."""
NO_JAW = (
    "the mouth cannot be closed because {reason}. Add shape keys under [motions.jaw] in the brief, or the landmarks "
    "tragion_left, tragion_right, exocanthion_left and exocanthion_right for a hinge."
)


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

    @property
    def blocked(self) -> bool:
        """Whether something stopped the jaw on its way, before the lips met."""
        return self.contact is not None and self.contact.t > 0.0 and not self.sealed

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
    stops
        What can stop it.
    allowed_mm
        The way at each station up to which the lips count as met, ``(s,)``.
    yield_mm
        How deep a tooth may press into a lip without stopping, or how far the lip moves out of its way.
    past_t
        How far past closed the jaw is tried, zero or less.
    """

    lips: Lips
    stops: Stops
    allowed_mm: FloatArray
    yield_mm: float
    past_t: float = KEYED_PAST_T

    def jammed(self, profile: GapProfile) -> bool:
        """Tell whether the lips press on each other at the middle, deeper than lips give way."""
        middle = np.abs(profile.across_mm) <= PRESSED_SHARE * np.abs(profile.across_mm).max()
        return bool((profile.gap_mm[middle] < -self.yield_mm).any())

    def sealed(self, profile: GapProfile) -> bool:
        """Tell whether the lips have met at every station that could be read, by the way that is left between them."""
        read = np.isfinite(profile.apart_mm)
        return bool(read.any() and (profile.apart_mm[read] <= self.allowed_mm[read]).all())

    def lower_lip_away_mm(self, t: float) -> tuple[float, float]:
        """Return how far the lower lip's margin is below and behind the upper one's at the midline at ``t``, mm."""
        upper, lower = self.lips.line.margins_mm(t)
        frame = self.lips.frame
        return float((upper - lower) @ frame.up), float((upper - lower) @ frame.front)


def mouth_of(fitting: Fitting, poses: Poses, lips: Lips, allowed: FloatArray, steps: int = STEPS) -> Job[Mouth]:
    """Return all that is needed to close a mouth.

    Parameters
    ----------
    fitting, poses, lips
        The design, its jaw's motion, and its lips in that.
    allowed
        The way that counts as met, ``(s,)``, mm.
    steps
        Poses between wide open and closed at which contact is looked for before it is bisected.

    Yields
    ------
    Progress
        Poses looked at.
    """
    hinge = poses.source.hinge
    past_t = KEYED_PAST_T if hinge is None else -float(np.radians(HINGED_PAST_DEG)) / hinge.open_rad
    stops = yield from look_for_stops(fitting, poses, lips, steps)
    forgiven = Forgiveness.of(fitting)
    give_mm = fitting.brief.limits.lip_yield_mm + forgiven.lips_travel_mm
    return Mouth(lips, stops, allowed, give_mm, past_t)


def close_mouth(mouth: Mouth, steps: int = STEPS, with_profiles: bool = True) -> Job[Closing]:
    """Close the jaw.

    Parameters
    ----------
    mouth
        What is closed.
    steps
        Poses between wide open and closed at which the gap is read.
    with_profiles
        Whether the gap is read on the way too, or only where it is needed.

    Yields
    ------
    Progress
        Poses at which the gap was read.
    """
    times = np.linspace(1.0, 0.0, steps + 1).tolist() if with_profiles else [0.0]
    profiles: list[GapProfile] = []
    for number, t in enumerate(times, start=1):
        profiles.append(mouth.lips.profile(t))
        yield Progress(number, len(times), "reading the gap between the lips")
    contact = mouth.stops.first()
    if contact is not None:
        stop = mouth.lips.profile(contact.t)
        return Closing(stop, contact, mouth.sealed(stop), tuple(profiles))
    if mouth.sealed(profiles[-1]):
        return Closing(profiles[-1], None, True, tuple(profiles))
    return past_closed(mouth, tuple(profiles))


def past_closed(mouth: Mouth, profiles: tuple[GapProfile, ...]) -> Closing:
    """Go on past t = 0 until the lips seal or jam or something stops the jaw; if nothing does, t = 0 stands."""
    rest = profiles[-1]
    for apart_t, touch_t in pairwise(np.arange(0.0, mouth.past_t - 1e-9, -1.0 / STEPS).tolist()):
        contact = mouth.stops.between(apart_t, touch_t)
        profile = mouth.lips.profile(touch_t if contact is None else contact.t)
        profiles = (*profiles, profile)
        if mouth.sealed(profile):
            met = _first_seal(mouth, apart_t, profile.t)
            return Closing(met, None, True, (*profiles[:-1], met))
        if contact is not None or mouth.jammed(profile):
            return Closing(profile, contact, False, profiles)
    return Closing(rest, None, False, profiles)


def _first_seal(mouth: Mouth, apart_t: float, sealed_t: float) -> GapProfile:
    while apart_t - sealed_t > SEAL_PRECISION_T:
        middle = 0.5 * (apart_t + sealed_t)
        if mouth.sealed(mouth.lips.profile(middle)):
            sealed_t = middle
        else:
            apart_t = middle
    return mouth.lips.profile(sealed_t)


@dataclass(frozen=True)
class ClosedMouth:
    """The mouth of a design closed as far as it goes.

    Attributes
    ----------
    fitting, poses
        The design, and its jaw's motion.
    bare
        The bare base's lips.
    mouth, closing
        What was closed, and how it went.
    """

    fitting: Fitting
    poses: Poses
    bare: Lips
    mouth: Mouth
    closing: Closing

    @property
    def blocked(self) -> bool:
        """Whether something stopped the jaw on its way, before the lips met."""
        return self.closing.blocked

    @cached_property
    def bare_apart_mm(self) -> float:
        """The longest way between the bare face's own lips at the pose taken for closed, mm."""
        return self.bare.profile(0.0).longest_mm

    @property
    def shut_in_pose(self) -> bool:
        """Whether the bare face is shut at the pose taken for closed, as far as a resting one is."""
        return self.bare_apart_mm <= self.fitting.brief.limits.lip_rest_mm

    @cached_property
    def excesses(self) -> tuple[Excess, ...]:
        """What each piece that is in the way must lose with the jaw closed, the largest first, each piece once."""
        contact, least_mm = self.closing.contact, self.fitting.brief.limits.contact_mm
        if contact is None:
            return ()
        up, courses = self.mouth.lips.frame.up, self.mouth.stops.courses
        found = [excess for course in courses for excess in excesses(course, contact.t, up, least_mm)]
        kept: dict[tuple[str, str], Excess] = {}
        for excess in sorted(found, key=lambda entry: (-entry.shorten_mm, entry.piece)):
            kept.setdefault((excess.part_name, excess.piece), excess)
        return tuple(kept.values())

    @property
    def stop_excess(self) -> Excess | None:
        """What the piece that stops the jaw first must lose, where that can be told."""
        contact = self.closing.contact
        first = (contact.first_name, contact.piece) if contact is not None else None
        return next((excess for excess in self.excesses if (excess.part_name, excess.piece) == first), None)

    def open_mm(self, t: float, at_mm: npt.ArrayLike) -> float:
        """Return how far a place on the lower jaw, ``(3,)`` mm at ``t``, has to go until the jaw is closed, mm."""
        jaw = self.poses.bones.jaw
        shut_mm = jaw(0.0).after(jaw(t).inverse).apply(at_mm)
        return float(np.linalg.norm(shut_mm - np.asarray(at_mm)))

    def still_open(self, t: float, at_mm: npt.ArrayLike) -> str:
        """Say how far the jaw is open at ``t``: in degrees, or in mm at a place where it hardly turns."""
        if self.poses.jaw_angle_deg(1.0) >= TURNS_DEG:
            return f"{self.poses.jaw_angle_deg(t):.1f}° open"
        return f"{self.open_mm(t, at_mm):.1f} mm open"


class CannotClose(Exception):
    """A mouth that cannot be closed, with why and what to add."""


def closed_mouth(fitting: Fitting) -> Job[ClosedMouth]:
    """Return the mouth of a design closed as far as it goes; closed once, whoever asks.

    Raises
    ------
    CannotClose
        When its lips or its motion are not known.
    """
    return (yield from fitting.once(closed_mouth, lambda: _closed(fitting)))


def known_closing(fitting: Fitting) -> Job[ClosedMouth | None]:
    """Return the same; None where it cannot be told how the mouth closes."""
    try:
        return (yield from closed_mouth(fitting))
    except CannotClose:
        return None


def _closed(fitting: Fitting) -> Job[ClosedMouth]:
    missing = missing_landmarks(fitting)
    if missing:
        raise CannotClose(f"the lips cannot be found without these landmarks: {', '.join(missing)}. Place them.")
    try:
        poses = fitting.poses(JAW)
    except NoMotion as error:
        raise CannotClose(NO_JAW.format(reason=error)) from error
    bare, lips = bare_lips(fitting), worn_lips(fitting)
    if not (bare.found and lips.found):
        raise CannotClose("no upper and lower lip were found beside the landmarks of the mouth. Check their places.")
    if not np.isfinite(bare.profile(0.0).gap_mm).any():
        raise CannotClose("no gap could be read anywhere along the bare lips. Check the landmarks of the mouth.")
    mouth = yield from mouth_of(fitting, poses, lips, allowed_mm(bare.profile(0.0), fitting.brief))
    return ClosedMouth(fitting, poses, bare, mouth, (yield from close_mouth(mouth)))


def allowed_mm(bare_rest: GapProfile, brief: Brief) -> FloatArray:
    """Return the way at each station up to which the lips count as met, ``(s,)``, mm.

    The bare base's own and a bit, as far as a resting face goes. Where the bare lips are further apart than that, they
    excuse nothing.
    """
    limits = brief.limits
    own_mm = np.nan_to_num(bare_rest.apart_mm, nan=np.inf)
    excused_mm = np.minimum(own_mm + limits.lip_gap_over_bare_mm, limits.lip_rest_mm)
    excused_mm[own_mm > limits.lip_rest_mm] = 0.0
    return np.maximum(excused_mm, limits.lip_seal_mm)
