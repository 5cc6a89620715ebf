"""Is the rim thin enough to blend into the skin, and does the piece grow gently from there?"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry import distance_along
from ...geometry.outer_skin import OuterSkin
from ...geometry.rim import RimSamples, spans, walk_rim, weighted_quantile
from ...geometry.topology import mesh_edges
from ...model.arrays import FloatArray, IntArray
from ...model.brief import Brief
from ...model.finding import Bound, Curve, Field, Finding, Outcome, Place, Severity, not_checked
from ...model.limits import Limits
from ...model.progress import Job, Progress
from ...model.snapshot import Part, Role
from ...performer.fitting import Fitting
from ...performer.rims import RimNames
from ..check import Check, LeadingFigure, PlotLine, Plotted

SAMPLE_MM = 0.5
"""The rim is read at steps of this length and the curve of growth put together in bins of it: a quarter of the shortest
span that is judged (``rim_span_mm``), and finer than the edges of a sculpt's rim, so that nothing is stepped over."""
BRIDGE_MM = 1.0
"""Thick stretches no further apart than two such steps are one: a reading or two under the limit are the mesh's own
unevenness, not an end of the span."""
STEP_BRIDGE_MM = 3.0
"""The width of a blend is known at the rim's vertices only, which stand 1 to 3 mm apart on a sculpt: one of them that
reads wider does not part a step."""
STEP_SPAN_MM = 5.0
"""A step along less rim than this rests on two or three vertices: a nick in the sculpt, which is stippled over when the
edge is laid (common practice, no source). It is not told of."""
BAND_MM = 25.0
"""The curve of growth goes this far in: past the widest blends, 6 to 15 mm, and on to the piece they lead up to."""


@dataclass(frozen=True)
class Feather:
    """How one appliance's thickness starts at its rim and grows inward.

    Attributes
    ----------
    samples, thickness_mm
        Steps along the rim and the thickness at each, ``(s,)``.
    rims
        What the loops of the rim are called.
    inward_mm, grown_mm
        Distance from the rim along the skin and thickness there, for the vertices within the band.
    blend_mm
        For each rim vertex the distance inward at which the blend ends, ``(n,)``; nan elsewhere.
    field_mm
        Thickness at every vertex, ``(n,)``.
    """

    part: Part
    skin: OuterSkin
    samples: RimSamples
    rims: RimNames
    thickness_mm: FloatArray
    inward_mm: FloatArray
    grown_mm: FloatArray
    blend_mm: FloatArray
    field_mm: FloatArray


