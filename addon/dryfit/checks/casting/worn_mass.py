"""What each worn part weighs and where: volumes, materials, and what two parts share counted once."""

import difflib
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from ...geometry import Surface
from ...geometry.areas import clip_below
from ...geometry.inertia import Bulk, prism_bulk, together
from ...geometry.overlap import Inside, between, inside_closed, shared_bulk
from ...geometry.rows import highs, lows
from ...geometry.solids import solid_pieces, welded_faces
from ...geometry.topology import is_closed
from ...geometry.wall import fine_facets, solid_of
from ...model.arrays import FloatArray
from ...model.brief import Brief
from ...model.materials import NOT_STATED
from ...model.snapshot import Part, Role
from ...performer.fitting import Fitting

TEETH = (Role.UPPER_TEETH, Role.LOWER_TEETH)
LEAST_SHARED_MM3 = 5.0


@dataclass(frozen=True)
class WornMass:
    """One worn part's volume and mass.

    Attributes
    ----------
    bulk
        Its volume and centre, what it shares with a denser part taken out.
    density_g_cm3
        nan where it has no known material.
    heaviest_mm3
        Volume of the largest of its separate pieces.
    closed
        Whether it is closed; else it is weighed as a skin over the base.
    problem
        Why it could not be weighed and what to do, or ``""``.
    """

    part: Part
    bulk: Bulk
    density_g_cm3: float
    heaviest_mm3: float
    closed: bool
    problem: str = ""

    @property
    def mass_g(self) -> float:
        """Mass; nan where it could not be weighed."""
        return float("nan") if self.problem else self.bulk.volume_mm3 / 1000.0 * self.density_g_cm3

    @property
    def heaviest_g(self) -> float:
        """Mass of the largest separate piece; nan where it could not be weighed."""
        return float("nan") if self.problem else self.heaviest_mm3 / 1000.0 * self.density_g_cm3


@dataclass(frozen=True)
class Shared:
    """What a part shares with a denser or earlier one: counted as the other's.

    Attributes
    ----------
    of_the_smaller
        Its share of the smaller of the two, before anything was taken out.
    """

    part: Part
    other: Part
    bulk: Bulk
    of_the_smaller: float


def worn_parts(fitting: Fitting) -> tuple[Part, ...]:
    """Return what is weighed: appliances, hardware, and teeth with a material (the performer's own have none)."""
    parts = fitting.snapshot.with_role(Role.APPLIANCE, Role.HARDWARE, *TEETH)
    return tuple(part for part in parts if part.role not in TEETH or part.material)


def weigh(part: Part, fitting: Fitting, brief: Brief) -> WornMass:
    """Return a part's volume and mass, before anything shared is taken out."""
    faces = welded_faces(part.vertices_mm, part.faces)
    soft = part.role == Role.APPLIANCE
    closed = is_closed(faces) and not (soft and fitting.skin(part).flows)
    if closed:
        pieces = solid_pieces(part.vertices_mm, faces)
    elif soft:
        pieces = [_over_base(part, fitting)]
    else:
        pieces = []
    material = brief.materials.get(part.material)
    return WornMass(
        part=part,
        bulk=together(pieces),
        density_g_cm3=material.density_g_cm3 if material else float("nan"),
        heaviest_mm3=max((piece.volume_mm3 for piece in pieces), default=float("nan")),
        closed=closed,
        problem=_problem(part, brief) if pieces else f"{part.name} is not closed, so it has no volume: close it.",
    )


def _problem(part: Part, brief: Brief) -> str:
    if part.material in brief.materials:
        stated = brief.materials[part.material].density_g_cm3 != NOT_STATED
        return "" if stated else f"{part.name}: the brief states no density_g_cm3 of '{part.material}': add it."
    known = ", ".join(brief.materials)
    if not part.material:
        return f'{part.name} has no material: set object["dryfit_material"] to one of {known}.'
    near = difflib.get_close_matches(part.material, brief.materials, 1)
    guess = f" Did you mean {near[0]}?" if near else ""
    return f"{part.name} is made of '{part.material}', which the brief doesn't describe.{guess} Known: {known}."


