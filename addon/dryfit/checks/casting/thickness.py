"""Is a piece thick enough to survive and, where the face moves, thin enough to move with it?"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...geometry.level_patches import LevelPatch
from ...model.arrays import FloatArray
from ...model.brief import Brief
from ...model.finding import Bound, Field, Finding, Outcome, Place, Severity, not_checked
from ...model.limits import Limits
from ...model.progress import Job, Progress
from ...model.snapshot import Role
from ...performer.fitting import Fitting
from ...performer.grounds import EARS, EYES, MOUTH, NOSE
from ...performer.mobile_zones import MissingZone, MobileZone, mobile_zones
from ..check import Check, LeadingFigure
from .piece_thickness import PieceThickness, piece_thickness

KINDS = ("lip", "lid", "fold", "cheek")
"""Kinds of zones that move."""
SPECK_SHARE = 0.5
"""A place thinner than this share of the least wall is looked at, however small it is."""


@dataclass(frozen=True)
class JudgedThickness:
    """What a piece's thickness comes to.

    Attributes
    ----------
    findings
        What is found on it.
    least_mm
        The wall that its material survives.
    interior_mm
        Its smallest thickness away from the rim; nan where it has no interior.
    thin, sheet
        Areas of the places under the least wall, and of the wide ones under the safe wall, mm2 each.
    thick
        Areas over the limit of any zone, mm2 each; where zones overlap they count once, by the strictest.
    thickest_mm
        Kind of zone -> the greatest thickness in zones of that kind; none where nothing lies there.
    """

    findings: tuple[Finding, ...]
    least_mm: float
    interior_mm: float
    thin: tuple[float, ...]
    sheet: tuple[float, ...]
    thick: tuple[float, ...]
    thickest_mm: Mapping[str, float]


def thickness(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Report interiors too thin to survive, and pieces too thick to move over what moves."""
    appliances = fitting.snapshot.with_role(Role.APPLIANCE)
    if not appliances:
        return not_checked("There is no appliance in the design. Give the sculpted pieces the role 'appliance'.")
    zones, missing = mobile_zones(fitting.snapshot.landmarks, brief.limits, fitting.base_surface)
    pieces: list[PieceThickness] = []
    judged: list[JudgedThickness] = []
    for number, part in enumerate(appliances):
        yield Progress(number, len(appliances), f"thickness of {part.name}")
        alone = fitting.alone(part)
        pieces.append(fitting.kept.of(piece_thickness, part, zones, alone, brief))
        judged.append(fitting.kept.of(_judged, pieces[-1], zones, alone, brief.limits))
    findings = [finding for each in judged for finding in each.findings]
    findings.sort(key=lambda finding: (finding.severity.rank, finding.object, finding.at_mm))
    return Outcome(
        measures=_measures(judged, zones),
        findings=tuple(findings),
        fields=tuple(_field(piece, brief.limits) for piece in pieces),
        reason=_unjudged(missing),
        judged={"min_interior_mm": _interior_bound(judged, brief.limits)},
    )


def _judged(piece: PieceThickness, zones: tuple[MobileZone, ...], fitting: Fitting, limits: Limits) -> JudgedThickness:
    thin, sheets = piece.thin_patches(limits), piece.sheet_patches(limits)
    return JudgedThickness(
        findings=(
            *_thin(piece, thin, fitting, limits),
            *_sheets(piece, sheets, fitting, limits),
            *_thick(piece, zones, fitting, limits),
        ),
        least_mm=piece.least_mm,
        interior_mm=_least([piece.interior_mm(limits)]),
        thin=tuple(patch.area_mm2 for patch in thin),
        sheet=tuple(patch.area_mm2 for patch in sheets),
        thick=tuple(_thick_areas_mm2(piece, zones, limits)),
        thickest_mm=dict(_thickest_mm(piece, zones)),
    )


def _interior_bound(pieces: Sequence[JudgedThickness], limits: Limits) -> Bound:
    """Return what the thinnest interior is held against: its piece's least wall, less where only specks are thin."""
    found = {piece.interior_mm: piece for piece in pieces}
    thinnest = found[min(found, key=lambda interior_mm: (np.isnan(interior_mm), interior_mm))]
    noted = bool(thinnest.thin) and all(area < limits.thin_patch_area_mm2 for area in thinnest.thin)
    return Bound(thinnest.least_mm * (SPECK_SHARE if noted else 1.0), at_least=True)


def _unjudged(missing: tuple[MissingZone, ...]) -> str:
    if not missing:
        return ""
    marks = sorted({mark for zone in missing for mark in zone.landmarks})
    return (
        f"Thickness over the {', '.join(zone.name for zone in missing)} could not be judged. Add the landmarks "
        f"{', '.join(marks)}."
    )


