"""Two rows of single teeth with roots in gums, set at a known distance behind the lips and from each other."""

from dataclasses import dataclass, replace

import numpy as np

from dryfit.demo_door import demo_module

MEAN_WIDTH_MM, MEAN_DEPTH_MM = 27.0, 43.0
LOWER_NARROWER_MM = 3.0
UPPER_STEPS_MM = (0.0, 0.5, -0.2, 1.7, 1.8, 1.9, 2.1)
"""Heights of the biting edges over the central incisor's, by position."""
LOWER_STEPS_MM = (0.0, 0.0, 0.2, -1.5, -1.5, -1.5, -1.3)
ROOTS_MM = {"upper": 9.0, "lower": 4.5}
"""As long as the lining leaves room for."""
ROOT_RINGS = 4
GUM_RINGS, GUM_AROUND = 65, 16
LINING_HEIGHTS_MM = (1.0, 2.0, 3.0, 4.0, 6.0, 8.0)
LINING_ACROSS_MM = (0.0, 3.0)
GRID_MM = 0.1
CAP_MM = 0.6


@dataclass(frozen=True)
class Bite:
    """How the rows stand to the lips and to each other at rest, mm.

    Attributes
    ----------
    behind_lip_mm
        From the upper lip's inner side back to the upper incisors.
    edge_mm
        How far the upper incisors' edge is below the upper lip's margin, on the mean head.
    overbite_mm, overjet_mm
        How far the upper incisors' edges are below and in front of the lower ones'.
    apart_mm
        Upright room between the back teeth; negative where they run into each other in the scan.
    """

    behind_lip_mm: float = 0.5
    edge_mm: float = 1.9
    overbite_mm: float = 2.4
    overjet_mm: float = 3.0
    apart_mm: float = 0.4


@dataclass(frozen=True)
class Rows:
    """Both rows, jaw closed: ``dentition.Row`` each, the last island of each a gum."""

    upper: object
    lower: object


def rows(head, bite=Bite()):
    """Return the teeth of a head, jaw closed."""
    dentition, crowns = demo_module("dentition"), demo_module("crowns")
    size = head.size
    edge_mm = head.vertices_mm[head.marks["stomion_superius"], 2] - bite.edge_mm * size
    labial_mm = lining_mm(head) + bite.behind_lip_mm
    sizes = [
        {place: replace(each, **_times(each, size)) for place, each in row.items()}
        for row in (crowns.UPPER, crowns.LOWER)
    ]
    upper_front = labial_mm + 0.5 * sizes[0][1].labiolingual_mm
    lower_front = upper_front + bite.overjet_mm - 0.5 * (sizes[0][1].labiolingual_mm - sizes[1][1].labiolingual_mm)
    arches = [
        dentition.Arch("upper", MEAN_WIDTH_MM * size, MEAN_DEPTH_MM * size, upper_front,
                       tuple(edge_mm + size * step for step in UPPER_STEPS_MM)),
        dentition.Arch("lower", (MEAN_WIDTH_MM - LOWER_NARROWER_MM) * size, (MEAN_DEPTH_MM - LOWER_NARROWER_MM) * size,
                       lower_front, tuple(edge_mm + bite.overbite_mm + size * step for step in LOWER_STEPS_MM)),
    ]  # fmt: skip
    upper, lower = (rooted(arch, row) for arch, row in zip(arches, sizes, strict=True))
    drop_mm = bite.apart_mm - back_room_mm(upper, lower)
    steps = tuple(edge - drop_mm * (place > 2) for place, edge in enumerate(arches[1].bite_mm))
    return Rows(upper, rooted(replace(arches[1], bite_mm=steps), sizes[1]))


def _times(size, factor):
    return {name: getattr(size, name) * factor for name in ("height_mm", "mesiodistal_mm", "labiolingual_mm")}


