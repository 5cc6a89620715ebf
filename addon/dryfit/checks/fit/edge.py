"""Is the rim thin enough to blend into the skin, and does the piece grow gently from there?"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from ...geometry import distance_along
from ...geometry.outer_skin import OuterSkin
from ...geometry.rim import RimSamples, spans, walk_rim, weighted_quantile
from ...geometry.rows import highs, lows, row_all, row_norms
from ...geometry.topology import mesh_edges
from ...model.arrays import FloatArray, IntArray
from ...model.brief import Brief
from ...model.finding import Bound, Field, Finding, Outcome, Place, Severity, not_checked
from ...model.limits import Limits
from ...model.progress import Job, Progress
from ...model.snapshot import Part, Role
from ...performer.edge_lines import EdgeLine, edge_lines
from ...performer.fitting import Fitting
from ...performer.grounds import EYES, MOUTH, NOSE
from ...performer.rims import RimNames
from ..check import Check, Drawn, LeadingFigure, PlotLine, Plotted
from .edge_curves import FailingSpan, Growth, edge_curves
from .edge_places import (
    WORDS,
    EdgePlaces,
    distance_bounds,
    edge_places,
    nearest_mm,
    too_near,
    undrawn,
    unknown_places,
)
from .overlaps import LappedEdge, overlap_findings, overlap_measures, overlaps

SAMPLE_MM = 0.5
"""The rim is read at steps of this length: a quarter of the shortest span that is judged (``rim_span_mm``), and finer
than the edges of a sculpt's rim, so that nothing is stepped over."""
BRIDGE_MM = 1.0
"""Thick stretches no further apart than two such steps are one: a reading or two under the limit are the mesh's own
unevenness, not an end of the span."""
STEP_BRIDGE_MM = 3.0
"""The width of a blend is known at the rim's vertices only, which stand 1 to 3 mm apart on a sculpt: one of them that
reads wider does not part a step."""
CUT_MM = 2.5
"""A cut is put together from what lies behind this much rim to either side of its place."""
STEP_SPAN_MM = 5.0
"""A step along less rim than this rests on two or three vertices: a nick in the sculpt, which is stippled over when the
edge is laid (common practice, no source). It is not told of."""
BESIDE_MM = 1.0
"""Another appliance may lie under a rim where its box, widened by so much, holds it."""
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
    growth
        Distance from the rim along the skin and thickness there, for the vertices within the band.
    blend_mm
        For each rim vertex the distance inward at which the blend ends, ``(n,)``; nan elsewhere.
    field_mm, inward_mm
        Thickness at every vertex, and its distance from the rim along the skin, ``(n,)`` each; inf beyond the band.
    places
        What each step is held against.
    uncast_mm
        For each step how wide the rim is thinner than its material can be cast with, ``(s,)``; 0 where it is not.
    """

    part: Part
    skin: OuterSkin
    samples: RimSamples
    rims: RimNames
    thickness_mm: FloatArray
    growth: Growth
    blend_mm: FloatArray
    field_mm: FloatArray
    inward_mm: FloatArray
    places: EdgePlaces
    uncast_mm: FloatArray

    @property
    def cast_mm(self) -> FloatArray:
        """How thick each step comes out of the mould, ``(s,)``: never thinner than its material can be cast with."""
        return np.maximum(self.thickness_mm, self.places.least_mm)

    @property
    def of_limit(self) -> FloatArray:
        """That thickness as a share of what it fails above, ``(s,)``."""
        return self.cast_mm / np.maximum(self.places.fail_mm, 1e-9)


def edge(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Report rim spans too thick to disappear, and blends too narrow."""
    appliances = fitting.snapshot.with_role(Role.APPLIANCE)
    if not appliances:
        return not_checked("There is no appliance in the design. Give the sculpted pieces the role 'appliance'.")
    feathers = []
    lines, missing = fitting.head.kept.of(edge_lines, fitting.head)
    for number, part in enumerate(appliances):
        yield Progress(number, len(appliances), f"rim of {part.name}")
        if len(fitting.skin(part).rim_edges):
            feathers.append(fitting.kept.of(_feather, part, lines, fitting.among(part, *_beside(part, fitting)), brief))
    if not feathers:
        return not_checked("No appliance has a rim on the scan: each is closed, or ends beyond the scan's border.")
    places = [feather.places for feather in feathers]
    joints = overlaps([(feather.part, feather.samples) for feather in feathers], fitting, brief.limits)
    measures = _measures(feathers, brief.limits) | nearest_mm(places, missing) | overlap_measures(joints)
    return Outcome(
        measures=measures,
        findings=tuple(_findings(feathers, joints, fitting, brief.limits)),
        curves=dict(edge_curves([feather.growth for feather in feathers], _failing(feathers, brief.limits))),
        fields=tuple(_thickness_field(feather, brief.limits) for feather in feathers),
        reason=" ".join(filter(None, (undrawn(missing), unknown_places(appliances, fitting)))),
        judged=_judged(feathers, measures, brief.limits) | distance_bounds(brief.limits),
    )


