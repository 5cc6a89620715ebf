"""The wardens of The Salt Orchard: one honest design, and five that each differ from it in one known way."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import numpy.typing as npt

from .bark import Bark, Knot
from .castings import seated_castings
from .crowns import LOWER, UPPER
from .dentition import LOWER_ARCH, UPPER_ARCH, Row
from .fangs import overhanging_row, tusked_row
from .outlines import Outline, View
from .part_meshes import SKIN_COLOUR, PartMesh
from .performer import Performer, performer
from .pieces import Ground, Skin, Thickness, carve, outer_ground, regular_ground, sculpt_over
from .ramps import smooth_step

FloatArray = npt.NDArray[np.float64]

RIM_MM = 0.08
"""Thickness of an honest rim (feather edge at most 0.1 mm: common practice, no source)."""

FRONT = View()
CHEEK_VIEW = View(left_deg=40.0)
CHIN_VIEW = View(up_deg=-20.0)

BROW_OUTLINE = Outline(
    FRONT,
    ((0, 30), (-11, 33), (-24, 38), (-40, 37.5), (-52, 38), (-58, 48), (-54, 64), (-41, 78), (-21, 84), (0, 79),
     (21, 84), (41, 78), (54, 64), (58, 48), (52, 38), (40, 37.5), (24, 38), (11, 33)),
    seed=3,
)  # fmt: skip
CHEEK_OUTLINE = Outline(
    CHEEK_VIEW,
    ((-32, 5), (-20, 9), (0, 10.5), (20, 10), (34, 3), (35, -12), (27, -28), (13, -40), (0, -43), (-13, -36),
     (-22, -24), (-30, -9)),
    seed=11,
)  # fmt: skip
CHIN_OUTLINE = Outline(
    CHIN_VIEW,
    ((0, -29), (14, -28.5), (26, -25), (36, -28), (40, -38), (34, -49), (20, -57), (0, -60), (-20, -57),
     (-34, -49), (-40, -38), (-36, -28), (-26, -25), (-14, -28.5)),
    seed=17,
)  # fmt: skip
FACE_OUTLINE = Outline(
    FRONT,
    ((0, 97), (-25, 97), (-45, 87), (-57, 68), (-62, 40), (-63, 10), (-60, -20), (-52, -45), (-39, -66), (-20, -79),
     (0, -82), (20, -79), (39, -66), (52, -45), (60, -20), (63, 10), (62, 40), (57, 68), (45, 87), (25, 97)),
    seed=23,
)  # fmt: skip
EYE_OPENING = Outline(
    FRONT, ((7, 21), (14, 32), (29, 37.5), (44, 34), (53, 24), (47, 11), (30, 6), (14, 10)), wobble_mm=0.5, seed=29
)
MOUTH_OPENING = Outline(
    FRONT,
    ((0, -2), (12, -4), (23, -10), (26, -20), (28, -30), (33, -45), (28, -58), (15, -64), (0, -66), (-15, -64),
     (-28, -58), (-33, -45), (-28, -30), (-26, -20), (-23, -10), (-12, -4)),
    wobble_mm=0.5, seed=31,
)  # fmt: skip

BROW_BARK = Bark(
    FRONT, (0.0, -30.0), 85.0, 4.6,
    knots=(Knot(25.0, 61.0, 7.5, 2.6), Knot(-33.0, 55.0, 5.5, 2.0), Knot(-8.0, 66.0, 4.2, 1.5)), salt=0.42, seed=5,
)  # fmt: skip
CHEEK_BARK = Bark(CHEEK_VIEW, (-75.0, 45.0), 90.0, 3.4, knots=(Knot(18.0, -6.0, 6.0, 1.9),), salt=0.46, seed=19)
CHEEK_BARK_RIGHT = Bark(View(-40.0), (75.0, 45.0), 90.0, 3.4, knots=(Knot(-6.0, -20.0, 5.0, 1.6),), salt=0.46, seed=37)
CHIN_BARK = Bark(CHIN_VIEW, (0.0, 15.0), 58.0, 3.9, knots=(Knot(15.0, -44.0, 4.5, 1.6),), salt=0.40, seed=61)
FACE_BARK = Bark(
    FRONT, (0.0, -28.0), 85.0, 4.4,
    knots=(Knot(41.0, -18.0, 6.0, 1.8), Knot(-44.0, -6.0, 5.0, 1.6), Knot(-13.0, -73.0, 4.0, 1.2)),
    salt=0.42, seed=83,
)  # fmt: skip

BARK_COLOUR = (0.23, 0.16, 0.11)
PALE_BARK = (0.36, 0.30, 0.23)
MOSSY_BARK = (0.20, 0.20, 0.13)
IVORY = (0.80, 0.74, 0.58)
BRONZE = (0.42, 0.26, 0.09)


@dataclass(frozen=True)
class Hollow:
    """A bowl sunk into the base: a paraboloid ``depth (r2 / radius2 - 1)`` out to 1.15 radii."""

    middle_mm: tuple[float, float]
    radius_mm: float
    depth_mm: float


HOLLOW = Hollow((2.0, -17.0), 9.0, 2.5)
THICK_RIM_MM = 1.2
THICK_RIM_HALF_SPAN_MM = 30.0
TUSK_MM = 13.0
"""How much longer than its published 11 mm a lower canine of the tusked warden is."""
OVERHANG_MM = 9.0


def honest(bark: Bark) -> Thickness:
    """Return a bark's thickness on a rim of 0.08 mm."""

    def thickness(points: FloatArray, from_rim: FloatArray, _nearest: FloatArray) -> FloatArray:
        return RIM_MM + bark.thickness_mm(points, from_rim)

    return thickness


