"""Is a piece thick enough to survive and, where the face moves, thin enough to move with it?"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..geometry import Surface, distance_along
from ..geometry.areas import Facets, clip_below
from ..geometry.level_patches import LevelPatch, patches_under
from ..geometry.outer_skin import OuterSkin
from ..geometry.wall import fine_facets
from ..model.arrays import FloatArray, IntArray
from ..model.brief import Brief
from ..model.finding import Field, Finding, Outcome, Severity, not_checked
from ..model.limits import Limits
from ..model.progress import Job, Progress
from ..model.snapshot import Part, Role
from .check import Check
from .fitting import Fitting
from .mobile_zones import MissingZone, MobileZone, mobile_zones

WORST_FIRST = (Severity.FAIL, Severity.REVIEW, Severity.INFO)
BAND_MM = 5.0
"""How far past the blend the distance from the rim is followed."""


@dataclass(frozen=True)
class Thickness:
    """How thick one appliance is all over.

    Attributes
    ----------
    faces
        Its outer skin without cut edges, ``(m, 3)``.
    corners_mm, foot_mm, thick_mm, inward_mm
        Facets of that skin ``(q, 3, 3)``, the base points beneath their corners, the thickness there and the distance
        from the rim along the skin, ``(q, 3)``.
    owner
        ``(q,)`` face of each facet.
    field_mm
        Thickness at each vertex ``(n,)``; nan off the outer skin.
    thinnest_mm
        The wall this piece's material survives.
    """

    part: Part
    faces: IntArray
    corners_mm: FloatArray
    foot_mm: FloatArray
    thick_mm: FloatArray
    inward_mm: FloatArray
    owner: IntArray
    field_mm: FloatArray
    thinnest_mm: float


def thickness(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Report interiors too thin to survive, and pieces too thick to move over lips, lids and folds."""
    appliances = fitting.snapshot.with_role(Role.APPLIANCE)
    if not appliances:
        return not_checked("There is no appliance in the design. Give the sculpted pieces the role 'appliance'.")
    zones, missing = mobile_zones(fitting.snapshot.landmarks, brief.limits)
    pieces: list[Thickness] = []
    findings: list[Finding] = []
    for number, part in enumerate(appliances):
        yield Progress(number, len(appliances), f"thickness of {part.name}")
        pieces.append(_thickness(part, fitting, brief))
        findings.extend(_thin(pieces[-1], fitting, brief.limits))
        findings.extend(_thick(pieces[-1], zones, fitting, brief.limits))
    findings.sort(key=lambda finding: (WORST_FIRST.index(finding.severity), finding.object, finding.at_mm))
    return Outcome(
        measures=_measures(pieces, zones, brief.limits),
        findings=tuple(findings),
        fields=tuple(_field(piece, brief.limits) for piece in pieces),
        reason=_unjudged(missing),
    )


def _unjudged(missing: tuple[MissingZone, ...]) -> str:
    if not missing:
        return ""
    marks = sorted({mark for zone in missing for mark in zone.landmarks})
    return (
        f"Thickness over the {', '.join(zone.name for zone in missing)} could not be judged. "
        f"Add the landmarks {', '.join(marks)}."
    )


def _thickness(part: Part, fitting: Fitting, brief: Brief) -> Thickness:
    skin = fitting.skin(part)
    faces = skin.top_faces
    facets = fine_facets(skin.vertices_mm[faces])
    corners_mm = facets.of(skin.vertices_mm[faces])
    inner = _inner_face(skin)
    at_vertices = _thick_mm(skin.vertices_mm, skin.clearance_mm, inner)
    field_mm = np.full(len(skin.vertices_mm), np.nan)
    used = np.unique(faces)
    field_mm[used] = at_vertices[used]
    thick_mm, foot_mm = facets.of(field_mm[faces]), facets.of(skin.foot_mm[faces])
    fresh = np.flatnonzero(np.bincount(facets.face, minlength=len(faces))[facets.face] > 1)
    points = corners_mm[fresh].reshape(-1, 3)
    if len(points):
        thick_mm[fresh] = _thick_mm(points, fitting.base_surface.clearance_mm(points), inner).reshape(-1, 3)
    return Thickness(
        part=part,
        faces=faces,
        corners_mm=corners_mm,
        foot_mm=foot_mm,
        thick_mm=thick_mm,
        inward_mm=_inward_mm(skin, facets, brief.limits.blend_width_mm + BAND_MM),
        owner=facets.face,
        field_mm=field_mm,
        thinnest_mm=_thinnest_mm(part, brief),
    )


