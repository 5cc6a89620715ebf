"""What the checks must find in each design, known from how it was made and not from the checks.

Each figure carries its tolerance and where it comes from. A status may be one of several where the design
sits near a limit.
"""

from dataclasses import asdict, dataclass
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt

from .castings import CASTINGS
from .contact_by_containment import first_contact_t
from .crowns import LOWER
from .dentition import LOWER_ARCH
from .fangs import TUSK_TEETH, tusked_row
from .outlines import View
from .part_meshes import PartMesh
from .performer import performer
from .pieces import border_edges
from .rasters import raster
from .wardens import (
    CHEEK_VIEW,
    DESIGNS,
    HOLLOW,
    RIM_MM,
    THICK_RIM_MM,
    TUSK_MM,
    brow,
    face_ground,
    facing,
    hollow_centre_mm,
    rim_thickness_mm,
    short_lips_design,
)  # fmt: skip

FloatArray = npt.NDArray[np.float64]

ADDITIVE_TOLERANCE_MM = 0.2
RIM_LIMIT_MM = 0.3
"""The default limits that areas and lengths below are counted from."""


@dataclass(frozen=True)
class Figure:
    """One measure of one check: its value, how far off it may be, and why it is known."""

    check: str
    measure: str
    value: float
    tolerance: float
    known_from: str


def expected_figures() -> dict[str, Any]:
    """Return, for each design, the allowed statuses of each check, figures, and words findings must hold."""
    return {
        name: {
            "statuses": {**HONEST, **FAULTS.get(name, {})},
            "figures": [asdict(figure) for figure in (*honest_figures(name), *FIGURES.get(name, tuple)())],
            "named": NAMED.get(name, []),
        }
        for name in DESIGNS
    }


CHECKS = (
    "base_lock", "additive", "edge", "thickness", "closure", "coverage", "interference", "strain", "blink", "sightline",
    "airway", "load", "release",
)  # fmt: skip
HONEST = {check: ["pass"] for check in CHECKS}
FAULTS: dict[str, dict[str, list[str]]] = {
    "02-warden-tusks": {"closure": ["fail"], "interference": ["fail"], "coverage": ["fail"]},
    "03-warden-hollow-cheek": {"additive": ["fail"], "thickness": ["fail"]},
    "04-warden-thick-edge": {"edge": ["fail"]},
    "05-warden-short-lips": {"closure": ["review", "fail"], "coverage": ["fail"], "interference": ["fail"]},
    "06-warden-bronze": {"load": ["review"], "strain": ["review"]},
}
"""What differs from the honest design. A bowl below the base leaves no thickness over it; a mouth that tusks hold open
shows its teeth; the edge of one skin over both cheeks and folds lies on skin that a smile lengthens."""
NAMED: dict[str, list[dict[str, str]]] = {
    "02-warden-tusks": [
        {"check": "closure", "object": "LowerTeeth", "says": "lower canine"},
        {"check": "interference", "object": "LowerTeeth", "says": "left lower canine runs"},
        {"check": "coverage", "object": "LowerTeeth", "says": "The closed mouth is not reached"},
    ],
    "03-warden-hollow-cheek": [{"check": "additive", "object": "CheekBarkLeft", "says": "left cheek"}],
    "04-warden-thick-edge": [{"check": "edge", "object": "BrowBark", "says": "1.20 mm"}],
    "05-warden-short-lips": [
        {"check": "coverage", "object": "UpperTeeth", "says": "upper lateral incisor"},
        {"check": "interference", "object": "UpperTeeth", "says": "into the lower lip"},
    ],
    "06-warden-bronze": [{"check": "load", "object": "BronzeMedallion", "says": "cm² of glue"}],
}