def edge(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Report rim spans too thick to disappear, and blends too narrow."""
    appliances = fitting.snapshot.with_role(Role.APPLIANCE)
    if not appliances:
        return not_checked("There is no appliance in the design. Give the sculpted pieces the role 'appliance'.")
    feathers = []
    for number, part in enumerate(appliances):
        yield Progress(number, len(appliances), f"rim of {part.name}")
        if len(fitting.skin(part).rim_edges):
            feathers.append(_feather(part, fitting, brief.limits))
    if not feathers:
        return not_checked("No appliance has a rim on the scan: each is closed, or ends beyond the scan's border.")
    return Outcome(
        measures=_measures(feathers, brief.limits),
        findings=tuple(_findings(feathers, fitting, brief.limits)),
        curves={"thickness_by_distance": _growth(feathers)},
        fields=tuple(_thickness_field(feather, brief.limits) for feather in feathers),
        judged=_judged(feathers, brief.limits),
    )


def _judged(feathers: list[Feather], limits: Limits) -> dict[str, Bound | None]:
    """Return what is not asked: the width of a blend, where no piece grows thick enough to end one."""
    width_mm = float(_measures(feathers, limits)["blend_width_median_mm"])
    return {"blend_width_median_mm": None} if np.isnan(width_mm) else {}


def _feather(part: Part, fitting: Fitting, limits: Limits) -> Feather:
    skin = fitting.skin(part)
    samples = walk_rim(skin.vertices_mm, skin.rim_edges, SAMPLE_MM)
    grown_mm = _thickness_mm(skin.vertices_mm, skin.clearance_mm, part, fitting)
    rim = np.unique(skin.rim_edges)
    inward_mm, source = distance_along(skin.vertices_mm, skin.top_faces, rim, BAND_MM)
    at_rim = fitting.base_surface.clearance_mm(samples.points_mm)
    thickness_mm = _thickness_mm(samples.points_mm, at_rim, part, fitting)
    if skin.flows:
        thickness_mm = np.maximum(thickness_mm, _inset_mm(skin, samples, inward_mm, grown_mm, source, rim, limits))
    band = np.isfinite(inward_mm) & np.isfinite(grown_mm)
    return Feather(
        part=part,
        skin=skin,
        samples=samples,
        rims=RimNames.of(skin, samples, fitting.snapshot.landmarks),
        thickness_mm=thickness_mm,
        inward_mm=inward_mm[band],
        grown_mm=grown_mm[band],
        blend_mm=_blend_widths_mm(skin, inward_mm, grown_mm, source, rim, limits.blend_thickness_mm),
        field_mm=grown_mm,
    )


def _thickness_mm(points_mm: FloatArray, clearance_mm: FloatArray, part: Part, fitting: Fitting) -> FloatArray:
    """Return the height of points above whatever lies beneath: the base, or another appliance they overlap."""
    thickness = np.maximum(clearance_mm, 0.0)
    for other in fitting.snapshot.with_role(Role.APPLIANCE):
        if other.name == part.name:
            continue
        low, high = other.vertices_mm.min(axis=0), other.vertices_mm.max(axis=0)
        near = np.flatnonzero(((points_mm >= low - 1.0) & (points_mm <= high + 1.0)).all(axis=1) & (thickness > 0.0))
        if len(near):
            height = fitting.surface(other).closest(points_mm[near]).distance_mm
            thickness[near] = np.fmin(thickness[near], height)
    return thickness


def _inset_mm(
    skin: OuterSkin,
    samples: RimSamples,
    inward_mm: FloatArray,
    grown_mm: FloatArray,
    source: IntArray,
    rim: IntArray,
    limits: Limits,
) -> FloatArray:
    """Return the thickness ``(s,)`` a little inside the contour where a sculpt leaves the base.

    At the contour itself the thickness is the contact distance by definition, so a step shows only inside it.
    """
    level = _crossing_values(skin.top_faces, inward_mm, grown_mm, source, limits.rim_inset_mm)
    by_vertex = np.full(len(skin.vertices_mm), np.nan)
    by_vertex[rim[level[0]]] = level[1]
    return np.nan_to_num(np.fmax(by_vertex[samples.edge[:, 0]], by_vertex[samples.edge[:, 1]]), nan=0.0)


def _crossing_values(
    faces: IntArray, along: FloatArray, values: FloatArray, source: IntArray, level: float
) -> tuple[IntArray, FloatArray]:
    """Return, per rim source, the smallest interpolated ``values`` where ``along`` crosses ``level`` on an edge."""
    low, high = mesh_edges(faces).ends.T
    swap = along[low] > along[high]
    low, high = np.where(swap, high, low), np.where(swap, low, high)
    crossing = (along[low] < level) & (along[high] >= level) & np.isfinite(along[high]) & (source[low] >= 0)
    crossing &= np.isfinite(values[low]) & np.isfinite(values[high])
    low, high = low[crossing], high[crossing]
    share = (level - along[low]) / (along[high] - along[low])
    at_level = values[low] + share * (values[high] - values[low])
    smallest = np.full(source.max(initial=-1) + 1, np.inf)
    np.minimum.at(smallest, source[low], at_level)
    found = np.flatnonzero(np.isfinite(smallest))
    return found, smallest[found]


def _blend_widths_mm(
    skin: OuterSkin, inward_mm: FloatArray, grown_mm: FloatArray, source: IntArray, rim: IntArray, thick_mm: float
) -> FloatArray:
    """Return for each vertex ``(n,)`` of the rim how far inward the blend thickness is reached; nan elsewhere."""
    grown = np.where(np.isfinite(inward_mm) & np.isfinite(grown_mm), grown_mm, np.inf)
    owner, width_mm = _crossing_values(skin.top_faces, grown, inward_mm, source, thick_mm)
    by_vertex = np.full(len(skin.vertices_mm), np.nan)
    by_vertex[rim[owner]] = width_mm
    return by_vertex


def _measures(feathers: list[Feather], limits: Limits) -> dict[str, float | str]:
    thickness = np.concatenate([feather.thickness_mm for feather in feathers])
    lengths = np.concatenate([feather.samples.lengths_mm for feather in feathers])
    blends = np.concatenate([feather.blend_mm[np.isfinite(feather.blend_mm)] for feather in feathers])
    over = float(lengths[thickness > limits.rim_thickness_mm].sum())
    return {
        "rim_length_mm": float(lengths.sum()),
        "rim_thickness_median_mm": weighted_quantile(thickness, lengths, 0.5),
        "rim_thickness_p95_mm": weighted_quantile(thickness, lengths, 0.95),
        "rim_over_limit_mm": over,
        "rim_over_limit_fraction": over / float(lengths.sum()),
        "blend_width_median_mm": float(np.median(blends)) if len(blends) else float("nan"),
        "rim_thickness_max_mm": float(thickness.max()),
    }


def _findings(feathers: list[Feather], fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    found: list[Finding] = []
    for feather in feathers:
        found.extend(_thick_spans(feather, fitting, limits))
        found.extend(_doubtful_rim(feather, fitting, limits))
        found.extend(_steps(feather, fitting, limits))
        found.extend(_narrow_blend(feather, fitting, limits))
    yield from sorted(found, key=lambda finding: (finding.severity.rank, -len(finding.elements)))


def _thick_spans(feather: Feather, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield each span over the limit; spans too short to judge are told of together."""
    short = []
    for run in spans(feather.thickness_mm > limits.rim_thickness_mm, feather.samples, BRIDGE_MM):
        if _length_mm(feather, run) < limits.rim_span_mm:
            short.append(run)
        else:
            yield _thick(feather, run, 1, Severity.FAIL, limits.rim_thickness_mm, fitting)
    if short:
        yield _thick(feather, np.concatenate(short), len(short), Severity.INFO, limits.rim_thickness_mm, fitting)


def _doubtful_rim(feather: Feather, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all of a piece's rim between the two limits."""
    between = (feather.thickness_mm > limits.rim_thickness_review_mm) & (
        feather.thickness_mm <= limits.rim_thickness_mm
    )
    runs = [run for run in spans(between, feather.samples, BRIDGE_MM) if _length_mm(feather, run) >= limits.rim_span_mm]
    if runs:
        every = np.concatenate(runs)
        yield _thick(feather, every, len(runs), Severity.REVIEW, limits.rim_thickness_review_mm, fitting)


def _length_mm(feather: Feather, run: IntArray) -> float:
    return float(feather.samples.lengths_mm[run].sum())


def _place(feather: Feather, run: IntArray, at_mm: FloatArray, fitting: Fitting) -> Place:
    """Return the place of a stretch of rim, named by the opening it runs round or by where it is."""
    return fitting.place(feather.part.name, at_mm, feather.rims.region(feather.samples, run, fitting.regions))


def _thick(
    feather: Feather, run: IntArray, count: int, severity: Severity, limit_mm: float, fitting: Fitting
) -> Finding:
    length_mm = _length_mm(feather, run)
    worst = run[feather.thickness_mm[run].argmax()]
    at_mm, thickest = feather.samples.points_mm[worst], float(feather.thickness_mm[worst])
    place = _place(feather, run, at_mm, fitting)
    stretches = "" if count == 1 else f" in {count} stretches, the worst"
    return Finding(
        severity=severity,
        message=(
            f"The rim of {feather.part.name} is up to {thickest:.2f} mm thick over {length_mm:.0f} mm{stretches} "
            f"at the {place.region} (limit {limit_mm:g} mm)."
        ),
        place=place,
        value=thickest,
        limit=limit_mm,
        fix=(
            f"feather {length_mm:.0f} mm of rim at the {place.region} from {thickest:.2f} mm to {limit_mm:g} mm or less"
        ),
        remedy="feather",
        elements=np.unique(feather.samples.edge[run]),
    )


def _steps(feather: Feather, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield each span where a rim that starts thin rises so fast that it is a step."""
    width_mm = np.fmin(feather.blend_mm[feather.samples.edge[:, 0]], feather.blend_mm[feather.samples.edge[:, 1]])
    step = (width_mm < limits.blend_step_mm) & (feather.thickness_mm <= limits.rim_thickness_mm)
    for run in spans(step, feather.samples, STEP_BRIDGE_MM):
        if _length_mm(feather, run) >= STEP_SPAN_MM:
            yield _rise(feather, run, float(np.median(width_mm[run])), Severity.FAIL, limits.blend_step_mm, fitting)


def _narrow_blend(feather: Feather, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    known = feather.blend_mm[np.isfinite(feather.blend_mm)]
    width_mm = float(np.median(known)) if len(known) else float("inf")
    if limits.blend_step_mm <= width_mm < limits.blend_width_mm:
        every = np.arange(len(feather.thickness_mm))
        yield _rise(feather, every, width_mm, Severity.REVIEW, limits.blend_width_mm, fitting)


def _rise(
    feather: Feather, run: IntArray, width_mm: float, severity: Severity, limit_mm: float, fitting: Fitting
) -> Finding:
    at_mm = feather.samples.points_mm[run[len(run) // 2]]
    place = _place(feather, run, at_mm, fitting)
    blend_mm = fitting.brief.limits.blend_thickness_mm
    return Finding(
        severity=severity,
        message=(
            f"{feather.part.name} rises to {blend_mm:g} mm within {width_mm:.1f} mm of its rim, over "
            f"{_length_mm(feather, run):.0f} mm of rim at the {place.region} (limit {limit_mm:g} mm)."
        ),
        place=place,
        value=width_mm,
        limit=limit_mm,
        fix=f"spread the rise to {blend_mm:g} mm over {fitting.brief.limits.blend_width_mm:g} mm from the rim",
        remedy="feather",
        elements=np.unique(feather.samples.edge[run]),
    )


def _growth(feathers: list[Feather]) -> Curve:
    """Return the median thickness by distance from the rim, in steps of half a millimetre."""
    inward = np.concatenate([feather.inward_mm for feather in feathers])
    grown = np.concatenate([feather.grown_mm for feather in feathers])
    place = np.round(inward / SAMPLE_MM).astype(np.int64)
    order = np.argsort(place, kind="stable")
    steps, first = np.unique(place[order], return_index=True)
    medians = [float(np.median(group)) for group in np.split(grown[order], first[1:])]
    return Curve(
        x=tuple(float(step) * SAMPLE_MM for step in steps),
        y=tuple(medians),
        x_label="distance from the rim along the skin, mm",
        y_label="median thickness, mm",
    )


def _thickness_field(feather: Feather, limits: Limits) -> Field:
    outer = np.zeros(len(feather.field_mm), dtype=bool)
    outer[feather.skin.outer_faces] = True
    return Field(
        name="thickness",
        part=feather.part.name,
        values=np.where(outer, feather.field_mm, np.nan),
        unit="mm",
        label="Thickness above the skin beneath",
        low=0.0,
        high=max(1.0, limits.blend_thickness_mm),
        limit=limits.rim_thickness_mm,
    )


CHECK = Check(
    id="edge",
    question="Is the rim thin enough to blend?",
    measure=edge,
    measured=(
        ("rim_length_mm", "length of rim on the scan"),
        ("rim_thickness_median_mm", "thickness that half of the rim stays under"),
        ("rim_thickness_p95_mm", "thickness that 95 % of the rim stays under"),
        ("rim_thickness_max_mm", "greatest thickness at the rim"),
        ("rim_over_limit_mm", "length of rim thicker than the limit"),
        ("rim_over_limit_fraction", "the same as a share of the rim, 0 to 1"),
        (
            "blend_width_median_mm",
            "distance inward at which half of the rim has grown to the blend thickness",
        ),
    ),
    method=(
        "The rim is the border of the outer skin: the border loop of an open skin, the line between outer and inner "
        "face of a closed shell, or the contour where a full-head sculpt leaves the base. Faces steeper than 45 "
        "degrees that are joined to the rim are a cut edge; the rim is then its upper line. Thickness is "
        "the height above the base, or above another appliance that the rim lies on, every 0.5 mm. Distance inward is "
        "measured along the skin by fast marching (Kimmel & Sethian 1998, doi 10.1073/pnas.95.15.8431)."
    ),
    limits=(
        "rim_thickness_mm",
        "rim_thickness_review_mm",
        "rim_span_mm",
        "rim_inset_mm",
        "blend_thickness_mm",
        "blend_width_mm",
        "blend_step_mm",
        "contact_mm",
    ),
    blind_spots=(
        "It sees the sculpt, not the casting: flash, shrinkage and how the edge is dissolved on the day are the "
        "shop's. Edges beyond the scan's border are not judged."
    ),
    leading=(
        LeadingFigure("rim_thickness_p95_mm", "rim thickness, 95 % is under", "rim_thickness_mm"),
        LeadingFigure("rim_over_limit_mm", "length of rim over the limit"),
        LeadingFigure("blend_width_median_mm", "width of the blend, median", "blend_width_mm", at_least=True),
    ),
    plots=(
        Plotted(
            "thickness_by_distance",
            "Thickness from the rim inward",
            (
                PlotLine("y", "rim_thickness_mm", "edge limit"),
                PlotLine("x", "blend_width_mm", "blend should reach here"),
            ),
            compared=True,
        ),
    ),
    painted=(("thickness", "Thickness above the skin beneath, from the rim inward"),),
)