def hollowed(bark: Bark, centre_mm: FloatArray, hollow: Hollow) -> Thickness:
    """Return a bark's thickness with a bowl sunk below the base around a point ``(3,)``."""
    plain = honest(bark)

    def thickness(points: FloatArray, from_rim: FloatArray, nearest: FloatArray) -> FloatArray:
        radius = np.linalg.norm(points - centre_mm, axis=1)
        bowl = hollow.depth_mm * ((radius / hollow.radius_mm) ** 2 - 1.0)
        kept = smooth_step(radius, 1.15 * hollow.radius_mm, 1.9 * hollow.radius_mm)
        return bowl * (1.0 - kept) + plain(points, from_rim, nearest) * kept

    return thickness


def thick_rimmed(bark: Bark) -> Thickness:
    """Return a bark's thickness on a rim that is 1.2 mm thick along the upper middle of the piece."""

    def thickness(points: FloatArray, from_rim: FloatArray, nearest: FloatArray) -> FloatArray:
        step = (rim_thickness_mm(nearest) - RIM_MM) * (1.0 - smooth_step(from_rim, 3.0, 14.0))
        return RIM_MM + step + bark.thickness_mm(points, from_rim)

    return thickness


def rim_thickness_mm(rim: FloatArray) -> FloatArray:
    """Return the thick-edged brow's thickness at points of its rim ``(n, 3)``: 1.2 mm above, 0.08 mm elsewhere."""
    span = 1.0 - smooth_step(np.abs(rim[:, 0]), THICK_RIM_HALF_SPAN_MM - 2.0, THICK_RIM_HALF_SPAN_MM + 2.0)
    above = rim[:, 2] > 60.0
    return RIM_MM + (THICK_RIM_MM - RIM_MM) * span * above


@cache
def face_ground() -> Ground:
    """Return the performer's outside as ground to sculpt on."""
    head = performer()
    return outer_ground(head.vertices_mm, head.faces, head.outer)


def facing(ground: Ground, view: View, least: float = 0.12) -> Ground:
    """Return the part of the ground that faces a view."""
    toward = ground.normals @ view.axes[2] > least
    return replace(ground, faces=ground.faces[toward[ground.faces].all(axis=1)])


def carved(outline: Outline, thickness: Thickness) -> Skin:
    """Carve a piece out of the performer's outside, keeping the base's own triangles, split in sixteen."""
    return carve(facing(face_ground(), outline.view), outline.inside_mm, thickness)


def carved_anew(outline: Outline, thickness: Thickness) -> Skin:
    """Carve a piece on a regular grid of its own."""
    line = outline.line()
    low, high = line.min(axis=0) - 3.0, line.max(axis=0) + 3.0
    grid = regular_ground(face_ground(), outline.view, tuple(low), tuple(high), 0.9)
    return carve(facing(grid, outline.view), outline.inside_mm, thickness, edge_mm=5.0)


@cache
def brow(thick_edge: bool = False) -> PartMesh:
    """Return the brow piece, a closed shell with its inner face on the base."""
    skin = carved(BROW_OUTLINE, thick_rimmed(BROW_BARK) if thick_edge else honest(BROW_BARK))
    return PartMesh("BrowBark", "appliance", *skin.closed_shell(), "silicone", BARK_COLOUR)


def hollow_centre_mm() -> FloatArray:
    """Return the base's point ``(3,)`` under the middle of the hollow."""
    ground = facing(face_ground(), CHEEK_VIEW)
    used = np.unique(ground.faces)
    drawn = CHEEK_VIEW.drawn(ground.points_mm[used])
    near = np.linalg.norm(drawn[:, :2] - HOLLOW.middle_mm, axis=1)
    point: FloatArray = ground.points_mm[used[near.argmin()]]
    return point


@cache
def cheek(side: str, hollow: bool = False) -> PartMesh:
    """Return a cheek piece, an open skin."""
    outline = CHEEK_OUTLINE if side == "left" else CHEEK_OUTLINE.mirrored()
    bark = CHEEK_BARK if side == "left" else CHEEK_BARK_RIGHT
    thickness = hollowed(bark, hollow_centre_mm(), HOLLOW) if hollow else honest(bark)
    skin = carved(outline, thickness)
    return PartMesh(f"CheekBark{side.title()}", "appliance", *skin.open_skin(), "silicone", PALE_BARK)