def _judged(feathers: list[Feather], measures: Mapping[str, float | str], limits: Limits) -> dict[str, Bound | None]:
    """Return what decides about each figure; nothing is asked of a blend that no piece ends, or of no overlap."""
    loosest_mm = max(float(feather.places.fail_mm.max()) for feather in feathers)
    ordinary = np.isclose(loosest_mm, limits.rim_thickness_mm)
    bounds: dict[str, Bound | None] = {
        "rim_thickness_p95_mm": Bound(loosest_mm, limit="rim_thickness_mm" if ordinary else ""),
        "rim_share_of_limit_p95": Bound(1.0),
        "uncast_edge_mm": Bound(limits.uncast_edge_mm, limit="uncast_edge_mm"),
        "overlap_width_mm": Bound(limits.overlap_width_mm, True, "overlap_width_mm"),
    }
    unasked = [name for name in ("blend_width_median_mm", "overlap_width_mm") if np.isnan(float(measures[name]))]
    return bounds | dict.fromkeys(unasked)


def _feather(part: Part, lines: tuple[EdgeLine, ...], fitting: Fitting, brief: Brief) -> Feather:
    limits = brief.limits
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
    places = fitting.kept.of(edge_places, part, samples, lines, fitting.alone(part), brief)
    uncast_mm = _blend_widths_mm(skin, inward_mm, grown_mm, source, rim, places.least_mm)
    thinner = thickness_mm < places.least_mm
    return Feather(
        part=part,
        skin=skin,
        samples=samples,
        rims=RimNames.of(skin, samples, fitting.snapshot.landmarks),
        thickness_mm=thickness_mm,
        growth=Growth(inward_mm[band], grown_mm[band], rim[source[band]]),
        blend_mm=_blend_widths_mm(skin, inward_mm, grown_mm, source, rim, limits.blend_thickness_mm),
        field_mm=grown_mm,
        inward_mm=inward_mm,
        places=places,
        uncast_mm=np.where(thinner, np.nan_to_num(_at_steps(uncast_mm, samples)), 0.0),
    )


def _at_steps(by_vertex: FloatArray, samples: RimSamples) -> FloatArray:
    """Return the smaller of the figures at both ends of each step's edge, ``(s,)``; nan where neither has one."""
    return np.asarray(np.fmin(by_vertex[samples.edge[:, 0]], by_vertex[samples.edge[:, 1]]))


def _beside(part: Part, fitting: Fitting) -> list[Part]:
    """Return the other appliances whose boxes reach to a piece's: all that its own rim may lie on."""
    return [
        other
        for other in fitting.snapshot.with_role(Role.APPLIANCE)
        if other.name != part.name
        and (lows(other.vertices_mm) - 2.0 * BESIDE_MM <= highs(part.vertices_mm)).all()
        and (highs(other.vertices_mm) + 2.0 * BESIDE_MM >= lows(part.vertices_mm)).all()
    ]


