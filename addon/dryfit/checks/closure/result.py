"""Everything one closing of one mouth came to, for findings and paint, and the figures of it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from ...model.arrays import FloatArray
from ...model.brief import Brief
from ...model.finding import Place, Severity
from ...model.sentences import paired
from ...model.snapshot import Part, Role
from ...performer.closing import ClosedMouth, Closing, Mouth
from ...performer.contact.shortening import Excess
from ...performer.fitting import Fitting
from ...performer.motion.poses import Poses
from ...performer.mouth.found import MouthFound, mouth_found
from ...performer.mouth.lips import GapProfile, Lips
from ...performer.tooth_names import teeth_of
from .hinge_trials import HingeTrial
from .lip_reach import LipReach, farthest_mm, reach_of
from .verdict import ClosingVerdict, closing_verdict

FORWARD = 1e-3


@dataclass(frozen=True)
class ClosureResult:
    """How a mouth closed, with what it is held against.

    Attributes
    ----------
    fitting, brief
        What was closed.
    closed
        How it went.
    trials
        The same closing on other hinges; none for a keyed jaw.
    """

    fitting: Fitting
    brief: Brief
    closed: ClosedMouth
    trials: tuple[HingeTrial, ...]

    @property
    def poses(self) -> Poses:
        """The jaw's motion."""
        return self.closed.poses

    @property
    def mouth(self) -> Mouth:
        """What was closed."""
        return self.closed.mouth

    @property
    def closing(self) -> Closing:
        """How it went."""
        return self.closed.closing

    @property
    def bare(self) -> Lips:
        """The bare base's lips."""
        return self.closed.bare

    @cached_property
    def bare_rest(self) -> GapProfile:
        """The bare base's gap closed."""
        return self.bare.profile(0.0)

    @cached_property
    def bare_wide(self) -> GapProfile:
        """The bare base's gap wide open."""
        return self.bare.profile(1.0)

    @cached_property
    def bare_stop(self) -> GapProfile:
        """The bare base's gap at the pose where the design stops the jaw."""
        return self.bare.profile(self.closing.stop.t)

    @cached_property
    def start(self) -> GapProfile:
        """The design's gap where the jaw sets out: as sculpted on an open mouth, else wide open."""
        rest_t = self.poses.source.rest_t
        return self.mouth.lips.profile(rest_t) if rest_t > 0.0 else self.wide

    @cached_property
    def found(self) -> MouthFound:
        """What kind of mouth the base has."""
        return mouth_found(self.fitting, self.poses)

    def place(self, part: str, at_mm: npt.ArrayLike, t: float) -> Place:
        """Return a place on a part, ``(3,)``, mm, where it stands at ``t`` of the closing."""
        return self.fitting.place(part, at_mm, motion=self.poses.name, t=t)

    @property
    def reach(self) -> LipReach:
        """What is left for the lips to do where the jaw stopped."""
        return reach_of(self.closing.stop.longest_mm, self.closing.sealed, self.brief.limits)

    @property
    def bitten(self) -> bool:
        """Whether a mouth that is open in the scan was shut until its teeth met, with the rest in the lips' reach."""
        return self.blocked and self.poses.source.rest_t > 0.0 and self.reach != LipReach.OUT_OF_REACH

    @cached_property
    def verdict(self) -> ClosingVerdict:
        """What the closing comes to on the hinge as found."""
        open_scan = self.poses.source.rest_t > 0.0
        return closing_verdict(self.closing, self.bare_rest.longest_mm, open_scan, self.brief.limits)

    @cached_property
    def flips(self) -> tuple[HingeTrial, ...]:
        """The trials on other hinges that change the answer, for the worse or the better."""
        return tuple(trial for trial in self.trials if trial.verdict != self.verdict)

    def tempered(self, severity: Severity) -> Severity:
        """Return how bad a finding about closing may be: no failure where another hinge makes it none.

        Where closing cannot be judged, it is said and no more.
        """
        if self.verdict == ClosingVerdict.UNJUDGED:
            return Severity.INFO
        unsure = any(trial.verdict in (ClosingVerdict.LOOK, ClosingVerdict.PASSES) for trial in self.trials)
        return Severity.REVIEW if severity == Severity.FAIL and unsure else severity

    @property
    def behind_bounds_mm(self) -> tuple[float, float]:
        """Least and most that the lower lip's margin may be behind the upper one's at the midline.

        What the worst axis and the worst slide tried take it ahead and back, added up: both may be off at once.
        """
        found_mm = low = high = self.lower_lip_away_mm[1]
        for of_axis in (True, False):
            off_mm = [trial.behind_mm - found_mm for trial in self.trials if trial.of_axis == of_axis]
            low, high = low + min([0.0, *off_mm]), high + max([0.0, *off_mm])
        return low, high

    @property
    def lower_lip_away_mm(self) -> tuple[float, float]:
        """How far the lower lip's margin is below and behind the upper one's at the midline where the jaw stopped."""
        return self.mouth.lower_lip_away_mm(self.closing.stop.t)

    @property
    def over_closure_deg(self) -> float:
        """How far the jaw turned past its closed pose."""
        return max(0.0, -self.poses.jaw_angle_deg(self.closing.stop.t))

    @property
    def over_closure_mm(self) -> float:
        """How far the chin rose past its closed place, mm."""
        chin = self.fitting.snapshot.landmarks.get("gnathion")
        if chin is None or self.closing.stop.t >= 0.0:
            return 0.0
        shut, on = (self.poses.bones.jaw(t).apply(chin) for t in (0.0, self.closing.stop.t))
        return max(0.0, float((on - shut) @ self.mouth.lips.frame.up))

    @property
    def wide(self) -> GapProfile:
        """The design's gap wide open."""
        return self.closing.profiles[0]

    @property
    def blocked(self) -> bool:
        """Whether something stopped the jaw on its way, before the lips met."""
        return self.closed.blocked

    @property
    def excesses(self) -> tuple[Excess, ...]:
        """What each piece that is in the way must lose with the jaw closed, the largest first, each piece once."""
        return self.closed.excesses