def lining_mm(head):
    """Return how far back the upper lip's inner side comes, in front of the upper incisors, mm (y)."""
    margin_mm = head.vertices_mm[head.marks["stomion_superius"], 2]
    found = [
        depths_mm(head, across * head.size + 0.013, margin_mm + up * head.size)[1]
        for across in LINING_ACROSS_MM
        for up in LINING_HEIGHTS_MM
    ]
    return float(max(found))


def depths_mm(head, across_mm, up_mm):
    """Return where a line from the front to the back goes through the skin, ascending (y), mm."""
    triangles = head.vertices_mm[head.faces]
    a, b, c = ((triangles[:, corner][:, [0, 2]] - [across_mm, up_mm]) for corner in range(3))
    cross = lambda one, other: one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]  # noqa: E731
    weights = np.stack([cross(b, c), cross(c, a), cross(a, b)], axis=1)
    inside = (weights > 0.0).all(axis=1) | (weights < 0.0).all(axis=1)
    return np.sort((weights * triangles[:, :, 1]).sum(axis=1)[inside] / weights[inside].sum(axis=1))


def rooted(arch, sizes):
    """Return one jaw's row: each tooth one closed body of crown and root, and a gum that holds the roots."""
    dentition = demo_module("dentition")
    row = dentition.tooth_row(arch, sizes)
    away = ROOTS_MM[arch.jaw] * (-1.0 if arch.points_up else 1.0)
    vertices, faces, teeth, count = [], [], [], 0
    for tooth in row.teeth:
        mesh = with_root(row.tooth(tooth.fdi), away)
        vertices.append(mesh[0])
        faces.append(mesh[1] + count)
        teeth.append(dentition.Tooth(tooth.fdi, count, count + len(mesh[0])))
        count += len(mesh[0])
    gum = gum_around(arch, sizes, away)
    return dentition.Row(np.concatenate([*vertices, gum[0]]), np.concatenate([*faces, gum[1] + count]), tuple(teeth))


def with_root(crown, away):
    """Return a closed tooth: the crown's rings, and a root that narrows from its neck and ends ``away`` mm over it."""
    dentition, surfaces = demo_module("dentition"), demo_module("closed_surfaces")
    around = demo_module("crowns").AROUND
    rings = crown[1:-1].reshape(-1, around, 3)
    neck = rings[0].mean(axis=0)
    share = np.linspace(1.0, 0.0, ROOT_RINGS + 1)[:-1]
    root = [neck + (rings[0] - neck) * (1.0 - 0.7 * s) + [0.0, 0.0, away * s] for s in share]
    apex = root[0].mean(axis=0) + [0.0, 0.0, 0.1 * away]
    vertices = np.concatenate([apex[None], *root, rings.reshape(-1, 3), crown[-1:]])
    return vertices, dentition.outward(vertices, surfaces.lathed_triangles(len(root) + len(rings), around))


def gum_around(arch, sizes, away):
    """Return a closed roll along the arch in which the roots stand."""
    dentition, surfaces = demo_module("dentition"), demo_module("closed_surfaces")
    widths = np.array([size.mesiodistal_mm for size in sizes.values()])
    middles, end = np.cumsum(widths) - widths / 2.0, widths.sum() + 1.0
    necks = np.array(
        [edge + np.sign(away) * size.height_mm for edge, size in zip(arch.bite_mm, sizes.values(), strict=True)]
    )
    thick = np.array([size.labiolingual_mm for size in sizes.values()])
    angle = np.arange(GUM_AROUND) * 2.0 * np.pi / GUM_AROUND
    rings = []
    for along in np.linspace(-end, end, GUM_RINGS):
        here, direction = arch.at(abs(along))
        lipward = np.array([direction[1], -direction[0]])
        half = 0.40 * np.interp(abs(along), middles, thick)
        flat = here + (half * np.cos(angle))[:, None] * lipward
        height = np.interp(abs(along), middles, necks) + 0.55 * away * (1.0 + np.sin(angle)) - np.sign(away)
        rings.append(np.column_stack([np.sign(along) * flat[:, 0] if along else flat[:, 0], flat[:, 1], height]))
    points = np.stack(rings)
    vertices = np.concatenate([points[0].mean(axis=0)[None], points.reshape(-1, 3), points[-1].mean(axis=0)[None]])
    return vertices, dentition.outward(vertices, surfaces.lathed_triangles(GUM_RINGS, GUM_AROUND))


