"""Are the nostrils and the mouth still open?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from ...model.arrays import FloatArray
from ...model.brief import Brief
from ...model.finding import Finding, Outcome, Severity, not_checked
from ...model.limits import Limits
from ...model.progress import Job, Progress
from ...model.snapshot import Part, Role
from ...performer.eyes import SIDES
from ...performer.fitting import Fitting
from ...performer.grounds import EARS, MOUTH, NOSE
from ...performer.motion.base_motion import NoMotion
from ...performer.mouth.line import missing_landmarks
from ...performer.nostrils import Nostril, breath, find_nostril, group_name, wanted_landmarks
from ...performer.ways_out import WaysOut
from ...performer.worn import worn_parts, worn_surface
from ..check import Check, LeadingFigure
from .ears import Ear, ear_findings, ear_measures, ears
from .mouth_opening import MouthOpening, mouth_opening

JAW = "jaw"
NOTED = 0.01


@dataclass(frozen=True)
class Airway:
    """What was measured of nose, mouth and ears, and why the rest was not."""

    nostrils: dict[str, tuple[Nostril, WaysOut]] = field(default_factory=dict)
    mouth: MouthOpening | None = None
    ears: tuple[Ear, ...] = ()
    why_not: tuple[str, ...] = ()


def airway(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Report how much of each nostril and of the open mouth the design leaves open."""
    worn = tuple(worn_parts(fitting, Role.APPLIANCE, Role.HARDWARE))
    surfaces = [worn_surface(part, fitting) for part in worn]
    head, nostrils, why_not = fitting.head, {}, []
    for number, side in enumerate(SIDES):
        yield Progress(number, 3, f"{side} nostril")
        nostril = head.kept.of(find_nostril, head, side)
        if nostril is None:
            why_not.append(_missing_nostril(side))
            continue
        nostrils[side] = nostril, breath(nostril, fitting.base_surface, surfaces, fitting.kept)
    yield Progress(2, 3, "mouth wide open")
    mouth, reason = _mouth(fitting)
    hearing, no_ears = ears(fitting, surfaces)
    measured = Airway(nostrils, mouth, tuple(hearing), (*why_not, *filter(None, (reason, no_ears))))
    if not measured.nostrils and measured.mouth is None and not measured.ears:
        return not_checked(" ".join(measured.why_not))
    return Outcome(
        measures=_measures(measured),
        findings=tuple(_findings(measured, worn, fitting, brief.limits)),
        reason=" ".join(measured.why_not),
    )


def _missing_nostril(side: str) -> str:
    return (
        f"The {side} nostril was not found: mark its skin with the vertex group {group_name(side)} on the base, "
        f"or add the landmarks {', '.join(wanted_landmarks(side))}."
    )


def _mouth(fitting: Fitting) -> tuple[MouthOpening | None, str]:
    missing = missing_landmarks(fitting)
    if missing:
        return None, f"The open mouth was not measured: add the landmarks {', '.join(missing)}."
    try:
        opening = mouth_opening(fitting)
    except NoMotion as error:
        return None, f"The open mouth was not measured: {error}."
    return opening, "" if opening else "The open mouth was not measured: no lips were found beside its landmarks."


def _measures(measured: Airway) -> dict[str, float | str]:
    measures: dict[str, float | str] = {}
    for side in SIDES:
        found = measured.nostrils.get(side)
        measures[f"nostril_open_fraction_{side}"] = found[1].open_fraction if found else float("nan")
    mouth = measured.mouth
    ways = [breathing.way_out for _, breathing in measured.nostrils.values()]
    measures["way_out_fraction"] = max(ways, default=float("nan"))
    measures["mouth_open_area_mm2"] = mouth.area_mm2 if mouth else float("nan")
    for side in SIDES:
        found = measured.nostrils.get(side)
        measures[f"nostril_area_mm2_{side}"] = found[0].area_mm2 if found else float("nan")
    measures["bare_mouth_open_area_mm2"] = mouth.bare_area_mm2 if mouth else float("nan")
    return measures | ear_measures(list(measured.ears))


def _findings(measured: Airway, worn: tuple[Part, ...], fitting: Fitting, limits: Limits) -> list[Finding]:
    found: list[Finding] = []
    for nostril, breathing in measured.nostrils.values():
        found.extend(_nostril_finding(nostril, breathing, worn, fitting, limits))
    found.extend(_way_out_finding(measured, worn, fitting, limits))
    if measured.mouth is not None:
        found.extend(_mouth_finding(measured.mouth, worn, fitting, limits))
    found.extend(ear_findings(list(measured.ears), worn, fitting, limits))
    return sorted(found, key=lambda finding: finding.severity.rank)


def _nostril_finding(
    nostril: Nostril, breathing: WaysOut, worn: tuple[Part, ...], fitting: Fitting, limits: Limits
) -> Iterator[Finding]:
    left = breathing.open_fraction
    if not left < 1.0 - NOTED:
        return
    part = worn[int(breathing.blocked.argmax())]
    severity, limit = graded(left, limits.nostril_open, limits.nostril_open_review)
    yield Finding(
        severity=severity,
        message=(
            f"{part.name} covers the {nostril.side} nostril: {100 * left:.0f} % of the bare opening is left "
            f"(limit {100 * limit:g} %)."
        ),
        place=fitting.place(part.name, _middle(nostril, fitting), f"{nostril.side} nostril"),
        value=left,
        limit=limit,
        unit="of the bare opening",
        fix=f"cut {part.name} back from the {nostril.side} nostril" if severity != Severity.INFO else "",
    )


