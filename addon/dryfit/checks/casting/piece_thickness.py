"""How thick one appliance is all over: to its own inner face, or to the base beneath."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ...geometry import Surface, distance_along
from ...geometry.areas import Facets, clip_below
from ...geometry.level_patches import LevelPatch, patches_under
from ...geometry.outer_skin import OuterSkin
from ...geometry.rows import highs, lows, row_all, row_any
from ...geometry.wall import fine_facets
from ...model.arrays import FloatArray, IntArray
from ...model.brief import Brief
from ...model.limits import Limits
from ...model.snapshot import Part
from ...performer.fitting import Fitting
from ...performer.mobile_zones import MobileZone
from .bending import Bending

BAND_MM = 5.0
"""How far past the widest blend the distance from the rim is followed."""


@dataclass(frozen=True)
class PieceThickness:
    """How thick one appliance is all over.

    Attributes
    ----------
    faces
        Its outer skin without cut edges, ``(m, 3)``.
    corners_mm, thick_mm, inward_mm, from_thick_mm
        Facets of that skin ``(q, 3, 3)``; at their corners ``(q, 3)`` the thickness, the distance from the rim along
        the skin, and the distance along the base beneath to the nearest place as thick as ``safe_mm``.
    owner
        ``(q,)`` face of each facet.
    beyond_mm
        Zone -> how far the base beneath each corner is outside it, ``(q, 3)``; only zones the piece reaches.
    field_mm
        Thickness at each vertex ``(n,)``; nan off the outer skin.
    least_mm, safe_mm
        The wall this piece's material survives at all, and the wall every source agrees on; of an encapsulated one
        not less than both its skins.
    bending
        How its material bends.
    """

    part: Part
    faces: IntArray
    corners_mm: FloatArray
    thick_mm: FloatArray
    inward_mm: FloatArray
    from_thick_mm: FloatArray
    owner: IntArray
    beyond_mm: Mapping[str, FloatArray]
    field_mm: FloatArray
    least_mm: float
    safe_mm: float
    bending: Bending

    def interior_mm(self, limits: Limits) -> FloatArray:
        """Return the thickness at corners further from the rim than the blend, ``(r, 3)``."""
        return self._inside(limits.blend_width_mm).of(self.thick_mm)

    def thin_patches(self, limits: Limits) -> list[LevelPatch]:
        """Return interior patches thinner than the material survives."""
        return self._patches(self._inside(limits.blend_width_mm), self.thick_mm, self.least_mm)

    def sheet_patches(self, limits: Limits) -> list[LevelPatch]:
        """Return interior patches under the safe wall that are too wide to be held by what is thick around them."""
        cut = self._inside(limits.blend_width_most_mm)
        wide = cut.within(clip_below(-cut.of(self.from_thick_mm), -limits.bridged_mm))
        return self._patches(wide, self.thick_mm, self.safe_mm)

    def thick_patches(self, beyond_mm: FloatArray, level_mm: float) -> list[LevelPatch]:
        """Return the patches of a zone that bend as the ordinary material does above a level.

        Their ``lowest`` is the negative of the thickest, as if of the ordinary material.
        """
        return self._patches(clip_below(beyond_mm, 0.0), -self.bending.as_ordinary_mm(self.thick_mm), -level_mm)

    def _inside(self, from_rim_mm: float) -> Facets:
        return clip_below(-self.inward_mm, -from_rim_mm)

    def _patches(self, cut: Facets, values: FloatArray, level: float) -> list[LevelPatch]:
        return patches_under(cut.of(self.corners_mm), cut.of(values), self.owner[cut.face], self.faces, level)


def piece_thickness(part: Part, zones: tuple[MobileZone, ...], fitting: Fitting, brief: Brief) -> PieceThickness:
    """Measure one appliance's thickness every millimetre or so."""
    skin = fitting.skin(part)
    faces, inner = skin.top_faces, _inner_face(skin)
    facets = fine_facets(skin.vertices_mm[faces])
    corners_mm, foot_mm = facets.of(skin.vertices_mm[faces]), facets.of(skin.foot_mm[faces])
    field_mm = np.full(len(skin.vertices_mm), np.nan)
    used = np.unique(faces)
    field_mm[used] = _thick_mm(skin.vertices_mm[used], skin.clearance_mm[used], inner)
    least_mm, safe_mm = _walls_mm(part, brief)
    furthest_mm = brief.limits.blend_width_most_mm + BAND_MM
    return PieceThickness(
        part=part,
        faces=faces,
        corners_mm=corners_mm,
        thick_mm=_at_corners(facets, corners_mm, field_mm[faces], inner, fitting.base_surface),
        inward_mm=_along(skin.vertices_mm, faces, facets, np.unique(skin.rim_edges), furthest_mm),
        from_thick_mm=_along(skin.foot_mm, faces, facets, used[field_mm[used] >= safe_mm], furthest_mm),
        owner=facets.face,
        beyond_mm={zone.name: beyond for zone in zones if (beyond := _beyond_mm(zone, foot_mm)) is not None},
        field_mm=field_mm,
        least_mm=least_mm,
        safe_mm=safe_mm,
        bending=Bending.of(part.material, brief),
    )


