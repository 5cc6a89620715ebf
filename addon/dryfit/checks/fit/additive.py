"""Is the appliance everywhere outside the base? Only adding is practical; below it flesh would have to go."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry.areas import areas_mm2, clip_below, prism_volumes_mm3
from ...geometry.outer_skin import OuterSkin
from ...geometry.patches import Patch, SampledSkin, patches_below, sample_near_level
from ...geometry.rows import row_all
from ...model.brief import Brief
from ...model.finding import Bound, Field, Finding, Outcome, Place, Severity, not_checked
from ...model.limits import Limits
from ...model.progress import Job, Progress
from ...model.snapshot import Part, Role
from ...performer.fitting import Fitting
from ..check import Check, LeadingFigure
from .covered import covered_face
from .soundness import base_soundness, soundness

SPECK_TOLERANCES = 3.0
"""A speck deeper than so many tolerances is looked at, however small it is: a needle is no noise."""


@dataclass(frozen=True)
class Worn:
    """What one appliance adds to the base and takes from it."""

    part: Part
    skin: OuterSkin
    patches: tuple[Patch, ...]
    added_mm3: float
    covered_mm2: float
    thickest_mm: float


def additive(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Report where an appliance dips below the base.

    Clearance is in mm, positive outside the base. Points whose closest point lies on an open border of
    the scan and beyond it are off the scan: neither above nor below.
    """
    appliances = fitting.snapshot.with_role(Role.APPLIANCE)
    if not appliances:
        return not_checked("There is no appliance in the design. Give the sculpted pieces the role 'appliance'.")
    worn = []
    for number, part in enumerate(appliances):
        yield Progress(number, len(appliances), f"clearance of {part.name}")
        worn.append(fitting.kept.of(_wear, part, fitting.alone(part), brief.limits))
    if not any(np.isfinite(piece.skin.clearance_mm).any() for piece in worn):
        return not_checked("Every point of the design lies off the scan: is the base the right one, and in place?")
    return Outcome(
        measures=_measures(worn) | covered_face([piece.part for piece in worn], fitting),
        findings=tuple(_findings(worn, fitting, brief.limits)),
        fields=tuple(_clearance_field(piece, brief.limits) for piece in worn),
        judged=_judged(worn, brief.limits),
    )


def _judged(worn: list[Worn], limits: Limits) -> dict[str, Bound | None]:
    """Return how deep anything may be: specks, which are noted only, a little more than what counts by its area."""
    patches = [patch for piece in worn for patch in piece.patches]
    if not patches or any(_is_large(patch, limits) for patch in patches):
        return {}
    return {"max_depth_mm": Bound(SPECK_TOLERANCES * limits.additive_tolerance_mm, limit="additive_tolerance_mm")}


def _wear(part: Part, fitting: Fitting, limits: Limits) -> Worn:
    skin = fitting.skin(part)
    level_mm = -limits.additive_tolerance_mm
    faces = skin.over_base_faces
    sampled = sample_near_level(
        skin.vertices_mm, faces, skin.clearance_mm, skin.foot_mm, fitting.base_surface, level_mm
    )
    added_mm3, covered_mm2 = _added(sampled)
    return Worn(
        part=part,
        skin=skin,
        patches=tuple(patches_below(sampled, faces, level_mm)),
        added_mm3=added_mm3,
        covered_mm2=covered_mm2,
        thickest_mm=float(np.nanmax(sampled.clearance_mm, initial=0.0)),
    )


def _added(sampled: SampledSkin) -> tuple[float, float]:
    """Return the volume between the skin above the base and the base, mm3, and the base area beneath the skin, mm2."""
    above = clip_below(-sampled.clearance_mm, 0.0)
    top, foot = above.of(sampled.corners_mm), above.of(sampled.foot_mm)
    beneath = sampled.foot_mm[row_all(np.isfinite(sampled.clearance_mm))]
    return float(prism_volumes_mm3(top, foot).sum()), float(areas_mm2(beneath).sum())


def _measures(worn: list[Worn]) -> dict[str, float | str]:
    patches = [patch for piece in worn for patch in piece.patches]
    return {
        "max_depth_mm": max((patch.depth_mm for patch in patches), default=0.0),
        "subtractive_area_mm2": sum(patch.area_mm2 for patch in patches),
        "removed_volume_mm3": sum(patch.volume_mm3 for patch in patches),
        "patch_count": len(patches),
        "added_volume_mm3": sum(piece.added_mm3 for piece in worn),
        "covered_area_mm2": sum(piece.covered_mm2 for piece in worn),
        "max_thickness_mm": max(piece.thickest_mm for piece in worn),
        "off_scan_vertices": sum(int(np.isnan(piece.skin.clearance_mm).sum()) for piece in worn),
    }


