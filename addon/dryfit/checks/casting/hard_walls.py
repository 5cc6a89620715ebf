"""Walls of rigid parts, cast or printed: thin enough to fail, or to ask the foundry about."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry.areas import areas_mm2
from ...geometry.level_patches import LevelPatch, patches_under
from ...geometry.wall import facet_walls_mm, fine_facets, solid_of
from ...model.arrays import FloatArray, IntArray
from ...model.brief import Brief
from ...model.finding import Finding, Severity
from ...model.materials import Material
from ...model.snapshot import Part, Role
from ...performer.fitting import Fitting

WALL_FACET_MM = 0.5
MOST_FOUND = 10


@dataclass(frozen=True)
class HardWalls:
    """The walls of one rigid part.

    Attributes
    ----------
    corners_mm, owner
        Facets ``(q, 3, 3)`` and the face of each, ``(q,)``.
    wall_mm
        Wall behind each facet, ``(q,)``: nan where the part is open, inf at edges.
    """

    part: Part
    material: Material
    corners_mm: FloatArray
    owner: IntArray
    wall_mm: FloatArray

    def least_mm(self, area_mm2: float) -> float:
        """Return the wall that at least ``area_mm2`` of the skin does not exceed; nan where nothing was measured."""
        known = np.flatnonzero(np.isfinite(self.wall_mm))
        order = known[np.argsort(self.wall_mm[known], kind="stable")]
        reached = np.cumsum(areas_mm2(self.corners_mm[order]))
        if not len(order) or reached[-1] < area_mm2:
            return float("nan")
        return float(self.wall_mm[order[np.searchsorted(reached, area_mm2)]])

    def under(self, level_mm: float) -> list[LevelPatch]:
        """Return the connected patches whose wall is thinner than a level."""
        values = np.where(np.isfinite(self.wall_mm), self.wall_mm, np.nan)
        every = np.repeat(values[:, None], 3, axis=1)
        return patches_under(self.corners_mm, every, self.owner, self.part.faces, level_mm)


def rigid_parts(fitting: Fitting, brief: Brief) -> list[tuple[Part, Material]]:
    """Return the closed parts that are cast or printed rigid: hardware, and anything else of a rigid material."""
    worn = fitting.snapshot.with_role(Role.HARDWARE, Role.APPLIANCE, Role.UPPER_TEETH, Role.LOWER_TEETH)
    known = [(part, brief.materials[part.material]) for part in worn if part.material in brief.materials]
    hard = [(part, material) for part, material in known if material.rigid or part.role == Role.HARDWARE]
    return [(part, material) for part, material in hard if fitting.surface(part).closed]


def hard_walls(part: Part, material: Material) -> HardWalls:
    """Measure a rigid part's walls: from its skin straight in to where its material ends."""
    solid = solid_of(part.vertices_mm, part.faces)
    size_mm = float(np.sqrt(areas_mm2(solid.triangles_mm).sum()))
    facets = fine_facets(solid.triangles_mm, max(WALL_FACET_MM, size_mm / 200.0))
    return HardWalls(part, material, facets.of(solid.triangles_mm), facets.face, facet_walls_mm(facets, solid))


def wall_findings(walls: HardWalls, fitting: Fitting, least_area_mm2: float) -> Iterator[Finding]:
    """Yield the places where a wall is thinner than its process allows, or than every source agrees on."""
    material = walls.material
    for patch in walls.under(max(material.min_wall_mm, material.safe_wall_mm))[:MOST_FOUND]:
        if patch.area_mm2 >= least_area_mm2:
            yield _thin(walls, patch, fitting)


def _thin(walls: HardWalls, patch: LevelPatch, fitting: Fitting) -> Finding:
    material, part = walls.material, walls.part
    fails = patch.lowest < material.min_wall_mm
    limit_mm = material.min_wall_mm if fails else material.safe_wall_mm
    place = fitting.place(part.name, patch.lowest_mm)
    process = f"{part.material}, {material.process}" if material.process else part.material
    return Finding(
        severity=Severity.FAIL if fails else Severity.REVIEW,
        message=(
            f"{part.name} has a wall of {patch.lowest:.2f} mm at the {place.region}, over {patch.area_mm2:.0f} mm² "
            f"(limit {limit_mm:g} mm for {process})."
        ),
        place=place,
        value=patch.lowest,
        limit=limit_mm,
        fix=f"thicken {patch.area_mm2:.0f} mm² at the {place.region} to {max(limit_mm, material.safe_wall_mm):g} mm",
        kind="faces",
        elements=patch.faces,
    )