def _inner_face(skin: OuterSkin) -> Surface | None:
    """Return the inner face of a closed shell; None where the piece is a skin over the base."""
    inner = skin.faces[~skin.outer]
    return Surface(skin.vertices_mm, inner) if skin.closed and not skin.flows and len(inner) else None


def _thick_mm(points_mm: FloatArray, clearance_mm: FloatArray, inner: Surface | None) -> FloatArray:
    """Return the thickness ``(k,)`` beneath points: to the shell's inner face, or to the base; nan off the scan."""
    if inner is not None:
        return inner.closest(points_mm).distance_mm
    return np.maximum(clearance_mm, 0.0)


def _inward_mm(skin: OuterSkin, facets: Facets, limit_mm: float) -> FloatArray:
    """Return the distance from the rim ``(q, 3)``, at most ``limit_mm``."""
    rim = np.unique(skin.rim_edges)
    inward_mm, _ = distance_along(skin.vertices_mm, skin.top_faces, rim, limit_mm)
    return facets.of(np.minimum(inward_mm, limit_mm)[skin.top_faces])


def _thinnest_mm(part: Part, brief: Brief) -> float:
    material = brief.materials.get(part.material)
    return material.min_wall_mm if material and material.min_wall_mm else brief.limits.interior_mm


def _interior(piece: Thickness, limits: Limits) -> Facets:
    return clip_below(-piece.inward_mm, -limits.blend_width_mm)


def _within(piece: Thickness, zone: MobileZone) -> Facets:
    beyond_mm = zone.beyond_mm(piece.foot_mm.reshape(-1, 3)).reshape(-1, 3)
    return clip_below(beyond_mm, 0.0)


def _thin_patches(piece: Thickness, limits: Limits) -> list[LevelPatch]:
    cut = _interior(piece, limits)
    return patches_under(
        cut.of(piece.corners_mm), cut.of(piece.thick_mm), piece.owner[cut.face], piece.faces, piece.thinnest_mm
    )


def _thick_patches(piece: Thickness, zone: MobileZone, level_mm: float) -> list[LevelPatch]:
    """Return the patches of a zone over a thickness; their ``lowest`` is the negative of the thickest."""
    cut = _within(piece, zone)
    return patches_under(
        cut.of(piece.corners_mm), -cut.of(piece.thick_mm), piece.owner[cut.face], piece.faces, -level_mm
    )


def _measures(pieces: list[Thickness], zones: tuple[MobileZone, ...], limits: Limits) -> dict[str, float | str]:
    interior = [_interior(piece, limits).of(piece.thick_mm) for piece in pieces]
    thin = sum(patch.area_mm2 for piece in pieces for patch in _thin_patches(piece, limits))
    measures: dict[str, float | str] = {
        "min_interior_mm": _least(interior),
        "thin_area_mm2": thin,
        "thick_area_mm2": _thick_area_mm2(pieces, zones, limits) if zones else float("nan"),
    }
    for kind in ("lip", "lid", "fold"):
        own = [_within(piece, zone).of(piece.thick_mm) for zone in zones if zone.kind == kind for piece in pieces]
        measures[f"max_{kind}_mm"] = -_least([-values for values in own])
    return measures


def _thick_area_mm2(pieces: list[Thickness], zones: tuple[MobileZone, ...], limits: Limits) -> float:
    """Return the area over the limit in any zone; where zones overlap it counts once."""
    total = 0.0
    for piece in pieces:
        feet = piece.foot_mm.reshape(-1, 3)
        beyond_mm = np.min([zone.beyond_mm(feet) for zone in zones], axis=0).reshape(-1, 3)
        cut = clip_below(beyond_mm, 0.0)
        level_mm = -limits.mobile_thickness_review_mm
        owner, values = piece.owner[cut.face], -cut.of(piece.thick_mm)
        found = patches_under(cut.of(piece.corners_mm), values, owner, piece.faces, level_mm)
        total += sum(patch.area_mm2 for patch in found)
    return total


