"""What can the performer see past the design?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry.rows import row_norms
from ...geometry.sphere_directions import even_directions, first_break_deg, meridian_directions
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.brief import Brief
from ...model.finding import Bound, Curve, Finding, Outcome, Severity, not_checked
from ...model.limits import Limits
from ...model.progress import Job, Progress
from ...model.snapshot import Part, Role
from ...performer.eyes import SIDES, Eye, find_eye, is_lens
from ...performer.fitting import Fitting
from ...performer.grounds import EYES, FRAME
from ...performer.head_frame import ASSUMED_FRONT, HeadFrame
from ...performer.worn import worn_face_ids, worn_parts, worn_surface
from ..check import Check, Drawn, LeadingFigure, Plotted
from .field_of_view import Obstacle, Outlook, Sight

WIDEST_DEG = 107.0
"""Nobody sees further out than this (Traquair 1938, as quoted in encyclopedias)."""
STEP_DEG = 0.1
BREAK_DEG = 1.0
"""A bar narrower than this does not end the field."""
MERIDIANS_DEG = tuple(range(0, 360, 15))
DIRECTIONS = 40_000
ELLIPSE_MM = (11.0, 10.0)
ELLIPSE_AHEAD_MM, ELLIPSE_OUT_MM, ELLIPSE_DOWN_MM = 25.0, 3.0, 0.7
"""EN 168, 17-18: ellipses 22 by 20 mm, 25 mm before the eye, their middles 6 mm further apart than the pupils."""
ELLIPSE_STEPS = 160
ENTRY_SHARE = 0.02
WAYS = {"left": 0.0, "up": 90.0, "right": 180.0, "down": 270.0}
LOSS_DEG = 2.0
"""A field narrower than the bare one by less than this is the same field."""


@dataclass(frozen=True)
class View:
    """What one eye sees.

    Attributes
    ----------
    sphere
        Rays evenly over everything an eye could see.
    bare_deg, worn_deg
        Where the field ends along each of ``MERIDIANS_DEG``.
    bare_blocked, worn_blocked
        Along the four ways of ``WAYS``, ``(4, k)``.
    ellipse
        Rays through the ellipse of the eye-protector standard.
    """

    eye: Eye
    sphere: Sight
    bare_deg: FloatArray
    worn_deg: FloatArray
    bare_blocked: BoolArray
    worn_blocked: BoolArray
    ellipse: Sight

    @property
    def fraction(self) -> float:
        """Share of the bare field's solid angle that is left."""
        return share(self.sphere)

    @property
    def ellipse_open(self) -> float:
        """Share of the ellipse that is left, of what the bare head leaves."""
        return share(self.ellipse)


def share(sight: Sight) -> float:
    """Return the share of bare rays that nothing worn blocks; nan where the bare head blocks all."""
    return float(sight.worn.sum() / sight.bare.sum()) if sight.bare.any() else float("nan")