def _measures(pieces: Sequence[JudgedThickness], zones: tuple[MobileZone, ...]) -> dict[str, float | str]:
    measures: dict[str, float | str] = {
        "min_interior_mm": _least([np.array([piece.interior_mm for piece in pieces])]),
        "thin_area_mm2": sum(area for piece in pieces for area in piece.thin),
        "thin_sheet_area_mm2": sum(area for piece in pieces for area in piece.sheet),
        "thick_area_mm2": sum((area for piece in pieces for area in piece.thick), 0.0) if zones else float("nan"),
    }
    known = {zone.kind for zone in zones}
    for kind in KINDS:
        thickest_mm = max((piece.thickest_mm.get(kind, -np.inf) for piece in pieces), default=-np.inf)
        found_mm = thickest_mm if np.isfinite(thickest_mm) else 0.0
        measures[f"max_{kind}_mm"] = float(found_mm) if kind in known else float("nan")
    return measures


def levels_mm(kind: str, limits: Limits) -> tuple[float, float]:
    """Return from where on a zone's thickness is reviewed, and where it fails, mm of the ordinary material."""
    return {
        "lid": (limits.lid_thickness_review_mm, limits.lid_thickness_mm),
        "cheek": (limits.cheek_thickness_review_mm, limits.cheek_thickness_mm),
    }.get(kind, (limits.mobile_thickness_review_mm, limits.mobile_thickness_mm))


def _thick_areas_mm2(piece: PieceThickness, zones: tuple[MobileZone, ...], limits: Limits) -> Iterator[float]:
    """Yield the areas over the limit of any zone; where zones overlap they count once, by the strictest."""
    reached = [zone for zone in zones if zone.name in piece.beyond_mm]
    judged = [(levels_mm(zone.kind, limits)[0], piece.beyond_mm[zone.name]) for zone in reached]
    taken = np.full(piece.thick_mm.shape, np.inf)
    for level_mm in sorted({level for level, _ in judged}):
        nearest_mm = np.min([beyond for level, beyond in judged if level == level_mm], axis=0)
        own_mm = np.maximum(nearest_mm, -taken)
        yield sum((patch.area_mm2 for patch in piece.thick_patches(own_mm, level_mm)), 0.0)
        taken = np.minimum(taken, nearest_mm)


def _thickest_mm(piece: PieceThickness, zones: tuple[MobileZone, ...]) -> Iterator[tuple[str, float]]:
    """Yield each kind of zone with the greatest thickness of a piece in them, where something of it lies there."""
    for kind in KINDS:
        names = [zone.name for zone in zones if zone.kind == kind and zone.name in piece.beyond_mm]
        inside = [piece.thick_mm[piece.beyond_mm[name] < 0.0] for name in names]
        thickest_mm = -_least([-values for values in inside])
        if np.isfinite(thickest_mm):
            yield kind, thickest_mm


def _least(values: list[FloatArray]) -> float:
    """Return the smallest finite value; nan where there is none."""
    every = np.concatenate([part.ravel() for part in values]) if values else np.zeros(0)
    every = every[np.isfinite(every)]
    return float(every.min()) if len(every) else float("nan")


