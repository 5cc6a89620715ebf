"""Edge, bulk and glue line of a piece in motion, each held to its own: what tears it, and what peels it off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry import distance_along
from ...geometry.film import stored_j_m2
from ...geometry.rows import row_all, row_any
from ...geometry.topology import connected, face_pairs
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.brief import Brief
from ...model.finding import Bound, Finding, Severity
from ...model.limits import Limits
from ...model.materials import Material
from ...performer.fitting import Fitting
from .stretching import Stretched

NO_STIFFNESS = (
    "The glue line under {name} was not judged: the material '{material}' states no stiffness_kpa{skin} (add it under "
    "[materials.{material}])."
)


@dataclass(frozen=True)
class Torn:
    """What one piece of a known material goes through, for edge, bulk and glue line.

    Attributes
    ----------
    strain
        Largest lengthening of each worn triangle over all poses ``(m,)``, fraction; nan for slivers.
    edge
        Which triangles belong to the edge, ``(m,)``.
    glue_j_m2
        The most that each triangle would give back when it lets go, over all poses ``(m,)``; nan for slivers, for
        inner faces, and throughout where the material's stiffness is not known.
    """

    piece: Stretched
    material: Material
    strain: FloatArray
    edge: BoolArray
    glue_j_m2: FloatArray

    def over(self, values: FloatArray, own: BoolArray, area_mm2: float) -> float:
        """Return what at least an area of some triangles reaches or exceeds; 0 where they are fewer."""
        read = np.flatnonzero(own & np.isfinite(values))
        order = read[np.argsort(-values[read], kind="stable")]
        reached = np.cumsum(self.piece.areas_mm2[order])
        place = int(np.searchsorted(reached, area_mm2))
        return float(values[order[place]]) if place < len(order) else 0.0


def torn(piece: Stretched, fitting: Fitting, brief: Brief) -> Torn | None:
    """Return how a piece's edge, bulk and glue line fare; None where its material, or its stretch, is not known."""
    material = brief.materials.get(piece.part.material)
    if material is None or material.max_strain <= 0.0:
        return None
    return Torn(
        piece=piece,
        material=material,
        strain=np.fmax.reduce(piece.largest, axis=0) - 1.0,
        edge=_edge(piece, fitting, brief.limits),
        glue_j_m2=_glue_j_m2(piece, material),
    )


def _glue_j_m2(piece: Stretched, material: Material) -> FloatArray:
    """Return the most that each triangle would give back at any pose, ``(m,)``."""
    most = np.full(len(piece.faces), np.nan)
    if not material.stiffness_known:
        return most
    film = np.where(piece.outer, material.film_n_m(piece.thickness_mm), np.nan)
    for largest, smallest in zip(piece.largest, piece.smallest, strict=True):
        most = np.fmax(most, stored_j_m2(film, largest, smallest))
    return most


def _edge(piece: Stretched, fitting: Fitting, limits: Limits) -> BoolArray:
    """Mark the triangles of which some corner lies within the edge band, measured along the skin from the rim."""
    skin = fitting.skin(piece.part)
    rim = np.unique(skin.rim_edges)
    if not len(rim):
        return np.zeros(len(piece.faces), dtype=bool)
    inward_mm, _ = distance_along(skin.vertices_mm, skin.outer_faces, rim, limits.edge_band_mm)
    return np.asarray(row_any((inward_mm < limits.edge_band_mm)[piece.faces]))


def tearing_measures(torn_pieces: list[Torn], whole: bool, limits: Limits) -> dict[str, float | str]:
    """Return the three figures; nan where some piece could not be judged (``whole`` says whether all have one)."""
    least = limits.strain_patch_area_mm2
    edges = [each.over(each.strain, each.edge, least) / each.material.breaks_at for each in torn_pieces]
    bulks = [each.over(each.strain, ~each.edge, least) / each.material.breaks_at for each in torn_pieces]
    glue = [each.over(each.glue_j_m2, each.piece.outer, least) for each in torn_pieces]
    known = whole and all(each.material.stiffness_known for each in torn_pieces)
    return {
        "edge_strain_share": max(edges, default=0.0) if whole else float("nan"),
        "bulk_strain_share": max(bulks, default=0.0) if whole else float("nan"),
        "glue_line_j_m2": max(glue, default=0.0) if known else float("nan"),
    }


