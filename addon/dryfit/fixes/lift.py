"""Lift what lies below the base onto it, plus a minimum, and let that minimum run out around it."""

import numpy as np

from ..geometry import Surface, distance_along
from ..geometry.topology import mesh_edges
from ..model.arrays import BoolArray, FloatArray, IntArray
from ..model.finding import Finding
from ..performer.fitting import Fitting
from .mended import Mended, mended

MINIMUM_MM = 0.1
"""Clearance that lifted skin gets: more than contact, less than an edge shows (common practice, no source)."""
RUN_OUT_MM = 8.0
"""Over this distance along the skin the minimum runs out to nothing."""
ROUNDS = 12
"""Rounds of raising faces whose corners clear the base while their middle does not."""


def lift(fitting: Fitting, finding: Finding, minimum_mm: float = MINIMUM_MM) -> Mended:
    """Return the piece with the finding's area lifted onto the base.

    Vertices move along the base's own normal at their closest point. Where a face spans a bulge of the base,
    its corners rise further until its middle clears too.

    Parameters
    ----------
    fitting
        The design, as measured.
    finding
        A finding of the check ``additive``; its elements are vertices of the piece.
    minimum_mm
        Clearance of the lifted skin.

    Raises
    ------
    KeyError
        When the finding's piece is not in the design.
    NothingToMend
        When nothing lies too low.
    """
    part = fitting.snapshot.part(finding.object)
    skin = fitting.skin(part)
    away_mm, _ = distance_along(part.vertices_mm, skin.outer_faces, finding.elements, RUN_OUT_MM)
    wanted_mm = minimum_mm * np.clip(1.0 - away_mm / RUN_OUT_MM, 0.0, 1.0)
    zone = np.isfinite(away_mm)
    base = fitting.base_surface
    lifted = _raised(part.vertices_mm, zone, wanted_mm, base)
    faces = skin.outer_faces[zone[skin.outer_faces].all(axis=1)]
    tolerance_mm = fitting.brief.limits.additive_tolerance_mm
    return mended(part.name, part.vertices_mm, _spanning(lifted, faces, zone, base, tolerance_mm), "Lifted")


def _raised(vertices_mm: FloatArray, zone: BoolArray, wanted_mm: FloatArray, base: Surface) -> FloatArray:
    """Return the vertices with those of the zone at least ``wanted_mm`` above the base."""
    raised = vertices_mm.copy()
    members = np.flatnonzero(zone)
    near = base.closest(vertices_mm[members])
    clearance_mm = base.clearance_mm(vertices_mm[members])
    low = clearance_mm < wanted_mm[members]
    outward = _smooth_normals(base, near.face[low], near.barycentric[low])
    raised[members[low]] = near.point[low] + outward * wanted_mm[members[low], None]
    return raised


def _smooth_normals(base: Surface, face: IntArray, barycentric: FloatArray) -> FloatArray:
    """Return the base's vertex normals, interpolated over its faces: ``(k, 3)``, unit length."""
    blended = np.einsum("kc,kcd->kd", barycentric, base.vertex_normals[base.faces[face]])
    lengths = np.linalg.norm(blended, axis=1, keepdims=True)
    normals: FloatArray = np.where(lengths > 0.0, blended / np.where(lengths > 0.0, lengths, 1.0), base.normals[face])
    return normals


def _spanning(
    vertices_mm: FloatArray, faces: IntArray, zone: BoolArray, base: Surface, tolerance_mm: float
) -> FloatArray:
    """Raise the corners of faces whose edges or middle still dip below half the tolerance."""
    raised = vertices_mm.copy()
    ends = mesh_edges(faces).ends if len(faces) else np.zeros((0, 2), np.int64)
    for _ in range(ROUNDS):
        rise = np.zeros(len(raised))
        for corners in (faces, ends):
            middle = raised[corners].mean(axis=1)
            clearance_mm = base.clearance_mm(middle) if len(middle) else np.zeros(0)
            short = clearance_mm < -0.5 * tolerance_mm
            for column in corners[short].T:
                np.maximum.at(rise, column, -clearance_mm[short])
        low = np.flatnonzero((rise > 0.0) & zone)
        if not len(low):
            break
        near = base.closest(raised[low])
        raised[low] += _smooth_normals(base, near.face, near.barycentric) * rise[low, None]
    return raised