def _findings(worn: list[Worn], fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    large = [(piece, patch) for piece in worn for patch in piece.patches if _is_large(patch, limits)]
    for piece, patch in sorted(large, key=lambda pair: -pair[1].depth_mm):
        yield _below(piece, patch, fitting, limits)
    for piece in worn:
        small = [patch for patch in piece.patches if not _is_large(patch, limits)]
        if small:
            yield _specks(piece, small, fitting, limits)
    for piece in worn:
        if piece.thickest_mm <= limits.contact_mm:
            yield _nothing_added(piece, fitting, limits)
    yield from base_soundness(fitting)
    for piece in worn:
        yield from soundness(piece.part, piece.skin, fitting)


def _nothing_added(piece: Worn, fitting: Fitting, limits: Limits) -> Finding:
    """Return the finding that a piece stands nowhere over the skin: a copy of the scan is no appliance."""
    name = piece.part.name
    return Finding(
        severity=Severity.REVIEW,
        message=(
            f"{name} adds nothing: it stands nowhere more than {piece.thickest_mm:.3f} mm over the base (what stands "
            f"under {limits.contact_mm:g} mm lies on it). There is nothing here to mould or to measure."
        ),
        place=fitting.place(name, piece.part.vertices_mm.mean(axis=0)),
        value=piece.thickest_mm,
        limit=limits.contact_mm,
        fix=f"sculpt {name}, or give it the role 'ignore' if it is a copy of the scan",
    )


def _is_large(patch: Patch, limits: Limits) -> bool:
    return patch.area_mm2 >= limits.additive_patch_area_mm2


def _below(piece: Worn, patch: Patch, fitting: Fitting, limits: Limits) -> Finding:
    place = fitting.place(piece.part.name, patch.deepest_mm)
    message = (
        f"{piece.part.name} dips {patch.depth_mm:.2f} mm below the base at the {place.region}: {patch.area_mm2:.0f} "
        f"mm² and {patch.volume_mm3:.0f} mm³ of flesh would have to go (tolerance {limits.additive_tolerance_mm:g} mm)."
    )
    fix = f"lift {patch.area_mm2:.0f} mm² of the {place.region} by up to {patch.depth_mm:.1f} mm"
    return _dip(piece, [patch], Severity.FAIL, place, message, fix, limits)


def _specks(piece: Worn, patches: list[Patch], fitting: Fitting, limits: Limits) -> Finding:
    """Return one note for all the patches of a piece that are too small to judge."""
    place = fitting.place(piece.part.name, patches[0].deepest_mm)
    area_mm2 = sum(patch.area_mm2 for patch in patches)
    message = (
        f"{piece.part.name} has {len(patches)} specks under the base, {area_mm2:.2f} mm² together, the deepest "
        f"{patches[0].depth_mm:.2f} mm at the {place.region}: each is smaller than {limits.additive_patch_area_mm2:g} "
        "mm² and is noted, not judged."
    )
    return _dip(piece, patches, Severity.INFO, place, message, f"lift the specks at the {place.region}", limits)


def _dip(
    piece: Worn, patches: list[Patch], severity: Severity, place: Place, message: str, fix: str, limits: Limits
) -> Finding:
    faces = np.concatenate([patch.faces for patch in patches])
    return Finding(
        severity=severity,
        message=message,
        place=place,
        value=patches[0].depth_mm,
        limit=limits.additive_tolerance_mm,
        fix=fix,
        remedy="lift",
        elements=np.unique(piece.skin.over_base_faces[faces]),
    )


def _clearance_field(piece: Worn, limits: Limits) -> Field:
    reach_mm = max(3.0, float(np.nanmax(np.abs(piece.skin.clearance_mm), initial=0.0)))
    return Field(
        name="clearance",
        part=piece.part.name,
        values=piece.skin.clearance_mm,
        unit="mm",
        label="Clearance to the base: above is added, below is flesh removed",
        low=-min(reach_mm, 5.0),
        high=min(reach_mm, 5.0),
        limit=-limits.additive_tolerance_mm,
        diverging=True,
    )


CHECK = Check(
    id="additive",
    question="Is the appliance everywhere outside the base?",
    measure=additive,
    measured=(
        ("max_depth_mm", "greatest depth of the outer skin below the base, where deeper than the tolerance"),
        ("subtractive_area_mm2", "area of outer skin deeper than the tolerance"),
        ("removed_volume_mm3", "volume between those areas and the base"),
        ("patch_count", "connected areas deeper than the tolerance"),
        ("added_volume_mm3", "volume between the outer skin and the base where the skin is outside"),
        ("covered_area_mm2", "area of base under the appliance"),
        ("covered_face_share", "share of the face's skin, before the ears and above the chin, under a piece"),
        ("max_thickness_mm", "greatest clearance of the outer skin"),
        ("off_scan_vertices", "vertices beyond an open border of the scan, which are not judged"),
    ),
    method=(
        "Signed distance of the outer skin to the base: closest point, sign from angle-weighted normals "
        "(Baerentzen & Aanaes 2005, doi 10.1109/TVCG.2005.49). Faces near the tolerance are cut to 1 mm, so detail "
        "of the base inside a large face counts; areas and volumes are integrated over triangles clipped at "
        "the tolerance. For closed shells the inner face is left out; an inside-out piece is turned first."
    ),
    limits=("additive_tolerance_mm", "additive_patch_area_mm2", "contact_mm"),
    blind_spots=(
        "It takes the scan as the performer's skin: hair, a cap, swelling, a changed pose and the scan's own "
        "error are not seen. It measures the rest pose only. How hot it gets under the covered skin is not known: that "
        "takes the room, the work and the hours."
    ),
    leading=(
        LeadingFigure("max_depth_mm", "deepest below the base", "additive_tolerance_mm"),
        LeadingFigure("subtractive_area_mm2", "area below the base"),
        LeadingFigure("max_thickness_mm", "thickest place"),
    ),
    painted=(("clearance", "Height of each piece above the base; below zero flesh would have to go"),),
)