def back_room_mm(upper, lower):
    """Return the least upright room between the premolars and molars of both rows, mm; negative where they overlap."""
    rooms = [room_mm(_one(upper, fdi), _one(lower, below)) for fdi in _back(2) for below in _back(3)]
    return min(rooms)


def _back(quadrant):
    return [10 * quadrant + place for place in (4, 5, 6, 7)]


def _one(row, fdi):
    tooth = next(tooth for tooth in row.teeth if tooth.fdi == fdi)
    mine = ((row.faces >= tooth.first) & (row.faces < tooth.last)).all(axis=1)
    return row.vertices_mm[tooth.first : tooth.last], row.faces[mine] - tooth.first


def room_mm(above, below):
    """Return the least upright room between two bodies where one stands over the other; inf where neither does."""
    floor, roof = _facing(above, below)
    return float((floor - roof).min(initial=np.inf))


def levelled_mm(above, below):
    """Return what either of two overlapping bodies loses at most when it is cut off level until they are clear, mm."""
    floor, roof = _facing(above, below)
    over = floor < roof
    if not over.any():
        return 0.0
    return float(max(roof[over].max() - above[0][:, 2].min(), below[0][:, 2].max() - floor[over].min()))


def _facing(above, below):
    """Return the height of one body's underside and of the other's top in the columns that both stand in, ``(k,)``."""
    raster = demo_module("rasters").raster
    low = np.maximum(above[0].min(axis=0), below[0].min(axis=0))[:2]
    high = np.minimum(above[0].max(axis=0), below[0].max(axis=0))[:2]
    if (high <= low).any():
        return np.zeros(0), np.zeros(0)
    columns, rows_mm = (np.arange(low[axis], high[axis], GRID_MM) for axis in (0, 1))
    floor = -raster(above[0] * [1.0, 1.0, -1.0], above[1], columns, rows_mm).height
    roof = raster(*below, columns, rows_mm).height
    both = np.isfinite(floor) & np.isfinite(roof)
    return floor[both], roof[both]


def denture(row, fdis=(14, 15, 16, 24, 25, 26), longer_mm=2.0):
    """Return caps worn over some upper crowns: each a closed body grown all round, its bite ``longer_mm`` lower."""
    dentition, surfaces, around = demo_module("dentition"), demo_module("closed_surfaces"), demo_module("crowns").AROUND
    vertices, faces, count = [], [], 0
    for fdi in fdis:
        crown = _one(row, fdi)[0][1 + ROOT_RINGS * around :]
        neck, middle = crown[:around].mean(axis=0), crown.mean(axis=0)
        grown = np.concatenate([neck[None], crown])
        high, low = grown[:, 2].max(), grown[:, 2].min()
        away = (grown - middle) / np.linalg.norm(grown - middle, axis=1, keepdims=True)
        grown = grown + CAP_MM * away - np.outer(longer_mm * (high - grown[:, 2]) / (high - low), [0.0, 0.0, 1.0])
        vertices.append(grown)
        faces.append(dentition.outward(grown, surfaces.lathed_triangles((len(crown) - 1) // around, around)) + count)
        count += len(grown)
    return np.concatenate(vertices), np.concatenate(faces)


def incisal_point(row):
    """Return the lower incisors' edge at the midline ``(3,)``: the highest point of tooth 31 nearest to the middle."""
    points, _ = _one(row, 31)
    high = points[points[:, 2] > points[:, 2].max() - 0.5]
    return high[np.abs(high[:, 0]).argmin()]