def _over_base(part: Part, fitting: Fitting) -> Bulk:
    """Return what lies between an open skin, or a sculpt that flows into the base, and the base.

    Within a face the side of the base is the one its corners are on: where that is wrong there is next to no volume.
    """
    skin = fitting.skin(part)
    faces = skin.outer_faces
    facets = fine_facets(skin.vertices_mm[faces])
    corners, foot = facets.of(skin.vertices_mm[faces]), facets.of(skin.foot_mm[faces])
    clearance = facets.of(skin.clearance_mm[faces])
    fresh = np.flatnonzero(np.bincount(facets.face, minlength=len(faces))[facets.face] > 1)
    if len(fresh):
        near = fitting.base_surface.closest(corners[fresh].reshape(-1, 3))
        clearance[fresh] = np.sign(clearance[fresh]) * near.distance_mm.reshape(-1, 3)
        foot[fresh] = near.point.reshape(-1, 3, 3)
    above = clip_below(-clearance, 0.0)
    return prism_bulk(above.of(corners), above.of(foot))


def without_shared(weighed: list[WornMass], fitting: Fitting) -> tuple[list[WornMass], list[Shared]]:
    """Return the parts with what two of them share taken out of the lighter one, and what was taken out."""
    kept, taken = list(weighed), []
    for number, other, low_mm, high_mm in _overlapping(weighed, fitting):
        both = fitting.among(weighed[number].part, weighed[other].part)
        bulk = fitting.kept.of(_shared, weighed[number], weighed[other], both, low_mm, high_mm)
        if bulk.volume_mm3 < LEAST_SHARED_MM3:
            continue
        loser, winner = sorted((number, other), key=lambda k: (weighed[k].density_g_cm3, -k))
        kept[loser] = replace(kept[loser], bulk=together([kept[loser].bulk, bulk.scaled(-1.0)]))
        smaller_mm3 = min(weighed[loser].bulk.volume_mm3, weighed[winner].bulk.volume_mm3)
        taken.append(Shared(weighed[loser].part, weighed[winner].part, bulk, bulk.volume_mm3 / smaller_mm3))
    return kept, taken


def _overlapping(weighed: list[WornMass], fitting: Fitting) -> Iterator[tuple[int, int, FloatArray, FloatArray]]:
    """Yield pairs of parts whose boxes overlap, with the corners of what the boxes share."""
    boxes = [_box(item, fitting) for item in weighed]
    for number in range(len(boxes)):
        for other in range(number + 1, len(boxes)):
            low_mm = np.maximum(boxes[number][0], boxes[other][0])
            high_mm = np.minimum(boxes[number][1], boxes[other][1])
            if (low_mm < high_mm).all() and not (weighed[number].problem or weighed[other].problem):
                yield number, other, low_mm, high_mm


def _box(item: WornMass, fitting: Fitting) -> tuple[FloatArray, FloatArray]:
    """Return the corners of a box round a part; round a skin and the base beneath it where it is open."""
    used = np.unique(item.part.faces)
    points = item.part.vertices_mm[used]
    if not item.closed:
        points = np.concatenate([points, fitting.skin(item.part).foot_mm[used]])
    return lows(points), highs(points)


def _shared(one: WornMass, other: WornMass, fitting: Fitting, low_mm: FloatArray, high_mm: FloatArray) -> Bulk:
    """Return what two parts share in a box; closed parts are asked first, as they are quicker to ask."""
    first, second = sorted((one, other), key=lambda item: not item.closed)
    return shared_bulk(_inside(first, fitting), _inside(second, fitting), low_mm, high_mm)


def _inside(item: WornMass, fitting: Fitting) -> Inside:
    if item.closed:
        return inside_closed(solid_of(item.part.vertices_mm, item.part.faces))
    skin = fitting.skin(item.part)
    return between(fitting.base_surface, Surface(skin.vertices_mm, skin.outer_faces))