def measures(result: ClosureResult) -> dict[str, float | str]:
    """Return the figures of the check."""
    return {**_closing(result), **_lips(result), **_jaw(result), **_axis(result), **_slide(result)}


def _closing(result: ClosureResult) -> dict[str, float | str]:
    closing, poses = result.closing, result.poses
    contact, own = closing.contact, result.mouth.stops.first_own()
    return {
        "closes": float(closing.sealed),
        "rest_gap_mm": closing.at_rest().largest_mm,
        "residual_gap_mm": closing.stop.largest_mm,
        "contact_t": contact.t if contact else np.nan,
        "contact_angle_deg": poses.jaw_angle_deg(contact.t) if contact else np.nan,
        "contact_open_mm": result.closed.open_mm(contact.t, contact.at_mm) if contact else np.nan,
        "contact_pair": contact_words(result),
        "bare_contact_t": own.t if own else np.nan,
        "must_lose_mm": max((excess.shorten_mm for excess in result.excesses), default=0.0),
        "max_opening_mm": result.wide.midline_mm,
        "incisal_opening_mm": incisal_opening_mm(result, 1.0),
        "bare_rest_gap_mm": result.bare_rest.largest_mm,
        "bare_residual_gap_mm": result.bare_stop.largest_mm,
        "bare_max_opening_mm": result.bare_wide.midline_mm,
    }


def _lips(result: ClosureResult) -> dict[str, float | str]:
    """Return what the jaw closes and what is left to the lips, apart."""
    stop = result.closing.stop
    short_mm, behind_mm = result.lower_lip_away_mm
    return {
        "jaw_closes_mm": result.start.midline_mm - stop.midline_mm,
        "lips_left_mm": stop.midline_mm,
        "lips_travel_mm": stop.longest_mm,
        "lips_reach": result.reach.value,
        "lips_reach_limit_mm": farthest_mm(result.brief.limits),
        "lower_lip_short_mm": short_mm,
        "lower_lip_behind_mm": behind_mm,
        "facing_fraction": float(stop.facing.mean()),
    }


def _jaw(result: ClosureResult) -> dict[str, float | str]:
    poses, stop = result.poses, result.closing.stop
    rest_t = poses.source.rest_t
    return {
        "stop_t": stop.t,
        "stop_angle_deg": poses.jaw_angle_deg(stop.t),
        "open_angle_deg": poses.jaw_angle_deg(1.0),
        "incisal_travel_mm": incisal_travel_mm(result),
        "over_closure_deg": result.over_closure_deg,
        "over_closure_mm": result.over_closure_mm,
        "scan_open_mm": result.found.open_mm,
        "scan_open_deg": poses.jaw_angle_deg(rest_t) if rest_t > 0.0 else 0.0,
        "mouth_found": result.found.words,
        "motion_source": "hinge" if poses.source.jaw is not None else "shape keys",
    }