def _thin(piece: PieceThickness, found: Sequence[LevelPatch], fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield each place under the least wall; those too small to judge are told of together."""
    large = [patch for patch in found if patch.area_mm2 >= limits.thin_patch_area_mm2]
    for patch in large:
        yield _too_thin(piece, patch, fitting, Severity.FAIL, piece.least_mm, "")
    if len(found) > len(large):
        small = next(patch for patch in found if patch.area_mm2 < limits.thin_patch_area_mm2)
        count = len(found) - len(large)
        more = f"; {count} places as small as this are not judged" if count > 1 else "; too small to judge"
        yield _too_thin(piece, small, fitting, Severity.INFO, piece.least_mm, more)


def _sheets(piece: PieceThickness, found: Sequence[LevelPatch], fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield each wide thin sheet that the material survives but not every source agrees to."""
    for patch in found:
        if patch.area_mm2 >= limits.thin_patch_area_mm2 and patch.lowest >= piece.least_mm:
            more = f", too wide to be held by what is thick beside it (over {2 * limits.bridged_mm:g} mm)"
            yield _too_thin(piece, patch, fitting, Severity.REVIEW, piece.safe_mm, more)


def _too_thin(
    piece: PieceThickness, patch: LevelPatch, fitting: Fitting, severity: Severity, limit_mm: float, more: str
) -> Finding:
    place = fitting.place(piece.part.name, patch.lowest_mm)
    material = piece.part.material or "no material stated"
    words = (
        f"{piece.part.name} is only {patch.lowest:.2f} mm thick at the {place.region}, over {patch.area_mm2:.1f} mm² "
        f"away from its rim{more} (limit {limit_mm:g} mm, {material})."
    )
    fix = f"build up {patch.area_mm2:.0f} mm² of the {place.region} to {piece.safe_mm:g} mm or more"
    return _finding(piece, patch, place, severity, patch.lowest, limit_mm, words, fix)


def _thick(piece: PieceThickness, zones: tuple[MobileZone, ...], fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    for zone in zones:
        review_mm, fail_mm = levels_mm(zone.kind, limits)
        if zone.name in piece.beyond_mm:
            for patch in piece.thick_patches(piece.beyond_mm[zone.name], review_mm):
                yield _too_thick(piece, patch, zone.name, (review_mm, fail_mm), fitting, limits)


def _too_thick(
    piece: PieceThickness,
    patch: LevelPatch,
    zone: str,
    levels_mm: tuple[float, float],
    fitting: Fitting,
    limits: Limits,
) -> Finding:
    """Return the finding on one place that moves less than the face; figures in millimetres of the piece itself."""
    fails = -patch.lowest > levels_mm[1]
    thickest_mm, level_mm, limit_mm = map(piece.bending.own_mm, (-patch.lowest, levels_mm[0], levels_mm[fails]))
    made = f", made of {piece.part.material}," if not np.isclose(limit_mm, levels_mm[fails]) else ""
    words = (
        f"{piece.part.name}{made} is {thickest_mm:.1f} mm thick over the {zone}, {patch.area_mm2:.0f} mm² of it over "
        f"{level_mm:.2g} mm: the face moves there (limit {limit_mm:.2g} mm)."
    )
    severity = Severity.FAIL if fails else Severity.REVIEW
    severity = severity if patch.area_mm2 >= limits.thin_patch_area_mm2 else Severity.INFO
    place = fitting.place(piece.part.name, patch.lowest_mm, zone)
    fix = f"thin {patch.area_mm2:.0f} mm² over the {zone} to {level_mm:.2g} mm"
    return _finding(piece, patch, place, severity, thickest_mm, limit_mm, words, fix)


def _finding(
    piece: PieceThickness,
    patch: LevelPatch,
    place: Place,
    severity: Severity,
    value: float,
    limit_mm: float,
    message: str,
    fix: str,
) -> Finding:
    return Finding(
        severity=severity,
        message=message,
        place=place,
        value=value,
        limit=limit_mm,
        fix=fix,
        elements=np.unique(piece.faces[patch.faces]),
    )


def _field(piece: PieceThickness, limits: Limits) -> Field:
    return Field(
        name="wall",
        part=piece.part.name,
        values=piece.field_mm,
        unit="mm",
        label="Thickness of the piece",
        low=0.0,
        high=2.0 * limits.mobile_thickness_review_mm,
        limit=limits.mobile_thickness_review_mm,
    )


CHECK = Check(
    id="thickness",
    question="Too thin to survive, too thick to move?",
    measure=thickness,
    measured=(
        ("min_interior_mm", "smallest thickness further from the rim than the blend"),
        ("thin_area_mm2", "area of interior thinner than the piece's material survives"),
        ("thin_sheet_area_mm2", "area of interior under the safe wall and too wide to be a groove"),
        ("thick_area_mm2", "area over lips, lids, nasolabial folds and cheeks that is too thick to move with them"),
        ("max_lip_mm", "greatest thickness over the lips; 0 where nothing lies there"),
        ("max_lid_mm", "greatest thickness over the lids"),
        ("max_fold_mm", "greatest thickness over the nasolabial folds"),
        ("max_cheek_mm", "greatest thickness over the cheeks beside the mouth"),
    ),
    method=(
        "Thickness of a closed shell is the distance from its outer skin to its own inner face; of an open skin, and "
        "of a sculpt that flows into the base, its clearance to the base. It is taken every millimetre and areas are "
        "integrated over triangles clipped at the limits. The interior starts where the blend ends, measured from the "
        "rim along the skin. Lips, lids, folds and cheeks are bands about lines between landmarks, placed on the base "
        "beneath the piece. Each has its own limits, said of a material of mobile_stiffness_kpa; a piece of another "
        "counts as the thickness at which that would bend as hard, stiffness times thickness cubed, with the skins of "
        "an encapsulated one as layers. Where pieces overlap on open skins, the thickness is of all that lies on the "
        "base."
    ),
    landmarks=(*MOUTH, *EYES, *NOSE, *EARS),
    limits=(
        "interior_mm",
        "bridged_mm",
        "blend_width_mm",
        "blend_width_most_mm",
        "thin_patch_area_mm2",
        "mobile_thickness_review_mm",
        "mobile_thickness_mm",
        "lid_thickness_review_mm",
        "lid_thickness_mm",
        "cheek_thickness_review_mm",
        "cheek_thickness_mm",
        "mobile_stiffness_kpa",
        "cheek_zone_mm",
        "lip_zone_mm",
        "lid_zone_mm",
        "fold_zone_mm",
    ),
    blind_spots=(
        "It can't feel the face: how a thick piece moves depends on the glue and the performer too. A material that "
        "states no stiffness counts as ordinary silicone. "
        "Bubbles, core shift in the mould and trimming are not seen. The zones are drawn from landmarks, not from "
        "this face's own folds. The least wall is the material's (see materials in the brief)."
    ),
    material_figures=("min_wall_mm", "safe_wall_mm", "stiffness_kpa", "skin_mm", "skin_stiffness_kpa"),
    leading=(
        LeadingFigure("min_interior_mm", "thinnest place inside the rim", "interior_mm", at_least=True),
        LeadingFigure("thin_area_mm2", "area that is too thin"),
        LeadingFigure("thick_area_mm2", "area that is too thick to move"),
    ),
    painted=(("wall", "Thickness of the piece from one side to the other, as it would be cast"),),
)