def honest_figures(name: str) -> tuple[Figure, ...]:
    """Return what every design must measure in the checks that its fault leaves alone."""
    faults = FAULTS.get(name, {})
    bark = "bark is only ever added: thickness is at least that of the rim"
    figures = [
        Figure("additive", "max_depth_mm", 0.0, 0.03, bark),
        Figure("edge", "rim_over_limit_mm", 0.0, 1.0, "every rim is 0.08 mm thick or less"),
        Figure("closure", "closes", 1.0, 0.0, "the lips are brought together to 0.05 mm and nothing is between them"),
        Figure(
            "closure",
            "rest_gap_mm",
            0.05,
            0.05,
            "the lips are brought together to 0.05 mm",
        ),
        Figure("coverage", "display_height_mm", 0.0, 0.8, "the teeth stand behind closed lips"),
        Figure("interference", "hard_penetration_mm", 0.0, 0.2, "rows that bite edge to edge, nothing else rigid near"),
        Figure("interference", "soft_penetration_mm", 0.0, 0.2, "the pieces end well apart from each other"),
    ]
    if name != "06-warden-bronze":
        figures.append(Figure("edge", "rim_thickness_median_mm", RIM_MM, 0.01, "rims are made 0.08 mm thick"))
    if name == "02-warden-tusks":
        figures = [figure for figure in figures if figure.measure != "rest_gap_mm"]
    return tuple(figure for figure in figures if figure.check not in faults)


def tusk_figures() -> tuple[Figure, ...]:
    """Return where the tusks stop the jaw, by an exhaustive test of points inside teeth at many poses."""
    tusked = tusked_row(LOWER_ARCH, LOWER, TUSK_MM)
    stop_t = first_contact_t(tusked, performer().upper, TUSK_TEETH)
    opening_mm = lips_apart_mm()
    return (
        Figure("closure", "closes", 0.0, 0.0, "a tusk 13 mm longer than the canine stands in the upper teeth"),
        Figure("closure", "contact_t", stop_t, 0.02, "first pose at which a point of one tooth lies inside another"),
        Figure("interference", "start_t", stop_t, 0.02, "the same pose: closing, the tusk meets the tooth above it"),
        Figure("closure", "residual_gap_mm", stop_t * opening_mm, 0.06 * opening_mm, "lips part in step with the jaw"),
        Figure("coverage", "display_height_mm_pose_closed", 0.0, 0.8, "closed lips would hide the teeth"),
    )  # fmt: skip


def lips_apart_mm() -> float:
    """Return the distance between the midline lip margins with the jaw key at 1, mm."""
    head = performer()
    lower = head.landmarks["stomion_inferius"]
    moved = head.shapes_mm["JawOpen"][np.linalg.norm(head.vertices_mm - lower, axis=1).argmin()]
    return float(head.landmarks["stomion_superius"][2] - (lower + moved)[2])


def hollow_figures() -> tuple[Figure, ...]:
    """Return depth, area and volume of the bowl below the tolerance, over a sphere fitted to the cheek there.

    The bowl is ``d(r) = D (1 - r2 / a2)`` below the base, r the straight distance from its middle. On a sphere
    of radius R, what lies within a straight distance r is pi r2 (Archimedes); a layer of depth d under it has
    the volume ``d - d2 / R + d3 / 3R2`` a unit area, and the skin at depth d is smaller by ``(1 - d / R)2``.
    """
    radius, deepest = HOLLOW.radius_mm, HOLLOW.depth_mm
    ball = cheek_radius_mm()
    edge = radius * np.sqrt(1.0 - ADDITIVE_TOLERANCE_MM / deepest)
    r = (np.arange(4000) + 0.5) * edge / 4000
    ring = 2.0 * np.pi * r * edge / 4000
    depth = deepest * (1.0 - (r / radius) ** 2)
    slope = 2.0 * deepest * r / radius**2
    area = float((ring * np.sqrt(1.0 + slope**2) * (1.0 - depth / ball) ** 2).sum())
    volume = float((ring * (depth - depth**2 / ball + depth**3 / (3.0 * ball**2))).sum())
    bowl = f"a paraboloid bowl {deepest} mm deep, {radius} mm in radius, on a cheek of radius {ball:.0f} mm"
    return (
        Figure("additive", "max_depth_mm", deepest, 0.03, bowl),
        Figure("additive", "subtractive_area_mm2", area, 0.03 * area, bowl),
        Figure("additive", "removed_volume_mm3", volume, 0.03 * volume, bowl),
        Figure("additive", "patch_count", 1.0, 0.0, "one bowl"),
    )