def sightline(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Report how far the performer sees to all sides, and what hides the rest."""
    frame = HeadFrame.from_landmarks(fitting.snapshot.landmarks)
    eyes = [eye for eye in (find_eye(fitting, side, frame) for side in SIDES) if eye is not None]
    if not eyes:
        return not_checked(
            "There is no eye to look from. Add the landmarks pupil_left and pupil_right (front of each cornea), "
            "or give the eyeballs the roles eye_left and eye_right."
        )
    worn = _in_the_way(fitting, eyes)
    outlook = Outlook(
        fitting.base_surface,
        [Obstacle(part, worn_surface(part, fitting), worn_face_ids(part, fitting)) for part in worn],
        fitting.kept,
    )
    views = []
    for number, eye in enumerate(eyes):
        yield Progress(number, len(eyes), f"field of the {eye.side} eye")
        views.append(_view(eye, outlook, frame))
    missing = [side for side in SIDES if side not in [eye.side for eye in eyes]]
    return Outcome(
        measures=_measures(views),
        findings=tuple(_findings(views, outlook, fitting, brief.limits)),
        curves=dict(_curves(views)),
        reason=" ".join(
            [f"The {side} eye was not measured: add the landmark pupil_{side}." for side in missing]
            + ([ASSUMED_FRONT] if frame.assumed else [])
        ),
        judged={"down_deg": _downward_bound(views, brief.limits)},
    )


def _in_the_way(fitting: Fitting, eyes: list[Eye]) -> list[Part]:
    parts = worn_parts(fitting, Role.APPLIANCE, Role.HARDWARE)
    return [part for part in parts if not any(is_lens(part, eye, fitting) for eye in eyes)]


def head_axes_of(frame: HeadFrame) -> FloatArray:
    """Return the axes that meridians turn about, ``(3, 3)``: left, front and up."""
    return np.stack([frame.left, frame.front, frame.up])


def field_directions(frame: HeadFrame) -> FloatArray:
    """Return unit directions ``(k, 3)`` evenly over everything an eye could see."""
    everywhere = even_directions(DIRECTIONS)
    return np.asarray(everywhere[everywhere @ frame.front >= np.cos(np.radians(WIDEST_DEG))])


def _view(eye: Eye, outlook: Outlook, frame: HeadFrame) -> View:
    everywhere = field_directions(frame)
    bare_deg, worn_deg = _ends(eye, outlook, frame)
    bare, worn = _four_ways(eye, outlook, frame)
    return View(
        eye=eye,
        sphere=outlook.look(eye.entrance_mm, everywhere),
        bare_deg=bare_deg,
        worn_deg=worn_deg,
        bare_blocked=bare,
        worn_blocked=worn,
        ellipse=outlook.look(eye.apex_mm, ellipse_directions(eye.side, frame)),
    )


def off_axis_deg() -> FloatArray:
    """Return the angles from straight ahead at which every meridian is tried."""
    return np.arange(0.0, WIDEST_DEG + STEP_DEG / 2.0, STEP_DEG)


def _along(eye: Eye, outlook: Outlook, frame: HeadFrame, meridian_deg: float) -> Sight:
    return outlook.look(eye.entrance_mm, meridian_directions(head_axes_of(frame), meridian_deg, off_axis_deg()))


def _ends(eye: Eye, outlook: Outlook, frame: HeadFrame) -> tuple[FloatArray, FloatArray]:
    sights = [_along(eye, outlook, frame, meridian) for meridian in MERIDIANS_DEG]
    bare = [first_break_deg(off_axis_deg(), ~sight.bare, BREAK_DEG) for sight in sights]
    worn = [first_break_deg(off_axis_deg(), ~sight.worn, BREAK_DEG) for sight in sights]
    return np.array(bare), np.array(worn)


def _four_ways(eye: Eye, outlook: Outlook, frame: HeadFrame) -> tuple[BoolArray, BoolArray]:
    sights = [_along(eye, outlook, frame, meridian) for meridian in WAYS.values()]
    return np.stack([~sight.bare for sight in sights]), np.stack([~sight.worn for sight in sights])


def ellipse_directions(side: str, frame: HeadFrame) -> FloatArray:
    """Return unit directions ``(k, 3)`` from the front of the cornea, evenly through the standard's ellipse."""
    line = (np.arange(ELLIPSE_STEPS) + 0.5) / ELLIPSE_STEPS * 2.0 - 1.0
    across, upward = (grid.ravel() for grid in np.meshgrid(line, line, indexing="ij"))
    inside = across**2 + upward**2 <= 1.0
    outward = ELLIPSE_OUT_MM if side == "left" else -ELLIPSE_OUT_MM
    left = outward + ELLIPSE_MM[0] * across[inside]
    up = ELLIPSE_MM[1] * upward[inside] - ELLIPSE_DOWN_MM
    points = np.outer(left, frame.left) + np.outer(up, frame.up) + ELLIPSE_AHEAD_MM * frame.front
    directions: FloatArray = points / np.linalg.norm(points, axis=1, keepdims=True)
    return directions


def joined_deg(views: list[View], bare: bool = False) -> dict[str, float]:
    """Return how far both eyes together see to each of ``WAYS``, degrees."""
    blocked = np.all([view.bare_blocked if bare else view.worn_blocked for view in views], axis=0)
    return {way: first_break_deg(off_axis_deg(), row, BREAK_DEG) for way, row in zip(WAYS, blocked, strict=True)}


def _measures(views: list[View]) -> dict[str, float | str]:
    worn, bare = joined_deg(views), joined_deg(views, bare=True)
    measures: dict[str, float | str] = {"horizontal_deg": worn["left"] + worn["right"]}
    measures |= {f"{way}_deg": worn[way] for way in ("left", "right", "up", "down")}
    by_side = {view.eye.side: view for view in views}
    for side in SIDES:
        view = by_side.get(side)
        measures[f"field_fraction_{side}"] = view.fraction if view else float("nan")
    for side in SIDES:
        view = by_side.get(side)
        measures[f"ellipse_open_{side}"] = view.ellipse_open if view else float("nan")
    measures["field_fraction_both"] = _joined_fraction(views)
    measures["bare_horizontal_deg"] = bare["left"] + bare["right"]
    return measures | {f"bare_{way}_deg": bare[way] for way in ("left", "right", "up", "down")}


def _joined_fraction(views: list[View]) -> float:
    bare = np.any([view.sphere.bare for view in views], axis=0)
    worn = np.any([view.sphere.worn for view in views], axis=0)
    return float(worn.sum() / bare.sum()) if bare.any() else float("nan")


def _findings(views: list[View], outlook: Outlook, fitting: Fitting, limits: Limits) -> list[Finding]:
    found = [
        *_width(views, outlook, fitting, limits),
        *_both(views, outlook, fitting, limits),
        *_downward(views, outlook, fitting, limits),
    ]
    for view in views:
        found.extend(_fraction(view, outlook, fitting, limits))
        found.extend(_ellipse(view, outlook, fitting, limits))
        found.extend(_hiders(view, outlook, fitting))
    found.extend(_lenses(views, fitting))
    return sorted(found, key=lambda finding: finding.severity.rank)


def _width(views: list[View], outlook: Outlook, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    worn, bare = joined_deg(views), joined_deg(views, bare=True)
    width, own = worn["left"] + worn["right"], bare["left"] + bare["right"]
    low = width < limits.sight_width_deg
    limit = limits.sight_width_deg if low else limits.sight_width_review_deg
    culprit = _culprit(views, outlook, ("left", "right"))
    if len(views) == len(SIDES) and width < min(limit, own - LOSS_DEG):
        words = (
            f"Both eyes together see {width:.0f}° from side to side; the bare face sees {own:.0f}° "
            f"(reference {limit:g}°)."
        )
        yield _finding(Severity.FAIL if low else Severity.REVIEW, words, culprit, fitting, width, limit, "deg")
    for way in ("left", "right"):
        if len(views) == len(SIDES) and worn[way] < min(limits.sight_side_deg, bare[way] - LOSS_DEG):
            words = (
                f"To the {way} the performer sees {worn[way]:.0f}°; the bare face sees {bare[way]:.0f}° "
                f"(reference {limits.sight_side_deg:g}°)."
            )
            culprit = _culprit(views, outlook, (way,))
            yield _finding(Severity.FAIL, words, culprit, fitting, worn[way], limits.sight_side_deg, "deg")


def _both(views: list[View], outlook: Outlook, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield a finding where too little is left of what both eyes together see."""
    left = _joined_fraction(views)
    if len(views) < len(SIDES) or not left < limits.sight_fraction:
        return
    words = (
        f"Both eyes together keep {100 * left:.0f} % of their bare field (reference {100 * limits.sight_fraction:g} %)."
    )
    lost = [each for view in views for each in _lost(view.sphere, outlook)]
    culprit = max(lost, key=lambda one: one.share, default=None)
    yield _finding(Severity.REVIEW, words, culprit, fitting, left, limits.sight_fraction, "of the bare field")


def _downward_bound(views: list[View], limits: Limits) -> Bound:
    """Return what downward sight is held against: the review level, or what the bare face sees if that is less."""
    own = joined_deg(views, bare=True)["down"] - LOSS_DEG
    limit = max(limits.sight_down_review_deg, limits.sight_down_deg)
    return Bound(own, True) if own < limit else Bound(limit, True, "sight_down_review_deg")


def _downward(views: list[View], outlook: Outlook, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    worn, bare = joined_deg(views)["down"], joined_deg(views, bare=True)["down"]
    if not worn < _downward_bound(views, limits).value:
        return
    fails = worn < min(limits.sight_down_deg, bare - LOSS_DEG)
    limit = limits.sight_down_deg if fails else limits.sight_down_review_deg
    words = (
        f"Downward the performer sees {worn:.0f}°, not where the next step goes; the bare face sees {bare:.0f}° "
        f"(limit {limit:g}°)."
    )
    culprit = _culprit(views, outlook, ("left", "right"))
    yield _finding(Severity.FAIL if fails else Severity.REVIEW, words, culprit, fitting, worn, limit, "deg")


def _fraction(view: View, outlook: Outlook, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    if not view.fraction < limits.sight_eye_fraction:
        return
    words = (
        f"The {view.eye.side} eye keeps {100 * view.fraction:.0f} % of its bare field "
        f"(reference {100 * limits.sight_eye_fraction:g} %)."
    )
    culprit = max(_lost(view.sphere, outlook), key=lambda lost: lost.share, default=None)
    limit = limits.sight_eye_fraction
    yield _finding(Severity.REVIEW, words, culprit, fitting, view.fraction, limit, "of the bare field")


def _ellipse(view: View, outlook: Outlook, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    cut = 1.0 - view.ellipse_open
    if not cut > 0.01:
        return
    words = (
        f"{100 * cut:.0f} % of the {view.eye.side} eye's ellipse, 22 by 20 mm at 25 mm, is hidden "
        f"(an eye protector leaves it free; limit {100 * limits.sight_ellipse_cut:g} %)."
    )
    severity = Severity.FAIL if cut > limits.sight_ellipse_cut else Severity.REVIEW
    culprit = max(_lost(view.ellipse, outlook), key=lambda lost: lost.share, default=None)
    yield _finding(severity, words, culprit, fitting, cut, limits.sight_ellipse_cut, "fraction")


def _hiders(view: View, outlook: Outlook, fitting: Fitting) -> Iterator[Finding]:
    for lost in _lost(view.sphere, outlook):
        if lost.share < ENTRY_SHARE:
            continue
        words = f"{lost.part.name} hides {100 * lost.share:.0f} % of the {view.eye.side} eye's field."
        yield _finding(Severity.INFO, words, lost, fitting, lost.share, float("nan"), "of the bare field")


@dataclass(frozen=True)
class Lost:
    """What one worn part hides.

    Attributes
    ----------
    share
        Share of the bare rays.
    at_mm
        Where it blocks the ray nearest to the middle of those it blocks, ``(3,)``.
    faces
        Its triangles in the way.
    """

    part: Part
    share: float
    at_mm: FloatArray
    faces: IntArray


def _lost(sight: Sight, outlook: Outlook) -> Iterator[Lost]:
    for number, obstacle in enumerate(outlook.worn):
        own = np.flatnonzero(sight.blocker == number)
        if len(own):
            places = sight.at_mm[own]
            middle = row_norms(places - places.mean(axis=0)).argmin()
            share_lost = len(own) / max(int(sight.bare.sum()), 1)
            faces = obstacle.face_ids[np.unique(sight.face[own])]
            yield Lost(obstacle.part, share_lost, places[middle], faces)


def _culprit(views: list[View], outlook: Outlook, ways: tuple[str, ...]) -> Lost | None:
    """Return what hides most to some sides, judged by the eye on that side."""
    sides = [view for view in views if view.eye.side in ways]
    found = [lost for view in sides for lost in _lost(view.sphere, outlook)]
    return max(found, key=lambda lost: lost.share, default=None)


def _finding(
    severity: Severity, words: str, culprit: Lost | None, fitting: Fitting, value: float, limit: float, unit: str
) -> Finding:
    part = culprit.part if culprit else fitting.base
    at_mm = culprit.at_mm if culprit else part.vertices_mm.mean(axis=0)
    place = fitting.place(part.name, at_mm)
    return Finding(
        severity=severity,
        message=words + (f" Most is hidden by {part.name} at the {place.region}." if culprit else ""),
        place=place,
        value=value,
        limit=limit,
        unit=unit,
        fix=f"cut back or lower {part.name} at the {place.region}" if culprit and severity != Severity.INFO else "",
        kind="faces",
        elements=culprit.faces if culprit else np.zeros(0, np.int64),
    )


def _lenses(views: list[View], fitting: Fitting) -> Iterator[Finding]:
    for view in views:
        for part in fitting.snapshot.with_role(Role.HARDWARE):
            if is_lens(part, view.eye, fitting):
                words = (
                    f"{part.name} lies on the {view.eye.side} eye and is taken for a contact lens: it was not counted "
                    "as in the way. What its own pupil hides was not measured."
                )
                place = part.vertices_mm.mean(axis=0)
                lens = Lost(part, 0.0, place, np.zeros(0, np.int64))
                yield _finding(Severity.INFO, words, lens, fitting, float("nan"), float("nan"), "")


def _curves(views: list[View]) -> Iterator[tuple[str, Curve]]:
    for view in views:
        for name, ends in (("field", view.worn_deg), ("bare_field", view.bare_deg)):
            label = "field ends at, degrees off straight ahead" + (", bare" if name == "bare_field" else "")
            meridians = tuple(float(meridian) for meridian in MERIDIANS_DEG)
            around = "meridian, degrees (0 performer's left, 90 up)"
            yield f"{name}_{view.eye.side}_eye", Curve(meridians, tuple(ends.tolist()), around, label)


CHECK = Check(
    id="sightline",
    question="What can the performer see?",
    measure=sightline,
    measured=(
        ("horizontal_deg", "how wide both eyes together see, left_deg and right_deg added"),
        ("left_deg", "how far to the performer's left, both eyes together, before a blocked stretch of 1 degree"),
        ("right_deg", "the same to the right"),
        ("up_deg", "the same upward"),
        ("down_deg", "the same downward"),
        ("field_fraction_left", "share of the left eye's bare field that is left, by solid angle"),
        ("field_fraction_right", "the same, right eye"),
        (
            "ellipse_open_left",
            "share left of an ellipse 22 by 20 mm, 25 mm before the left eye, 3 mm outward, 0.7 mm low",
        ),
        ("ellipse_open_right", "the same, right eye"),
        ("field_fraction_both", "share of what both bare eyes together see that is left"),
        ("bare_horizontal_deg", "horizontal_deg of the bare face"),
        ("bare_left_deg", "left_deg of the bare face"),
        ("bare_right_deg", "right_deg of the bare face"),
        ("bare_up_deg", "up_deg of the bare face"),
        ("bare_down_deg", "down_deg of the bare face"),
    ),
    method=(
        "Rays from the entrance pupil, 3 mm behind the front of the cornea (schematic eye, from memory), with the head "
        "facing front as its landmarks say and both eyes looking straight ahead: 40,000 even directions over the "
        "sphere out to 107 degrees for solid angle, and every 0.1 degree along 24 meridians. The bare face limits "
        "the field first; bare skin within 12 mm of the pupil, half the width of an eye, counts as lid, which lifts, "
        "and is left out (how high lids reach was not looked up). Then all "
        "appliances and hardware are put in the way. The eyeballs are not. References: EU Directive 2009/113/EC "
        "(120 degrees wide, 50 to each side), EN 136 (70 % of what "
        "both eyes see, from memory; by solid angle here), EN 166 and EN 168 (two ellipses)."
    ),
    landmarks=(*EYES, *FRAME),
    limits=(
        "sight_width_review_deg",
        "sight_width_deg",
        "sight_side_deg",
        "sight_down_review_deg",
        "sight_down_deg",
        "sight_fraction",
        "sight_eye_fraction",
        "sight_ellipse_cut",
    ),
    blind_spots=(
        "Geometry at rest only: refraction, the retina, turned eyes, lids that droop under a piece's weight, lenses, "
        "hair, fog, dim light and depth are not seen. The cited figures are for drivers and eye protectors and are "
        "references here, not requirements."
    ),
    caution=(
        "A warning aid, never a clearance: before anyone moves in the design, try it on in a safe place with a "
        "spotter, and let the performer say what can be seen. Contact lenses are medical devices: they are fitted and "
        "supervised by a licensed eye-care practitioner."
    ),
    leading=(
        LeadingFigure("horizontal_deg", "width of sight", "sight_width_deg", at_least=True),
        LeadingFigure("up_deg", "sight upward"),
        LeadingFigure("down_deg", "sight downward", "sight_down_review_deg", at_least=True),
    ),
    plots=(
        Plotted("field_left_eye", "What the left eye sees, as the performer looks out", drawn=Drawn.ROUND),
        Plotted("field_right_eye", "What the right eye sees, as the performer looks out", drawn=Drawn.ROUND),
    ),
)