def _way_out_finding(measured: Airway, worn: tuple[Part, ...], fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Say where what is worn encloses nose and mouth, however far off it stands."""
    ways = [(breathing.way_out, nostril, breathing) for nostril, breathing in measured.nostrils.values()]
    left, nostril, breathing = max(ways, key=lambda way: way[0], default=(float("nan"), None, None))
    if nostril is None or breathing is None or not left < limits.way_out_review:
        return
    part = worn[int(breathing.enclosed.argmax())]
    yield Finding(
        severity=Severity.REVIEW if left > 0.0 else Severity.FAIL,
        message=(
            f"{part.name} stands before nose and mouth on all sides: {100 * left:.1f} % of the straight ways out of "
            f"the nostrils lead into the open (limit {100 * limits.way_out_review:g} %). Where fresh air comes in and "
            "breathed air goes out is not known."
        ),
        place=fitting.place(part.name, _middle(nostril, fitting), "nose"),
        value=left,
        limit=limits.way_out_review,
        unit="of the ways out",
        fix=f"open {part.name} before nose or mouth, and let somebody breathe in it, watched, before it is worn",
    )


def _mouth_finding(mouth: MouthOpening, worn: tuple[Part, ...], fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    if not mouth.bare_area_mm2 > 0.0:
        return
    left = mouth.area_mm2 / mouth.bare_area_mm2
    severity, limit = graded(left, limits.mouth_open_area, limits.mouth_open_area_review)
    if severity == Severity.INFO:
        return
    part = min(worn, key=lambda one: float(fitting.surface(one).closest([mouth.at_mm]).distance_mm[0]))
    yield Finding(
        severity=severity,
        message=(
            f"Wide open, the mouth leaves {mouth.area_mm2:.0f} mm² for breath, {100 * left:.0f} % of the bare mouth's "
            f"{mouth.bare_area_mm2:.0f} mm² (limit {100 * limit:g} %)."
        ),
        place=fitting.place(part.name, mouth.at_mm, "mouth"),
        value=left,
        limit=limit,
        unit="of the bare opening",
        fix=f"cut {part.name} back round the mouth",
    )


def graded(value: float, low: float, review: float) -> tuple[Severity, float]:
    """Return how bad a share is that should not be small, and the limit it is named with."""
    if value < low:
        return Severity.FAIL, low
    return (Severity.REVIEW if value < review else Severity.INFO), review


def _middle(nostril: Nostril, fitting: Fitting) -> tuple[float, float, float]:
    surface = fitting.base_surface
    middle: FloatArray = surface.vertices_mm[np.unique(surface.faces[nostril.faces])].mean(axis=0)
    return float(middle[0]), float(middle[1]), float(middle[2])


CHECK = Check(
    id="airway",
    question="Are the nostrils and the mouth open?",
    measure=airway,
    measured=(
        ("nostril_open_fraction_left", "share of the left nostril's bare opening that is left"),
        ("nostril_open_fraction_right", "the same, right nostril"),
        ("way_out_fraction", "share of the straight ways out of the freer nostril that meet nothing worn at all"),
        ("mouth_open_area_mm2", "area between the lips at jaw t = 1, seen from the front, less what hangs before it"),
        ("nostril_area_mm2_left", "size of the left nostril's opening as marked"),
        ("nostril_area_mm2_right", "the same, right nostril"),
        ("bare_mouth_open_area_mm2", "the bare mouth's area at jaw t = 1"),
        ("ear_open_fraction_left", "share of what comes straight to the left ear from its side that is left"),
        ("ear_open_fraction_right", "the same, right ear"),
    ),
    method=(
        "The opening of a nostril is what the border of its vertex group spans (without one, of the hollow about a "
        "point between alare, subnasale and pronasale: skin that sees less than three quarters of its sky). From "
        "points 0.6 mm apart over it, rays go out to all sides; weighted by the cosine to the opening, the share of "
        "rays that the bare face leaves free and nothing worn blocks within 25 mm is what is left (the view factor of "
        "radiation exchange). Those rays that meet nothing worn at any distance are a way out. The mouth's area is "
        "the gap between the lips integrated across the mouth at jaw t = 1; appliances and hardware before it are "
        "taken off. The same rays, from 2 mm beside each tragion out to 50 mm, tell how far an ear is covered."
    ),
    landmarks=(*NOSE, *MOUTH, *EARS),
    moves=True,
    limits=(
        "nostril_open_review",
        "nostril_open",
        "way_out_review",
        "mouth_open_area_review",
        "mouth_open_area",
        "ear_open_review",
    ),
    blind_spots=(
        "Openings only: not the air itself, nor the nose behind the nostril, a blocked nose, swelling, adhesive, "
        "moisture, a piece sucked in by breath, dentures, or how hard the performer works. Whether a performer can "
        "breathe through the nose at all is not known here, nor how much of a sound a piece lets through. The limits "
        "are common practice without source."
    ),
    caution=(
        "A warning aid, never a clearance: nose and mouth must never both be closed, the performer must be able to "
        "breathe freely and to take the piece off or call for it at any time, and someone must watch. Ask the "
        "performer and, where breathing or health is in question, a physician."
    ),
    leading=(
        LeadingFigure("nostril_open_fraction_left", "left nostril left open", "nostril_open", at_least=True),
        LeadingFigure("nostril_open_fraction_right", "right nostril left open", "nostril_open", at_least=True),
        LeadingFigure("way_out_fraction", "ways out into the open", "way_out_review", at_least=True),
        LeadingFigure("ear_open_fraction_left", "left ear left open", "ear_open_review", at_least=True),
        LeadingFigure("ear_open_fraction_right", "right ear left open", "ear_open_review", at_least=True),
        LeadingFigure("mouth_open_area_mm2", "opening of the mouth, wide open"),
    ),
)