def _thickness_mm(points_mm: FloatArray, clearance_mm: FloatArray, part: Part, fitting: Fitting) -> FloatArray:
    """Return the height of points above whatever lies beneath: the base, or another appliance they overlap."""
    thickness = np.maximum(clearance_mm, 0.0)
    for other in fitting.snapshot.with_role(Role.APPLIANCE):
        if other.name == part.name:
            continue
        low, high = lows(other.vertices_mm) - BESIDE_MM, highs(other.vertices_mm) + BESIDE_MM
        near = np.flatnonzero(row_all((points_mm >= low) & (points_mm <= high)) & (thickness > 0.0))
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
    of_limit = np.concatenate([feather.of_limit for feather in feathers])
    over = float(lengths[of_limit > 1.0].sum())
    uncast_mm = np.concatenate([feather.uncast_mm for feather in feathers])
    return {
        "rim_length_mm": float(lengths.sum()),
        "rim_thickness_median_mm": weighted_quantile(thickness, lengths, 0.5),
        "rim_thickness_p95_mm": weighted_quantile(thickness, lengths, 0.95),
        "rim_over_limit_mm": over,
        "rim_over_limit_fraction": over / float(lengths.sum()),
        "blend_width_median_mm": float(np.median(blends)) if len(blends) else float("nan"),
        "rim_thickness_max_mm": float(thickness.max()),
        "rim_share_of_limit_p95": weighted_quantile(of_limit, lengths, 0.95),
        "uncast_edge_mm": weighted_quantile(uncast_mm, lengths, 0.95),
    }