def _walls_mm(part: Part, brief: Brief) -> tuple[float, float]:
    material = brief.materials.get(part.material)
    if material is None or not material.min_wall_mm:
        return brief.limits.interior_mm, brief.limits.interior_mm
    least_mm = max(material.min_wall_mm, 2.0 * material.skin_mm)
    return least_mm, max(material.safe_wall_mm, least_mm)


def _inner_face(skin: OuterSkin) -> Surface | None:
    """Return the inner face of a closed shell; None where the piece is a skin over the base."""
    inner = skin.faces[~skin.outer]
    return Surface(skin.vertices_mm, inner) if skin.closed and not skin.flows and len(inner) else None


def _thick_mm(points_mm: FloatArray, clearance_mm: FloatArray, inner: Surface | None) -> FloatArray:
    """Return the thickness ``(k,)`` beneath points: to the shell's inner face, or to the base; nan off the scan."""
    if inner is not None:
        return inner.closest(points_mm).distance_mm
    return np.maximum(clearance_mm, 0.0)


def _at_corners(
    facets: Facets, corners_mm: FloatArray, at_faces_mm: FloatArray, inner: Surface | None, base: Surface
) -> FloatArray:
    """Return the thickness at facet corners ``(q, 3)``, measured afresh where a face was cut.

    A face that is above the base at all three corners is taken to be above it throughout.
    """
    thick_mm = facets.of(at_faces_mm)
    cut = np.bincount(facets.face, minlength=len(at_faces_mm)) > 1
    above = row_all(at_faces_mm > 0.0)
    measured = inner if inner is not None else base
    fresh = np.flatnonzero((cut & (above | (inner is not None)))[facets.face])
    if len(fresh):
        thick_mm[fresh] = measured.closest(corners_mm[fresh].reshape(-1, 3)).distance_mm.reshape(-1, 3)
    asked = np.flatnonzero((cut & ~above)[facets.face]) if inner is None else fresh[:0]
    if len(asked):
        clearance_mm = base.clearance_mm(corners_mm[asked].reshape(-1, 3)).reshape(-1, 3)
        thick_mm[asked] = np.maximum(clearance_mm, 0.0)
    return thick_mm


def _along(places_mm: FloatArray, faces: IntArray, facets: Facets, sources: IntArray, limit_mm: float) -> FloatArray:
    """Return the distance along a surface from some vertices, ``(q, 3)``, at most ``limit_mm``."""
    distance_mm, _ = distance_along(places_mm, faces, sources, limit_mm)
    return facets.of(np.minimum(distance_mm, limit_mm)[faces])


def _beyond_mm(zone: MobileZone, foot_mm: FloatArray) -> FloatArray | None:
    """Return how far the base beneath is outside a zone, ``(q, 3)``; None where the piece does not reach it."""
    reach = lows(zone.chain_mm) - zone.reach_mm, highs(zone.chain_mm) + zone.reach_mm
    inside = (foot_mm > reach[0]) & (foot_mm < reach[1])
    near = row_any(inside[..., 0] & inside[..., 1] & inside[..., 2])
    if not near.any():
        return None
    beyond_mm = np.full(foot_mm.shape[:2], np.inf)
    beyond_mm[near] = zone.beyond_mm(foot_mm[near].reshape(-1, 3)).reshape(-1, 3)
    return np.minimum(beyond_mm, zone.reach_mm)
