"""How much each piece's glue carries: mass on each square centimetre of what it is glued to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry import Surface
from ...geometry.areas import area_vectors, areas_mm2
from ...geometry.rows import dot_rows, highs, lows, row_all, row_any, row_means
from ...geometry.wall import fine_facets
from ...model.arrays import FloatArray
from ...model.finding import Finding, Severity
from ...model.limits import Limits
from ...model.snapshot import Part, Role
from ...performer.eyes import SIDES, find_eye, is_lens
from ...performer.fitting import Fitting
from ...performer.head_frame import HeadFrame
from .worn_mass import WornMass

GLUE_MM, BED_MM = 0.5, 2.0
"""A soft piece can be glued where it lies this near to the skin, hardware where a bed of glue or putty of the second
thickness reaches: it sits on bark and ridges, and its back is rarely the shape of what is beneath."""
LEAST_MM2 = 1.0
"""A piece that touches on less than this is not glued at all."""
MM2_PER_CM2 = 100.0


@dataclass(frozen=True)
class Glued:
    """What holds one piece, and what hangs on that.

    Attributes
    ----------
    weighed
        The piece.
    area_mm2
        How much of it can be glued to what is beneath.
    carried_g
        Mass of hardware that is glued on it in turn.
    on
        The piece it is glued on; ``""`` for the skin, and where it is glued to nothing.
    """

    weighed: WornMass
    area_mm2: float
    on: str = ""
    carried_g: float = 0.0

    @property
    def held(self) -> bool:
        """Whether there is anything that glue could hold it by."""
        return self.area_mm2 >= LEAST_MM2

    def counts(self, limits: Limits) -> bool:
        """Tell whether it is judged: every soft piece, and hardware that is not as light as a stud."""
        return self.weighed.part.role == Role.APPLIANCE or not self.mass_g < limits.glue_least_g

    @property
    def mass_g(self) -> float:
        """What hangs on its glue; nan where its mass is not known."""
        return self.weighed.mass_g + self.carried_g

    @property
    def g_cm2(self) -> float:
        """Mass on each square centimetre; nan where its mass is not known, or nothing holds it."""
        return self.mass_g / self.area_mm2 * MM2_PER_CM2 if self.held else float("nan")


def glued_pieces(weighed: list[WornMass], fitting: Fitting) -> list[Glued]:
    """Return what holds each appliance and piece of hardware, contact lenses left out."""
    frame = HeadFrame.from_landmarks(fitting.snapshot.landmarks)
    eyes = [eye for side in SIDES if (eye := find_eye(fitting, side, frame)) is not None]
    soft = [_on_skin(item, fitting) for item in weighed if item.part.role == Role.APPLIANCE]
    hard = [
        _on_anything(item, [each.weighed.part for each in soft], fitting)
        for item in weighed
        if item.part.role == Role.HARDWARE and not any(is_lens(item.part, eye, fitting) for eye in eyes)
    ]
    return [*(_carrying(each, hard) for each in soft), *hard]


def _carrying(soft: Glued, hard: list[Glued]) -> Glued:
    carried_g = sum(each.weighed.mass_g for each in hard if each.on == soft.weighed.part.name)
    return Glued(soft.weighed, soft.area_mm2, soft.on, carried_g)


def _on_skin(item: WornMass, fitting: Fitting) -> Glued:
    """Return what holds an appliance: the skin beneath an open one, the inner face of a shell where it lies on it."""
    skin = fitting.skin(item.part)
    inner = skin.faces[~skin.outer]
    if not skin.closed or skin.flows or not len(inner):
        over = skin.outer_faces[row_any(skin.clearance_mm[skin.outer_faces] >= 0.0)]
        return Glued(item, float(areas_mm2(skin.foot_mm[over]).sum()))
    touching = inner[row_all(np.abs(skin.clearance_mm[inner]) <= GLUE_MM)]
    return Glued(item, float(areas_mm2(skin.vertices_mm[touching]).sum()))


def _on_anything(item: WornMass, soft: list[Part], fitting: Fitting) -> Glued:
    """Return what holds a piece of hardware: wherever it lies on an appliance, or else on the skin."""
    triangles = item.part.vertices_mm[item.part.faces]
    if item.bulk.volume_mm3 < 0.0:
        triangles = triangles[:, ::-1]
    facets = fine_facets(triangles)
    corners = facets.of(triangles)
    middles, sizes, facing = row_means(corners), areas_mm2(corners), area_vectors(corners)
    free = np.ones(len(middles), dtype=bool)
    areas_by_name: dict[str, float] = {}
    for part in (*soft, fitting.base):
        on = free & fitting.kept.of(_lies_on, middles, facing, _outer(part, fitting))
        areas_by_name[part.name] = float(sizes[on].sum())
        free &= ~on
    most = max(areas_by_name, key=lambda name: areas_by_name[name])
    carrier = most if most != fitting.base.name and areas_by_name[most] > 0.0 else ""
    return Glued(item, sum(areas_by_name.values()), carrier)


def _outer(part: Part, fitting: Fitting) -> Surface:
    if part.name == fitting.base.name:
        return fitting.base_surface
    skin = fitting.skin(part)
    return fitting.kept.of(Surface, skin.vertices_mm, skin.outer_faces)


def _lies_on(middles_mm: FloatArray, facing: FloatArray, surface: Surface) -> FloatArray:
    """Mark facets that look at a surface from no further than a bed of glue, or lie within it, ``(q,)`` bool."""
    near = np.zeros(len(middles_mm), dtype=bool)
    low, high = lows(surface.vertices_mm) - BED_MM, highs(surface.vertices_mm) + BED_MM
    asked = np.flatnonzero(row_all((middles_mm >= low) & (middles_mm <= high)))
    if not len(asked):
        return near
    closest = surface.closest(middles_mm[asked])
    against = asked[dot_rows(facing[asked], surface.normals[closest.face]) < 0.0]
    near[against] = surface.clearance_mm(middles_mm[against]) <= BED_MM
    return near


def glue_measures(glued: list[Glued], limits: Limits) -> dict[str, float | str]:
    """Return the glued area, and the load of the hardest pulled glue; nan where there is none, or a mass is unknown."""
    held = [each for each in glued if each.held]
    loads = [each.g_cm2 for each in held if each.counts(limits)]
    worst = float("nan") if not loads or np.isnan(loads).any() else max(loads)
    return {
        "glue_load_g_cm2": worst,
        "glued_area_cm2": sum(each.area_mm2 for each in held if not each.on) / MM2_PER_CM2,
        **{f"glue_load_g_cm2.{each.weighed.part.name}": each.g_cm2 for each in glued},
    }


def glue_findings(glued: list[Glued], fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield pieces whose glue carries too much, and hardware that nothing in the design holds."""
    for each in sorted(glued, key=lambda one: -np.nan_to_num(one.g_cm2)):
        if not each.counts(limits):
            continue
        if not each.held and not np.isnan(each.mass_g):
            yield _held_by_nothing(each, fitting)
        elif each.g_cm2 > min(limits.glue_load_review_g_cm2, limits.glue_load_g_cm2):
            yield _heavy_for_its_glue(each, fitting, limits)