def _axis(result: ClosureResult) -> dict[str, float | str]:
    """Return how far the answer hangs on the axis; nothing for a keyed jaw."""
    figures: dict[str, float | str] = {}
    moved = [trial for trial in result.trials if trial.of_axis]
    for offset_mm in dict.fromkeys(trial.change.offset_mm for trial in moved):
        trials = [trial for trial in moved if trial.change.offset_mm == offset_mm]
        name = f"axis_{offset_mm:g}mm".replace(".", "_")
        figures[f"{name}_gap_low_mm"] = min(trial.gap_mm for trial in trials)
        figures[f"{name}_gap_high_mm"] = max(trial.gap_mm for trial in trials)
        figures[f"{name}_bite_shift_mm"] = max((trial.bite_ahead_mm for trial in trials), key=abs)
        figures[f"{name}_flips"] = float(any(trial.verdict != result.verdict for trial in trials))
    return figures


def _slide(result: ClosureResult) -> dict[str, float | str]:
    """Return how far the answer hangs on the slide, and where the lower lip may stand on any hinge tried."""
    figures: dict[str, float | str] = {}
    trials = [trial for trial in result.trials if not trial.of_axis]
    if trials:
        gaps_mm = [result.closing.stop.largest_mm, *(trial.gap_mm for trial in trials)]
        figures = {"slide_gap_low_mm": min(gaps_mm), "slide_gap_high_mm": max(gaps_mm)}
        figures["slide_flips"] = float(any(trial.verdict != result.verdict for trial in trials))
    if result.trials:
        figures["lower_lip_behind_low_mm"], figures["lower_lip_behind_high_mm"] = result.behind_bounds_mm
    return figures


def contact_words(result: ClosureResult) -> str:
    """Return who stopped the mouth, in words, or ``""``."""
    contact = result.closing.contact
    return paired(contact.piece, contact.other_name) if contact else ""


def incisal_opening_mm(result: ClosureResult, t: float) -> float:
    """Return how far the incisal edges of both rows stand apart at ``t``, mm; nan without both rows.

    Seen from the side, between the edges at the midline: of the central incisors where they are marked.
    """
    upper = _incisal_edge_mm(result, Role.UPPER_TEETH, t)
    lower = _incisal_edge_mm(result, Role.LOWER_TEETH, t)
    if upper is None or lower is None:
        return float("nan")
    _, front, up = result.mouth.lips.frame.coordinates(np.array([upper - lower]))[0]
    return float(np.hypot(front, up))


def _incisal_edge_mm(result: ClosureResult, role: Role, t: float) -> FloatArray | None:
    """Return the point of a row's incisal edge that is nearest to the midline, ``(3,)``, at ``t``; None without it."""
    rows = result.fitting.snapshot.with_role(role)
    if not rows:
        return None
    tip = _incisal_vertex(result, rows[0], 1.0 if role == Role.LOWER_TEETH else -1.0)
    return np.asarray(result.poses.vertices(rows[0].name, t)[tip])


def _incisal_vertex(result: ClosureResult, row: Part, side: float) -> int:
    """Return the vertex at a row's tip near the midline, closed: the highest where ``side`` is 1, the lowest at -1.

    A long canine is none of the incisors: of a row with marked teeth the centrals alone are looked at. Of points as
    high the foremost counts.
    """
    closed_mm, marked = result.poses.vertices(row.name, 0.0), teeth_of(row)
    centrals = [inside for number, inside in marked.items() if number % 10 == 1]
    used = np.flatnonzero(np.any(centrals, axis=0)) if centrals else np.unique(row.faces)
    away_mm = closed_mm[used] - result.mouth.lips.line.middle_mm(0.0)
    left, front, up = result.mouth.lips.frame.coordinates(away_mm).T
    return int(used[int(np.argmax(side * up - np.abs(left) + FORWARD * front))])


def incisal_travel_mm(result: ClosureResult) -> float:
    """Return the straight way of the lower incisal point from closed to wide open, mm; nan without lower teeth."""
    teeth = result.fitting.snapshot.with_role(Role.LOWER_TEETH)
    if not teeth:
        return float("nan")
    name, tip = teeth[0].name, _incisal_vertex(result, teeth[0], 1.0)
    return float(np.linalg.norm(result.poses.vertices(name, 1.0)[tip] - result.poses.vertices(name, 0.0)[tip]))