def _least(values: list[FloatArray]) -> float:
    """Return the smallest finite value; nan where there is none."""
    every = np.concatenate([part.ravel() for part in values]) if values else np.zeros(0)
    every = every[np.isfinite(every)]
    return float(every.min()) if len(every) else float("nan")


def _thin(piece: Thickness, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    for patch in _thin_patches(piece, limits):
        small = patch.area_mm2 < limits.thin_patch_area_mm2
        region = fitting.regions.name(patch.lowest_mm)
        material = piece.part.material or "no material stated"
        yield _finding(
            piece,
            patch,
            region,
            Severity.INFO if small else Severity.FAIL,
            patch.lowest,
            piece.thinnest_mm,
            f"{piece.part.name} is only {patch.lowest:.2f} mm thick at the {region}, over {patch.area_mm2:.0f} mm² "
            f"away from its rim (limit {piece.thinnest_mm:g} mm, {material}).",
            f"build up {patch.area_mm2:.0f} mm² of the {region} to {piece.thinnest_mm:g} mm or more",
        )


def _thick(piece: Thickness, zones: tuple[MobileZone, ...], fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    for zone in zones:
        for patch in _thick_patches(piece, zone, limits.mobile_thickness_review_mm):
            thickest = -patch.lowest
            limit_mm, severity = _judged(thickest, patch, limits)
            yield _finding(
                piece,
                patch,
                zone.name,
                severity,
                thickest,
                limit_mm,
                f"{piece.part.name} is {thickest:.1f} mm thick over the {zone.name}, {patch.area_mm2:.0f} mm² of it "
                "over "
                f"{limits.mobile_thickness_review_mm:g} mm: the face moves there (limit {limit_mm:g} mm).",
                f"thin {patch.area_mm2:.0f} mm² over the {zone.name} to {limits.mobile_thickness_review_mm:g} mm",
            )


def _judged(thickest_mm: float, patch: LevelPatch, limits: Limits) -> tuple[float, Severity]:
    if patch.area_mm2 < limits.thin_patch_area_mm2:
        return limits.mobile_thickness_review_mm, Severity.INFO
    if thickest_mm > limits.mobile_thickness_mm:
        return limits.mobile_thickness_mm, Severity.FAIL
    return limits.mobile_thickness_review_mm, Severity.REVIEW


def _finding(
    piece: Thickness,
    patch: LevelPatch,
    region: str,
    severity: Severity,
    value: float,
    limit_mm: float,
    message: str,
    fix: str,
) -> Finding:
    return Finding(
        severity=severity,
        message=message,
        object=piece.part.name,
        at_mm=tuple(patch.lowest_mm),
        region=region,
        value=value,
        limit=limit_mm,
        unit="mm",
        fix=fix,
        elements=np.unique(piece.faces[patch.faces]),
    )


def _field(piece: Thickness, limits: Limits) -> Field:
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
        ("thick_area_mm2", "area thicker than the limit over lips, lids and nasolabial folds"),
        ("max_lip_mm", "greatest thickness over the lips"),
        ("max_lid_mm", "greatest thickness over the lids"),
        ("max_fold_mm", "greatest thickness over the nasolabial folds"),
    ),
    method=(
        "Thickness of a closed shell is the distance from its outer skin to its own inner face; of an open skin, "
        "and of "
        "a sculpt that flows into the base, its clearance to the base. It is taken every millimetre and areas are "
        "integrated over triangles clipped at the limits. The interior starts where the blend ends, measured from "
        "the rim "
        "along the skin. Lips, lids and folds are bands about lines between landmarks, placed on the base "
        "beneath the piece. Where pieces overlap on open skins, the thickness is of all that lies on the base."
    ),
    limits=(
        "interior_mm",
        "blend_width_mm",
        "thin_patch_area_mm2",
        "mobile_thickness_review_mm",
        "mobile_thickness_mm",
        "lip_zone_mm",
        "lid_zone_mm",
        "fold_zone_mm",
    ),
    blind_spots=(
        "It can't feel the face: how a thick piece moves depends on the material, the glue and the performer. "
        "Bubbles, core "
        "shift in the mould and trimming are not seen. The zones are drawn from landmarks, not from this face's own "
        "folds. "
        "The least wall is the material's (see materials in the brief)."
    ),
)