def _findings(feathers: list[Feather], joints: list[LappedEdge], fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    found = list(overlap_findings(joints, fitting, limits))
    for feather in feathers:
        found.extend(_thick_spans(feather, fitting, limits))
        found.extend(_doubtful_rim(feather, fitting, limits))
        found.extend(_steps(feather, fitting, limits))
        found.extend(_narrow_blend(feather, fitting, limits))
        found.extend(_uncast(feather, fitting, limits))
        found.extend(too_near(feather.part, feather.samples, feather.places, fitting, limits))
    yield from sorted(found, key=lambda finding: (finding.severity.rank, -len(finding.elements)))


def _thick_spans(feather: Feather, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield each span over its limit; spans too short to judge are told of together."""
    short = []
    for run in _fails(feather):
        if _judged_long(feather, run, limits):
            yield _thick(feather, run, 1, Severity.FAIL, fitting)
        else:
            short.append(run)
    if short:
        yield _thick(feather, np.concatenate(short), len(short), Severity.INFO, fitting)


def _doubtful_rim(feather: Feather, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all of a piece's rim between what is looked at and what fails."""
    places = feather.places
    between = (feather.cast_mm > places.review_mm) & (feather.cast_mm <= places.fail_mm)
    runs = [run for run in spans(between, feather.samples, BRIDGE_MM) if _length_mm(feather, run) >= limits.rim_span_mm]
    if runs:
        yield _thick(feather, np.concatenate(runs), len(runs), Severity.REVIEW, fitting)


def _length_mm(feather: Feather, run: IntArray) -> float:
    return float(feather.samples.lengths_mm[run].sum())


def _place(feather: Feather, run: IntArray, at_mm: FloatArray, fitting: Fitting) -> Place:
    """Return the place of a stretch of rim, named by the opening it runs round or by where its middle is."""
    named = feather.rims.region(feather.samples, run, fitting.regions)
    middle_mm = feather.samples.points_mm[run].mean(axis=0)
    return fitting.place(feather.part.name, at_mm, named or fitting.regions.name(middle_mm))


def _thick(feather: Feather, run: IntArray, count: int, severity: Severity, fitting: Fitting) -> Finding:
    length_mm, places = _length_mm(feather, run), feather.places
    levels_mm = places.review_mm if severity == Severity.REVIEW else places.fail_mm
    worst = run[(feather.cast_mm[run] / levels_mm[run]).argmax()]
    at_mm, limit_mm = feather.samples.points_mm[worst], float(levels_mm[worst])
    sculpted, thickest = float(feather.thickness_mm[worst]), float(feather.cast_mm[worst])
    place = _place(feather, run, at_mm, fitting)
    stretches = "" if count == 1 else f" in {count} stretches, the worst"
    cast = f", sculpted {sculpted:.2f} mm and cast no thinner" if thickest > sculpted else ""
    return Finding(
        severity=severity,
        message=(
            f"The rim of {feather.part.name} is up to {thickest:.2f} mm thick over {length_mm:.0f} mm{stretches} "
            f"at the {place.region}{cast} (limit {limit_mm:g} mm{WORDS[places.why[worst]]})."
        ),
        place=place,
        value=thickest,
        limit=limit_mm,
        fix=_thinner(feather, length_mm, thickest, limit_mm, place),
        remedy="feather" if _feathers(feather, run, fitting.brief.limits) else "",
        elements=np.unique(feather.samples.edge[run]),
    )


def _thinner(feather: Feather, length_mm: float, thickest: float, limit_mm: float, place: Place) -> str:
    if feather.places.least_mm > limit_mm:
        return f"cast it in what gives an edge of {limit_mm:g} mm, or end it at the {place.region} where it is hidden"
    return f"feather {length_mm:.0f} mm of rim at the {place.region} from {thickest:.2f} mm to {limit_mm:g} mm or less"


def _feathers(feather: Feather, run: IntArray, limits: Limits) -> bool:
    """Tell whether feathering mends a stretch of rim: it thins to what ordinary edges are reviewed above."""
    thinned_mm = max(min(limits.rim_thickness_review_mm, limits.rim_thickness_mm), feather.places.least_mm)
    return bool((feather.places.review_mm[run] >= thinned_mm).all())


def _uncast(feather: Feather, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield one finding where the rim is thinner than it can be cast with over so wide a band that it is lost."""
    lost = feather.uncast_mm > limits.uncast_edge_mm
    runs = [run for run in spans(lost, feather.samples, STEP_BRIDGE_MM) if _length_mm(feather, run) >= STEP_SPAN_MM]
    if not runs:
        return
    every = np.concatenate(runs)
    widest = every[feather.uncast_mm[every].argmax()]
    width_mm = float(feather.uncast_mm[widest])
    place = _place(feather, every, feather.samples.points_mm[widest], fitting)
    yield Finding(
        severity=Severity.REVIEW,
        message=(
            f"{feather.part.name} is sculpted thinner than {feather.part.material} is cast with "
            f"({feather.places.least_mm:g} mm) up to {width_mm:.1f} mm in from its rim, over "
            f"{_length_mm(feather, every):.0f} mm of rim at the {place.region}: the casting ends there "
            f"(limit {limits.uncast_edge_mm:g} mm)."
        ),
        place=place,
        value=width_mm,
        limit=limits.uncast_edge_mm,
        fix=f"end the sculpt where it is {feather.places.least_mm:g} mm thick, or let it rise to that sooner",
        elements=np.unique(feather.samples.edge[every]),
    )


def _steps(feather: Feather, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield each span where a rim that starts thin rises so fast that it is a step."""
    width_mm = _at_steps(feather.blend_mm, feather.samples)
    step = (width_mm < limits.blend_step_mm) & (feather.cast_mm <= feather.places.fail_mm)
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


def _failing(feathers: list[Feather], limits: Limits) -> FailingSpan | None:
    """Return the span that decided, as the findings put it first: the one with most vertices; None where none fails."""
    every = [(feather, run) for feather in feathers for run in _fails(feather) if _judged_long(feather, run, limits)]
    if not every:
        return None
    feather, run = max(every, key=lambda entry: len(np.unique(entry[0].samples.edge[entry[1]])))
    worst = run[feather.of_limit[run].argmax()]
    about = row_norms(feather.samples.points_mm[run] - feather.samples.points_mm[worst]) <= CUT_MM
    return FailingSpan(
        growth=feather.growth,
        rim_vertices=np.unique(feather.samples.edge[run]),
        worst_vertices=np.unique(feather.samples.edge[run[about]]),
        thickest_mm=float(feather.cast_mm[worst]),
        limit_mm=float(feather.places.fail_mm[worst]),
    )


def _fails(feather: Feather) -> list[IntArray]:
    return spans(feather.cast_mm > feather.places.fail_mm, feather.samples, BRIDGE_MM)


def _judged_long(feather: Feather, run: IntArray, limits: Limits) -> bool:
    return _length_mm(feather, run) >= limits.rim_span_mm


def _thickness_field(feather: Feather, limits: Limits) -> Field:
    """Return the thickness of the rim and half as far inward as a blend must reach: the middle is not the edge."""
    outer = np.zeros(len(feather.field_mm), dtype=bool)
    outer[feather.skin.outer_faces] = True
    outer &= feather.inward_mm <= limits.blend_width_mm / 2.0
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
        ("rim_over_limit_mm", "length of rim that comes out of the mould thicker than its own limit"),
        ("rim_over_limit_fraction", "the same as a share of the rim, 0 to 1"),
        (
            "blend_width_median_mm",
            "distance inward at which half of the rim has grown to the blend thickness",
        ),
        ("rim_share_of_limit_p95", "as cast, of the limit where it lies: the share that 95 % of the rim stays under"),
        ("uncast_edge_mm", "width of rim too thin to be cast with, which 95 % of the rim stays under"),
        ("rim_to_lid_mm", "nearest that any edge comes to a lid's margin, straight through the air"),
        ("rim_to_vermilion_mm", "the same to the vermilion"),
        ("rim_to_nostril_mm", "the same to a nostril's rim"),
        ("overlaps", "how often the edge of one piece lies on another"),
        ("overlap_width_mm", "how far the piece beneath goes on under such an edge, median, the narrowest of them"),
        ("gluing_order", "overlapping pieces in the order they go on, those beneath first"),
    ),
    method=(
        "The rim is the border of the outer skin: the border loop of an open skin, the line between outer and inner "
        "face of a closed shell, or the contour where a full-head sculpt leaves the base. Faces steeper than 45 "
        "degrees that are joined to the rim are a cut edge; the rim is then its upper line. Thickness is "
        "the height above the base, or above another appliance that the rim lies on, every 0.5 mm. Distance inward is "
        "measured along the skin by fast marching (Kimmel & Sethian 1998, doi 10.1073/pnas.95.15.8431). An edge comes "
        "out of the mould no thinner than its material's min_edge_mm, and is held to a limit of its own: looser where "
        "it melts into the skin or the brief says that it is hidden ([edges] hidden = [...], pieces or regions), "
        "stricter in close-up ([edges] close_up) and within edge_line_mm of what moves. Lid margins are where the "
        "eyeball is first seen from the front (without one, anywhere in the lid zone about the eye's corners), "
        "the vermilion runs through landmarks on the skin, nostrils are as for the airway. A piece overlaps another "
        "where that stands between its edge and the base."
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
        "melting_edge_mm",
        "close_edge_review_mm",
        "close_edge_mm",
        "moving_edge_mm",
        "hidden_edge_mm",
        "uncast_edge_mm",
        "edge_line_mm",
        "overlap_width_mm",
        "overlap_most_mm",
    ),
    blind_spots=(
        "It sees the sculpt, not the mould: where its cutting edge runs, how wide its flash is, shrinkage and how the "
        "edge is dissolved on the day are the shop's. Edges beyond the scan's border are not judged, and what is "
        "hidden or in close-up is what the brief says. The vermilion between its landmarks is off by some millimetres "
        "at a bowed lip, the folds are not this face's own, and a piece without a material is cast as it is sculpted. "
        "How a piece is taken off, with what solvent and from where, is not seen."
    ),
    landmarks=(*MOUTH, *EYES, *NOSE),
    material_figures=("min_edge_mm", "edge_work"),
    leading=(
        LeadingFigure("rim_thickness_p95_mm", "rim thickness, 95 % is under", "rim_thickness_mm"),
        LeadingFigure("rim_over_limit_mm", "length of rim over the limit"),
        LeadingFigure("blend_width_median_mm", "width of the blend, median", "blend_width_mm", at_least=True),
        LeadingFigure("rim_share_of_limit_p95", "rim, of its own limit, 95 % is under"),
        LeadingFigure("uncast_edge_mm", "rim too thin to cast", "uncast_edge_mm"),
        LeadingFigure("rim_to_lid_mm", "nearest edge to a lid", "edge_line_mm", at_least=True),
        LeadingFigure("rim_to_vermilion_mm", "nearest edge to the vermilion", "edge_line_mm", at_least=True),
        LeadingFigure("rim_to_nostril_mm", "nearest edge to a nostril", "edge_line_mm", at_least=True),
        LeadingFigure("overlap_width_mm", "narrowest overlap", "overlap_width_mm", at_least=True),
    ),
    plots=(
        Plotted(
            "thickness_by_distance",
            "Thickness from the rim inward",
            (PlotLine("x", "blend_width_mm", "blend should reach here", "blend_thickness_mm"),),
            own_words="the whole rim, median",
            compared=True,
        ),
        Plotted("section_by_distance", "Cut through the edge at its worst place", drawn=Drawn.SECTION),
    ),
    painted=(("thickness", "Thickness above the skin beneath, from the rim inward"),),
)