@cache
def chin() -> PartMesh:
    """Return the chin piece, an open skin on a regular grid."""
    skin = carved_anew(CHIN_OUTLINE, honest(CHIN_BARK))
    return PartMesh("ChinBark", "appliance", *skin.open_skin(), "silicone", MOSSY_BARK)


def face_inside_mm(points: FloatArray) -> FloatArray:
    """Return how far inside the full-face piece points ``(n, 3)`` are: inside its outline, outside eyes and mouth."""
    openings = (EYE_OPENING, EYE_OPENING.mirrored(), MOUTH_OPENING)
    return np.minimum.reduce([FACE_OUTLINE.inside_mm(points), *(-opening.inside_mm(points) for opening in openings)])


@cache
def full_face() -> PartMesh:
    """Return the full-face piece, sculpted as a whole head that leaves the base only on the face."""
    front = facing(face_ground(), FRONT)
    whole = replace(front, faces=performer().faces)
    vertices, faces, lifted = sculpt_over(whole, front, face_inside_mm, FACE_BARK.thickness_mm)
    bare = ~lifted[faces].any(axis=1)
    return PartMesh("FaceBark", "appliance", vertices, faces, "silicone", BARK_COLOUR, {}, bare)


def castings() -> tuple[PartMesh, ...]:
    """Return the bronze castings that sit on the full-face piece's forehead."""
    piece = full_face()
    meshes = seated_castings(piece.vertices_mm, piece.faces)
    names = ("BronzeMedallion", *(f"BronzeStud{number}" for number in range(1, len(meshes))))
    return tuple(PartMesh(name, "hardware", *mesh, "bronze", BRONZE) for name, mesh in zip(names, meshes, strict=True))


def teeth(row: Row, name: str, role: str) -> PartMesh:
    """Return a row of teeth as an object, each tooth a vertex group with its FDI number."""
    areas = {}
    for tooth in row.teeth:
        weights = np.zeros(len(row.vertices_mm))
        weights[tooth.first : tooth.last] = 1.0
        areas[f"dryfit_tooth_{tooth.fdi}"] = weights
    return PartMesh(name, role, row.vertices_mm, row.faces, "acrylic", IVORY, areas)


def bare_parts(head: Performer, upper: Row | None = None, lower: Row | None = None) -> tuple[PartMesh, ...]:
    """Return the performer's own objects, with other teeth where given."""
    eyes = tuple(
        PartMesh(f"Eye{role.removeprefix('eye_').title()}", role, eye.vertices_mm, eye.faces, "", (0.85, 0.85, 0.82))
        for role, eye in head.eyes.items()
    )
    return (
        PartMesh("Performer", "base", head.vertices_mm, head.faces, "", SKIN_COLOUR, head.areas),
        *eyes,
        teeth(upper or head.upper, "UpperTeeth", "upper_teeth"),
        teeth(lower or head.lower, "LowerTeeth", "lower_teeth"),
    )


def plain_design() -> tuple[PartMesh, ...]:
    """Return the honest warden."""
    return (*bare_parts(performer()), brow(), cheek("left"), cheek("right"), chin())


def tusked_design() -> tuple[PartMesh, ...]:
    """Return the warden whose lower canines are tusks."""
    lower = tusked_row(LOWER_ARCH, LOWER, TUSK_MM)
    return (*bare_parts(performer(), lower=lower), *plain_design()[5:])


def hollow_design() -> tuple[PartMesh, ...]:
    """Return the warden with a bowl in the left cheek."""
    return (*bare_parts(performer()), brow(), cheek("left", hollow=True), cheek("right"), chin())


def thick_edge_design() -> tuple[PartMesh, ...]:
    """Return the warden whose brow ends in a step."""
    return (*bare_parts(performer()), brow(thick_edge=True), cheek("left"), cheek("right"), chin())


def short_lips_design() -> tuple[PartMesh, ...]:
    """Return the warden whose upper front teeth hang over the lower lip."""
    upper = overhanging_row(UPPER_ARCH, UPPER, OVERHANG_MM)
    return (*bare_parts(performer(), upper=upper), *plain_design()[5:])


def studded_design() -> tuple[PartMesh, ...]:
    """Return the warden with a full-face piece and heavy bronze castings."""
    return (*bare_parts(performer()), full_face(), *castings())


DESIGNS: Mapping[str, Callable[[], tuple[PartMesh, ...]]] = {
    "01-warden-plain": plain_design,
    "02-warden-tusks": tusked_design,
    "03-warden-hollow-cheek": hollow_design,
    "04-warden-thick-edge": thick_edge_design,
    "05-warden-short-lips": short_lips_design,
    "06-warden-bronze": studded_design,
}
"""File name -> the design's objects, the performer's first."""