def _heavy_for_its_glue(each: Glued, fitting: Fitting, limits: Limits) -> Finding:
    """Hardware may be pinned or screwed, which a mesh doesn't show: it is never failed by its glue."""
    part, hard = each.weighed.part, each.weighed.part.role == Role.HARDWARE
    fails = each.g_cm2 > limits.glue_load_g_cm2 and not hard
    limit = limits.glue_load_g_cm2 if fails else limits.glue_load_review_g_cm2
    carried = f", {each.carried_g:.0f} g of it hardware on it," if each.carried_g else ""
    held = each.on or "the skin"
    mend = "give it mechanical retention" if hard else "hollow it, make it of something lighter, or hang it on a cap"
    return Finding(
        severity=Severity.FAIL if fails else Severity.REVIEW,
        message=(
            f"{part.name} hangs {each.mass_g:.0f} g{carried} on {each.area_mm2 / MM2_PER_CM2:.1f} cm² of glue on "
            f"{held}: {each.g_cm2:.1f} g/cm² (limit {limit:g} g/cm²)."
        ),
        place=fitting.place(part.name, each.weighed.bulk.centre_mm),
        value=each.g_cm2,
        limit=limit,
        unit="g/cm2",
        fix=f"{mend}, or glue it on {each.mass_g / limits.glue_load_review_g_cm2:.0f} cm² or more",
    )


def _held_by_nothing(each: Glued, fitting: Fitting) -> Finding:
    part = each.weighed.part
    reach_mm = BED_MM if part.role == Role.HARDWARE else GLUE_MM
    return Finding(
        severity=Severity.REVIEW,
        message=(
            f"{part.name}, {each.mass_g:.0f} g, lies nowhere within {reach_mm:g} mm of skin or of another piece: "
            "nothing in the design holds it."
        ),
        place=fitting.place(part.name, each.weighed.bulk.centre_mm),
        value=each.mass_g,
        unit="g",
        fix="bring it down on what it is glued to, or say in an exception what carries it",
    )