@cache
def cheek_radius_mm() -> float:
    """Return the radius of the sphere that fits the base around the hollow best, least squares, mm."""
    ground = facing(face_ground(), CHEEK_VIEW)
    points = ground.points_mm[np.unique(ground.faces)]
    near = points[np.linalg.norm(points - hollow_centre_mm(), axis=1) < HOLLOW.radius_mm]
    system = np.column_stack([2.0 * near, np.ones(len(near))])
    x, y, z, rest = np.linalg.lstsq(system, (near**2).sum(axis=1), rcond=None)[0]
    return float(np.sqrt(rest + x * x + y * y + z * z))


def thick_edge_figures() -> tuple[Figure, ...]:
    """Return the thick rim's height, and its length over the limit, summed along the rim as it was cut."""
    shell = brow(thick_edge=True)
    inner = shell.vertices_mm[len(shell.vertices_mm) // 2 :]
    outer_faces = shell.faces[(shell.faces < len(inner)).all(axis=1)]
    edges = border_edges(outer_faces)
    start, end = inner[edges[:, 0]], inner[edges[:, 1]]
    over = rim_thickness_mm((start + end) / 2.0) > RIM_LIMIT_MM
    length = float(np.linalg.norm(end - start, axis=1)[over].sum())
    return (
        Figure("edge", "rim_thickness_max_mm", THICK_RIM_MM, 0.03, "the upper rim is made 1.2 mm thick"),
        Figure("edge", "rim_over_limit_mm", length, 2.0, f"rim edges made thicker than {RIM_LIMIT_MM} mm, added up"),
        Figure("edge", "rim_thickness_median_mm", RIM_MM, 0.01, "the other rims are 0.08 mm thick"),
    )


def short_lips_figures() -> tuple[Figure, ...]:
    """Return how much of the longest front tooth is seen from the front, by painting the design from far away."""
    shown = shown_mm(short_lips_design())
    return (
        Figure("coverage", "display_height_mm_pose_closed", shown, 0.7, "the design painted from the front, far away"),
        Figure("closure", "closes", 0.0, 0.0, "the front teeth hang through the lower lip"),
    )  # fmt: skip


def shown_mm(meshes: tuple[PartMesh, ...]) -> float:
    """Return the tallest unbroken stretch of any one upper tooth seen from the front without perspective, mm."""
    columns, rows = np.arange(-30.0, 30.0, 0.2), np.arange(-75.0, -30.0, 0.1)
    front = View()
    heights, teeth = [], None
    for mesh in meshes:
        looked = raster(front.drawn(mesh.vertices_mm), mesh.faces, columns, rows)
        heights.append(looked.height)
        if mesh.role == "upper_teeth":
            teeth = (len(heights) - 1, looked.face, mesh)
    if teeth is None:
        return 0.0
    place, face, mesh = teeth
    visible = (np.argmax(heights, axis=0) == place) & (face >= 0)
    per_tooth = [visible & (weights[mesh.faces[face, 0]] > 0.0) for weights in mesh.areas.values()]
    return max(longest_run(tooth) for tooth in per_tooth) * float(rows[1] - rows[0])


def longest_run(seen: npt.NDArray[np.bool_]) -> int:
    """Return the longest unbroken stretch of True down any column."""
    run = np.zeros(seen.shape[1], np.int64)
    longest = 0
    for row in seen:
        run = np.where(row, run + 1, 0)
        longest = max(longest, int(run.max()))
    return longest


def bronze_figures() -> tuple[Figure, ...]:
    """Return the castings' weight."""
    heaviest = max(casting.mass_g for casting in CASTINGS)
    turned = "turned bodies less their hollowed backs, solid tin bronze at 8.80 g/cm3"
    return (Figure("load", "piece_mass_g", heaviest, 0.01 * heaviest, turned),)


FIGURES = {
    "02-warden-tusks": tusk_figures,
    "03-warden-hollow-cheek": hollow_figures,
    "04-warden-thick-edge": thick_edge_figures,
    "05-warden-short-lips": short_lips_figures,
    "06-warden-bronze": bronze_figures,
}
