"""Does the appliance survive the face moving?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...geometry.rim import spans, weighted_quantile
from ...model.arrays import BoolArray, FloatArray
from ...model.brief import Brief
from ...model.finding import Curve, Field, Finding, Outcome, Severity, not_checked
from ...model.limits import Limits
from ...model.materials import FOAM, SKINNED, SOLID
from ...model.progress import Job
from ...model.snapshot import Role
from ...performer.fitting import Fitting
from ..check import Check, LeadingFigure, Plotted
from .stretching import Pose, Stretched, by_motion, stretched_pieces
from .tearing import patches, tearing_bounds, tearing_findings, tearing_measures, torn, unjudged_glue

RIM_BRIDGE_MM = 2.0
NOTED_SHARE = 0.25
"""Folds smaller than this share of the limit are not worth a word."""
AS_MUCH = 0.1
"""A piece that is squeezed by no more of its length than this beyond the skin beneath it only goes along with that."""


Creases = Mapping[str, float]
"""Part name -> the stretch below which it creases while it keeps its length across; 0 where that is not known."""


@dataclass(frozen=True)
class Allowance:
    """What one piece's material allows: lengthening as a fraction at which it breaks, or why that is not known."""

    strain: float
    why_not: str = ""


@dataclass(frozen=True)
class Endured:
    """What a piece's stretching comes to.

    Attributes
    ----------
    findings
        What is found on it, its tearing left out.
    painted
        Its stretch and its squeeze.
    worst
        Largest stretch of each triangle over all poses, ``(m,)``; -inf for slivers.
    most
        Largest stretch of any triangle at each pose, ``(p,)``, at least 1.
    least
        Smallest stretch of any triangle at any pose, at most 1.
    folded_mm2
        Area of its outer skin that creases at each pose, ``(p,)``.
    moving_rim_mm
        Length of its rim on skin that moves.
    rim_strain
        Largest lengthening or shortening of skin under its rim.
    """

    findings: tuple[Finding, ...]
    painted: tuple[Field, Field]
    worst: FloatArray
    most: FloatArray
    least: float
    folded_mm2: FloatArray
    moving_rim_mm: float
    rim_strain: float