def tearing_bounds(limits: Limits) -> dict[str, Bound | None]:
    """Return what each of the three figures is held against."""
    return {
        "edge_strain_share": Bound(limits.edge_strain_share, limit="edge_strain_share"),
        "bulk_strain_share": Bound(limits.strain_review_share, limit="strain_review_share"),
        "glue_line_j_m2": Bound(limits.glue_line_j_m2, limit="glue_line_j_m2"),
    }


def unjudged_glue(torn_pieces: list[Torn]) -> str:
    """Return which pieces' glue lines could not be judged, and what to add; ``""`` where all could."""
    return " ".join(
        NO_STIFFNESS.format(
            name=each.piece.part.name,
            material=each.piece.part.material,
            skin=", or no skin_stiffness_kpa," if each.material.skin_mm else "",
        )
        for each in torn_pieces
        if not each.material.stiffness_known
    )


def patches(over: BoolArray, faces: IntArray) -> Iterator[IntArray]:
    """Yield the connected patches of marked triangles, as indices."""
    if not over.any():
        return
    pairs = face_pairs(faces)
    label = connected(len(faces), pairs[row_all(over[pairs])])
    marked = np.flatnonzero(over)
    for one in np.unique(label[marked]):
        yield marked[label[marked] == one]


def tearing_findings(each: Torn, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield where edge or bulk stretch further than they bear, and where the piece peels itself off."""
    breaks = each.material.breaks_at
    for own, what, review, fail in (
        (each.edge, "edge", limits.edge_strain_share, limits.strain_review_share),
        (~each.edge, "bulk", limits.strain_review_share, limits.strain_share),
    ):
        for patch in patches(np.asarray((each.strain > review * breaks) & own), each.piece.faces):
            yield _stretches(each, patch, what, (review * breaks, fail * breaks), fitting, limits)
    for patch in patches(each.glue_j_m2 > limits.glue_line_j_m2, each.piece.faces):
        yield _peels(each, patch, fitting, limits)


def _stretches(
    each: Torn, patch: IntArray, what: str, levels: tuple[float, float], fitting: Fitting, limits: Limits
) -> Finding:
    piece, breaks = each.piece, each.material.breaks_at
    face = patch[each.strain[patch].argmax()]
    strain, area = float(each.strain[face]), float(piece.areas_mm2[patch].sum())
    fails = strain > levels[1]
    limit, severity = levels[1] if fails else levels[0], Severity.FAIL if fails else Severity.REVIEW
    place = fitting.place(piece.part.name, piece.part.vertices_mm[piece.faces[face]].mean(axis=0))
    subject = f"The edge of {piece.part.name}" if what == "edge" else piece.part.name
    return Finding(
        severity=severity if area >= limits.strain_patch_area_mm2 else Severity.INFO,
        message=(
            f"{subject} stretches by {100 * strain:.0f} % at the {place.region} in {piece.worst_pose(patch)}, over "
            f"{area:.0f} mm²; its material '{piece.part.material}' breaks at {100 * breaks:.0f} % "
            f"(limit {100 * limit:.0f} %{' at an edge' if what == 'edge' else ''})."
        ),
        place=place,
        value=strain,
        limit=limit,
        unit="fraction of length",
        fix=f"end the piece short of the {place.region}, part it there, or choose a material that stretches over "
        f"{100 * strain * breaks / levels[0]:.0f} %",
        kind="faces",
        elements=piece.face_ids[patch],
    )


def _peels(each: Torn, patch: IntArray, fitting: Fitting, limits: Limits) -> Finding:
    piece = each.piece
    face = patch[each.glue_j_m2[patch].argmax()]
    energy, area = float(each.glue_j_m2[face]), float(piece.areas_mm2[patch].sum())
    place = fitting.place(piece.part.name, piece.part.vertices_mm[piece.faces[face]].mean(axis=0))
    return Finding(
        severity=Severity.REVIEW if area >= limits.strain_patch_area_mm2 else Severity.INFO,
        message=(
            f"{piece.part.name}, {piece.thickness_mm[face]:.1f} mm thick and stretched by "
            f"{100 * each.strain[face]:.0f} % at the {place.region} in {piece.worst_pose(patch)}, pulls at its glue "
            f"with {energy:.0f} J/m² over {area:.0f} mm² (limit {limits.glue_line_j_m2:g} J/m²): once loose there, it "
            "peels itself off."
        ),
        place=place,
        value=energy,
        limit=limits.glue_line_j_m2,
        unit="J/m2",
        fix=f"thin the {place.region} to {piece.thickness_mm[face] * limits.glue_line_j_m2 / energy:.1f} mm, part the "
        "piece there, or use something softer",
        kind="faces",
        elements=piece.face_ids[patch],
    )