def strain(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Report where appliances stretch or fold more than their material bears, and edges on moving skin.

    Stretch is length now over length at rest: 1 is unchanged, 1.5 is half as long again.
    """
    if not fitting.snapshot.with_role(Role.APPLIANCE):
        return not_checked("There is no appliance in the design. Give the sculpted pieces the role 'appliance'.")
    if not fitting.motion_names:
        return not_checked("There is no motion. Name shape keys or a hinge under [motions.jaw] in the brief.")
    pieces, left_out = yield from stretched_pieces(fitting)
    if not pieces:
        return not_checked("No motion could be posed: " + "; ".join(left_out) + ".")
    allowed = {piece.part.name: allowance(piece, brief) for piece in pieces}
    creases = {piece.part.name: crease_stretch(piece.part.material, brief) for piece in pieces}
    of, alone = fitting.kept.of, fitting.alone
    tearing = (of(torn, piece, alone(piece.part), brief) for piece in pieces)
    judged = [each for each in tearing if each is not None]
    parted = tearing_measures(judged, len(judged) == len(pieces), brief.limits)
    torn_at = [finding for each in judged for finding in tearing_findings(each, fitting, brief.limits)]
    endured = [
        of(_endured, piece, allowed[name], creases[name], alone(piece.part), brief.limits)
        for name, piece in zip(allowed, pieces, strict=True)
    ]
    found = _findings(endured, torn_at, left_out, fitting)
    return Outcome(
        measures=_measures(pieces, endured) | parted,
        findings=tuple(found),
        curves=dict(_curves(pieces[0].poses, endured)),
        fields=tuple(_fields([each.painted for each in endured], found, brief.limits)),
        reason=" ".join(filter(None, (_reason(allowed), unjudged_glue(judged)))),
        judged=tearing_bounds(brief.limits),
    )


def _endured(piece: Stretched, allowed: Allowance, crease: float, fitting: Fitting, limits: Limits) -> Endured:
    creases = {piece.part.name: crease}
    return Endured(
        findings=tuple(_of_piece(piece, allowed, creases, fitting, limits)),
        painted=(_field(piece, allowed, limits), _squeeze_field(piece, crease)),
        worst=_over_poses(piece.largest, -np.inf, np.fmax),
        most=np.nanmax(piece.largest, axis=1, initial=1.0),
        least=float(np.nanmin(piece.smallest, initial=1.0)),
        folded_mm2=_creased(piece, creases) @ piece.areas_mm2,
        moving_rim_mm=float(piece.rim.lengths_mm[_on_moving_skin(piece, limits)].sum()),
        rim_strain=float(np.nanmax(piece.rim_strain, initial=0.0)),
    )


def allowance(piece: Stretched, brief: Brief) -> Allowance:
    """Return the strain at which a piece breaks, from its material in the brief."""
    name = piece.part.material
    if not name:
        return Allowance(np.nan, 'it names no material (set object["dryfit_material"])')
    if name not in brief.materials:
        return Allowance(np.nan, f"the brief has no material '{name}'")
    if brief.materials[name].max_strain <= 0.0:
        return Allowance(np.nan, f"the material '{name}' states no max_strain")
    return Allowance(brief.materials[name].breaks_at)


def crease_stretch(material: str, brief: Brief) -> float:
    """Return the stretch below which a piece creases while it keeps its length across: by the make of its material.

    0 for a foam: it gives in volume, and what is known of creases is about solids that do not.
    """
    make = brief.materials[material].make if material in brief.materials else SOLID
    return {SOLID: brief.limits.buckle_stretch, SKINNED: brief.limits.skinned_buckle_stretch, FOAM: 0.0}[make]


def plane_strain_stretch(smallest: FloatArray, largest: FloatArray) -> FloatArray:
    """Return the stretch that squeezes a surface as hard while it keeps its length across.

    A neo-Hookean solid creases at one ratio of the stretch out of the surface to the smallest one in it. It keeps its
    volume, so that ratio is ``1 / (smallest ** 2 * largest)``, and ``smallest * sqrt(largest)`` stands for it: 0.65 is
    reached at 0.65 in plane strain, at 0.75 when both stretches are the same, at 0.56 when squeezed one way alone.

    Examples
    --------
    >>> squeezed = np.array([0.65, 0.75, 0.563])
    >>> plane_strain_stretch(squeezed, np.array([1.0, 0.75, 0.563 ** -0.5])).round(2)
    array([0.65, 0.65, 0.65])
    """
    return np.asarray(smallest * np.sqrt(largest))


def _reason(allowed: Mapping[str, Allowance]) -> str:
    words = "; ".join(f"{name}: {one.why_not}" for name, one in allowed.items() if one.why_not)
    return f"Stretch was measured but not judged on every piece ({words})." if words else ""


def _measures(pieces: Sequence[Stretched], endured: Sequence[Endured]) -> dict[str, float | str]:
    worst = np.concatenate([each.worst for each in endured])
    sizes = np.concatenate([piece.areas_mm2 for piece in pieces])
    read = np.isfinite(worst)
    return {
        "max_stretch": float(worst[read].max(initial=1.0)),
        "stretch_p99": weighted_quantile(worst[read], sizes[read], 0.99),
        "min_stretch": min(each.least for each in endured),
        "compressed_area_mm2": float(np.sum([each.folded_mm2 for each in endured], axis=0).max()),
        "rim_in_motion_mm": sum(each.moving_rim_mm for each in endured),
        "max_rim_skin_strain": max(each.rim_strain for each in endured),
        "poses": len(pieces[0].poses),
        "slivers_not_read": sum(piece.slivers for piece in pieces),
    }


def _over_poses(values: FloatArray, start: float, pick: np.ufunc) -> FloatArray:
    over: FloatArray = pick.reduce(values, axis=0)
    return np.where(np.isnan(over), start, over)


def _creased(piece: Stretched, creases: Creases) -> BoolArray:
    """Return where the outer skin is squeezed so far that a piece of this make creases, ``(p, m)``."""
    crease, poses = creases[piece.part.name], zip(piece.smallest, piece.largest, strict=True)
    return np.stack([(plane_strain_stretch(*pose) < crease) & piece.outer for pose in poses])


def _on_moving_skin(piece: Stretched, limits: Limits) -> BoolArray:
    longer = piece.rim_longer > limits.rim_skin_strain
    return np.asarray((longer | (piece.rim_shorter > limits.rim_skin_shortening)).any(axis=0))


def _squeezed(piece: Stretched, creases: Creases, limits: Limits) -> tuple[BoolArray, BoolArray]:
    """Return where the outer skin is squeezed so far that it folds, ``(p, m)``: by the piece, and by the bare skin.

    Skin that folds takes a thin piece along; a thick one makes folds of its own.
    """
    folded, thin = _creased(piece, creases), piece.thickness_mm <= limits.mobile_thickness_review_mm
    goes_along = [
        thin & (skin < limits.buckle_stretch) & (own >= skin - AS_MUCH)
        for own, skin in zip(piece.smallest, piece.skin_smallest, strict=True)
    ]
    return folded & ~np.stack(goes_along), folded & np.stack(goes_along)


def _findings(
    endured: Sequence[Endured], torn_at: list[Finding], left_out: tuple[str, ...], fitting: Fitting
) -> list[Finding]:
    found = list(torn_at)
    for each in endured:
        found.extend(each.findings)
    found.extend(_unposed(fitting, words) for words in left_out)
    return sorted(found, key=lambda finding: (finding.severity.rank, -finding.value))


def _of_piece(
    piece: Stretched, allowed: Allowance, creases: Creases, fitting: Fitting, limits: Limits
) -> Iterator[Finding]:
    yield from _folded(piece, creases, fitting, limits)
    yield from _moving_rim(piece, fitting, limits)
    yield from _own_folds(piece, creases, fitting, limits)
    yield from _foam(piece, creases, fitting, limits)
    yield from _unjudged(piece, allowed, fitting)


def _folded(piece: Stretched, creases: Creases, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    added, _ = _squeezed(piece, creases, limits)
    least = np.ones(len(piece.faces))
    for here, own in zip(added, piece.smallest, strict=True):
        least = np.fmin(least, np.where(here, own, 1.0))
    for patch in patches(np.asarray(added.any(axis=0)), piece.faces):
        area = float(piece.areas_mm2[patch].sum())
        if area < NOTED_SHARE * limits.buckle_area_mm2:
            continue
        face = patch[least[patch].argmin()]
        at_mm = piece.part.vertices_mm[piece.faces[face]].mean(axis=0)
        place = fitting.place(piece.part.name, at_mm)
        yield Finding(
            severity=Severity.REVIEW if area >= limits.buckle_area_mm2 else Severity.INFO,
            message=(
                f"{piece.part.name} is squeezed to {100 * least[face]:.0f} % of its length at the {place.region} in "
                f"{piece.most_folded_pose(patch)}: {area:.0f} mm² will buckle or crease "
                f"(limit {100 * creases[piece.part.name]:.0f} % while it keeps its length across, over "
                f"{limits.buckle_area_mm2:g} mm²)."
            ),
            place=place,
            value=area,
            limit=limits.buckle_area_mm2,
            unit="mm2",
            fix=f"thin the piece at the {place.region} or lead a crease of its own along the fold",
            kind="faces",
            elements=piece.face_ids[patch],
        )


def _own_folds(piece: Stretched, creases: Creases, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield the one note on where a piece and its edge lie on skin that folds by itself."""
    _, own = _squeezed(piece, creases, limits)
    area = float((own @ piece.areas_mm2).max())
    shortened = np.asarray((piece.rim_shorter > limits.rim_skin_shortening).any(axis=0))
    edge_mm = float(piece.rim.lengths_mm[shortened].sum())
    if edge_mm and not area and edge_mm >= NOTED_SHARE * limits.rim_motion_span_mm:
        yield _edge_on_folds(piece, shortened, edge_mm, fitting, limits)
    worth_a_word = area >= NOTED_SHARE * limits.buckle_area_mm2 or edge_mm >= NOTED_SHARE * limits.rim_motion_span_mm
    if not (area and worth_a_word):
        return
    least = np.where(own, piece.smallest, 1.0)
    pose, face = np.unravel_index(least.argmin(), least.shape)
    place = fitting.place(piece.part.name, piece.part.vertices_mm[piece.faces[face]].mean(axis=0))
    edge = f", and {edge_mm:.1f} mm of its edge on skin that shortens by more" if edge_mm > 0.0 else ""
    yield Finding(
        severity=Severity.INFO,
        message=(
            f"{piece.part.name} lies on skin that folds by itself, squeezed to {100 * least[pose, face]:.0f} % at the "
            f"{place.region} in {piece.poses[pose]}: {area:.0f} mm² of it{edge}. The bare face does so without it, and "
            f"a piece up to {limits.mobile_thickness_review_mm:g} mm thick goes along; only what the design adds was "
            "judged."
        ),
        place=place,
        value=area,
        unit="mm2",
        kind="faces",
        elements=piece.face_ids[own.any(axis=0)],
    )


def _edge_on_folds(piece: Stretched, shortened: BoolArray, edge_mm: float, fitting: Fitting, limits: Limits) -> Finding:
    step = int(np.flatnonzero(shortened)[np.nanmax(piece.rim_shorter[:, shortened], axis=0).argmax()])
    place = fitting.place(piece.part.name, piece.rim.points_mm[step])
    return Finding(
        severity=Severity.INFO,
        message=(
            f"{edge_mm:.1f} mm of {piece.part.name}'s edge lie on skin that shortens by over "
            f"{100 * limits.rim_skin_shortening:.0f} %, most at the {place.region}, and folds with it. The bare "
            "face does so by itself, so that was not judged."
        ),
        place=place,
        value=edge_mm,
        elements=np.unique(piece.rim.edge[shortened]),
    )


def _foam(piece: Stretched, creases: Creases, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield a note where a foam is squeezed as far as a solid would crease: what it does then is not known."""
    if creases[piece.part.name] > 0.0:
        return
    squeezed = _creased(piece, {piece.part.name: limits.buckle_stretch})
    area = float((squeezed @ piece.areas_mm2).max())
    if not area or area < NOTED_SHARE * limits.buckle_area_mm2:
        return
    least = np.where(squeezed, piece.smallest, 1.0)
    pose, face = np.unravel_index(least.argmin(), least.shape)
    place = fitting.place(piece.part.name, piece.part.vertices_mm[piece.faces[face]].mean(axis=0))
    yield Finding(
        severity=Severity.INFO,
        message=(
            f"{piece.part.name} is a foam squeezed to {100 * least[pose, face]:.0f} % at the {place.region} "
            f"in {piece.poses[pose]}, {area:.0f} mm² of it as far as solid rubber would crease. A foam gives in "
            "volume, so that was not judged: squeeze a cast sample."
        ),
        place=place,
        value=area,
        unit="mm2",
        kind="faces",
        elements=piece.face_ids[squeezed.any(axis=0)],
    )


def _moving_rim(piece: Stretched, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    rim, longer = piece.rim, piece.rim_longer
    for span in spans(np.asarray((longer > limits.rim_skin_strain).any(axis=0)), rim, RIM_BRIDGE_MM):
        length = float(rim.lengths_mm[span].sum())
        pose, step = np.unravel_index(np.nanargmax(longer[:, span]), (len(piece.poses), len(span)))
        strain_here = float(longer[pose, span[step]])
        at_mm = rim.points_mm[span[step]]
        place = fitting.place(piece.part.name, at_mm)
        yield Finding(
            severity=Severity.REVIEW if length >= limits.rim_motion_span_mm else Severity.INFO,
            message=(
                f"{length:.1f} mm of {piece.part.name}'s edge at the {place.region} lie on skin that lengthens "
                f"by up to {100 * strain_here:.0f} % in {piece.poses[pose]} "
                f"(limit {100 * limits.rim_skin_strain:.0f} % over {limits.rim_motion_span_mm:g} mm)."
            ),
            place=place,
            value=length,
            limit=limits.rim_motion_span_mm,
            fix=f"move the edge at the {place.region} off the moving skin",
            elements=np.unique(rim.edge[span]),
        )


def _unjudged(piece: Stretched, allowed: Allowance, fitting: Fitting) -> Iterator[Finding]:
    if not allowed.why_not:
        return
    most = float(np.nanmax(piece.largest, initial=1.0))
    middle = piece.part.vertices_mm.mean(axis=0)
    yield Finding(
        severity=Severity.INFO,
        message=(
            f"The stretch of {piece.part.name}, up to {100 * (most - 1.0):.0f} %, was not judged: {allowed.why_not}."
        ),
        place=fitting.place(piece.part.name, middle),
        value=most - 1.0,
        unit="fraction of length",
        fix="name a material with max_strain for it",
    )


def _unposed(fitting: Fitting, words: str) -> Finding:
    return Finding(
        severity=Severity.REVIEW,
        message=f"A motion was not looked at: {words}.",
        place=fitting.place(fitting.base.name, fitting.base.vertices_mm.mean(axis=0), ""),
        value=float("nan"),
        unit="",
    )


def _curves(poses: Sequence[Pose], endured: Sequence[Endured]) -> Iterator[tuple[str, Curve]]:
    for name, rows in by_motion(poses):
        most = np.max([each.most[rows] for each in endured], axis=0)
        t = [poses[row].t for row in rows]
        if t[0] > 0.0:
            t, most = [0.0, *t], np.concatenate([[1.0], most])
        label = "largest stretch, length now / length at rest"
        yield f"stretch_by_t_{name}", Curve(tuple(t), tuple(most.tolist()), f"{name}, t", label)


def _fields(painted: Sequence[tuple[Field, Field]], found: Sequence[Finding], limits: Limits) -> Iterator[Field]:
    """Yield stretch and squeeze of every piece; what decided is shown, stretch where nothing counts."""
    counting = [finding for finding in found if finding.severity != Severity.INFO]
    squeezed = bool(counting) and counting[0].unit == "mm2" and counting[0].limit == limits.buckle_area_mm2
    for stretch, squeeze in painted:
        yield replace(stretch, decided=not squeezed)
        yield replace(squeeze, decided=squeezed)


def _squeeze_field(piece: Stretched, crease: float) -> Field:
    """Return how far the outer skin is squeezed, held against where its material creases: as the findings are."""
    least, at_pose = np.full(len(piece.faces), np.nan), []
    for smallest, largest in zip(piece.smallest, piece.largest, strict=True):
        left = np.where(piece.outer, plane_strain_stretch(smallest, largest), np.nan)
        least = np.fmin(least, left)
        at_pose.append(float(np.fmin.reduce(left, initial=np.inf)))
    lost = 1.0 - np.where(np.isnan(least), 1.0, least)
    values = np.zeros(len(piece.part.vertices_mm))
    np.maximum.at(values, piece.faces.ravel(), np.repeat(lost, 3))
    pose = piece.poses[int(np.argmin(at_pose))]
    return Field(
        name="squeeze",
        part=piece.part.name,
        values=values,
        unit="of its length",
        label="Largest squeeze over all motions, as a share of the length at rest",
        low=0.0,
        high=max(1.0 - crease if crease > 0.0 else 0.5, float(np.percentile(values, 99.5))),
        limit=1.0 - crease if crease > 0.0 else np.nan,
        motion=pose.motion,
        t=pose.t,
    )


def _field(piece: Stretched, allowed: Allowance, limits: Limits) -> Field:
    worst = _over_poses(piece.largest, 1.0, np.fmax)
    values = np.ones(len(piece.part.vertices_mm))
    np.maximum.at(values, piece.faces.ravel(), np.repeat(worst, 3))
    pose = piece.worst_pose(np.arange(len(piece.faces)))
    limit = 1.0 + limits.strain_review_share * allowed.strain
    return Field(
        name="stretch",
        part=piece.part.name,
        values=values,
        unit="length / length at rest",
        label="Largest stretch over all motions",
        low=1.0,
        high=max(1.5, limit if np.isfinite(limit) else 1.5, float(np.percentile(values, 99.5))),
        limit=limit,
        motion=pose.motion,
        t=pose.t,
    )


CHECK = Check(
    id="strain",
    question="Does the appliance survive the face moving?",
    measure=strain,
    measured=(
        ("max_stretch", "greatest length now over length at rest, any triangle, any pose"),
        ("stretch_p99", "stretch that 99 % of the appliances' area stays under in every pose"),
        ("min_stretch", "smallest length now over length at rest"),
        ("edge_strain_share", "lengthening of edges over at least 4 mm2, as a share of what the material breaks at"),
        ("bulk_strain_share", "the same away from edges"),
        ("glue_line_j_m2", "energy that a piece gives back where it lets go, over at least 4 mm2 of its skin"),
        ("compressed_area_mm2", "outer skin squeezed so far that a piece of its make creases, at the worst pose"),
        (
            "rim_in_motion_mm",
            "rim on skin that lengthens by more than rim_skin_strain or shortens by more than rim_skin_shortening",
        ),
        ("max_rim_skin_strain", "greatest lengthening or shortening of the skin under a rim, fraction"),
        ("poses", "poses looked at"),
        ("slivers_not_read", "triangles less high than 0.05 mm, left out"),
    ),
    method=(
        "Every motion is posed at t = 0 (where that is not rest), 0.25, 0.5, 0.75 and 1; pieces without keys ride the "
        "skin beneath them. The jaw's ways forward and to the sides are among the motions where the brief names them, "
        "as in [motions.laterotrusion_left] with excursion = {}; protrusion, laterotrusion_left and "
        "laterotrusion_right need no shape keys, only the landmarks of a hinge. Principal stretches are the singular "
        "values of each triangle's deformation gradient (Ogden 1984, Non-linear Elastic Deformations, 2.2). "
        "Lengthening is held against the stretch at which the material breaks, of an encapsulated piece the weaker of "
        "core and skin, more strictly within edge_band_mm of the rim, where nicks start tears. The glue line is held "
        "by energy: a film that is stretched stores E t / 6 (a2 + b2 + 1 / (a2 b2) - 3) for each area, a and b its "
        "stretches, E t stiffness times thickness with both skins counted, and peels itself off where that exceeds "
        "what the bond takes to part (Kendall 1975, J Phys D 8:1449-1452, from memory). Shortening is held "
        "against the strain at which a "
        "surface creases, by both principal stretches: smallest times the root of largest stands for the smallest in "
        "plane strain (a neo-Hookean solid creases at one ratio of the stretches; 35.6 % in plane "
        "strain, arXiv 1904.09337, "
        "2019; it keeps its volume): 0.65 for a solid, sooner under a stiffer skin, not judged for a foam. It counts "
        "where the piece is squeezed further than the bare skin beneath it or is thicker than "
        "mobile_thickness_review_mm: skin that folds by itself takes a thin piece along, and that is noted once. Under "
        "the rim the base's own triangles are read: skin that lengthens works an edge loose, skin that moves without "
        "changing length carries it along."
    ),
    moves=True,
    limits=(
        "strain_review_share",
        "strain_share",
        "strain_patch_area_mm2",
        "edge_strain_share",
        "edge_band_mm",
        "glue_line_j_m2",
        "buckle_stretch",
        "skinned_buckle_stretch",
        "buckle_area_mm2",
        "mobile_thickness_review_mm",
        "rim_skin_strain",
        "rim_skin_shortening",
        "rim_motion_span_mm",
    ),
    blind_spots=(
        "A piece is taken to follow the skin wholly: its stiffness, its slip, the adhesive and how it spreads stretch "
        "over its thickness are not modelled, so a thick or stiff piece stretches less than said, holds the skin back "
        "instead, and pulls less at its glue than said. How strong this glue is on this skin, and sweat, are not "
        "known. Removing it is not seen, nor is the neck unless a motion of the brief bends it. Tearing from a nick, "
        "wear over hours, and movements that no motion shows are not seen. Motions are followed to their ends, also "
        "where lids or lips already overlap there."
    ),
    caution=(
        "Adhesives and removers can injure skin: patch-test, follow the maker's instructions, and stop when the "
        "performer says so. A pass here is no clearance."
    ),
    material_figures=("max_strain", "stiffness_kpa", "skin_mm", "skin_stiffness_kpa", "skin_max_strain"),
    leading=(
        LeadingFigure("max_stretch", "largest stretch, times the length at rest"),
        LeadingFigure("edge_strain_share", "edge's stretch, of what breaks it", "edge_strain_share"),
        LeadingFigure("bulk_strain_share", "bulk's stretch, of what breaks it", "strain_review_share"),
        LeadingFigure("glue_line_j_m2", "pull on the glue line", "glue_line_j_m2"),
        LeadingFigure("stretch_p99", "stretch that 99 % of the area stays under"),
        LeadingFigure("rim_in_motion_mm", "length of rim on moving skin"),
    ),
    plots=(Plotted("stretch_by_t", "Largest stretch in each motion"),),
    painted=(
        ("stretch", "How far the piece is stretched when the face moves"),
        ("squeeze", "How far the piece is squeezed when the face moves, as a share of its length"),
    ),
)
