"""The face as a mould's core: what of it, under a piece and beside it, hangs over along the piece's pull."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from ...geometry import Surface
from ...geometry.outer_skin import OuterSkin
from ...geometry.pull import cut_skin
from ...geometry.rows import highs, lows, row_all, row_norms
from ...geometry.undercuts import Undercut, undercuts
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.finding import Finding, Severity
from ...model.limits import Limits
from ...model.snapshot import Part
from ...performer.fitting import Fitting

SLIP_MM, SLIP_SHARE = 1.0, 0.25
"""A point of the face is under a piece when the way to the piece and back leads this near to where it began."""


@dataclass(frozen=True)
class Core:
    """The face under one piece and a flange beside it.

    Attributes
    ----------
    under
        Undercuts of the face beneath the piece: the casting has to leave them.
    beside
        Undercuts of the flange: the outer half of the mould has to leave them.
    faces
        The base's faces that it is made of, ``(f, 3)``.
    """

    under: tuple[Undercut, ...] = ()
    beside: tuple[Undercut, ...] = ()
    faces: IntArray = field(default_factory=lambda: np.zeros((0, 3), np.int64))

    @property
    def overhang_mm(self) -> float:
        """The largest overhang beneath the piece; 0 without undercuts."""
        return max((undercut.overhang_mm for undercut in self.under), default=0.0)


def mould_core(outer: OuterSkin, faces: IntArray, pulls: FloatArray, fitting: Fitting, limits: Limits) -> Core:
    """Return what of the face holds a piece or its outer mould along unit directions ``(p, 3)``.

    Parameters
    ----------
    outer, faces
        The outer skin, and the faces ``(m, 3)`` of the piece of it that has the mould.
    pulls
        The piece's own pulls.
    fitting, limits
        The base, and how far beside the piece the mould rests on it.
    """
    used, compact = np.unique(faces, return_inverse=True)
    piece = Surface(outer.vertices_mm[used], compact.reshape(-1, 3))
    thickest_mm = float(row_norms(outer.vertices_mm[used] - outer.foot_mm[used]).max())
    near, beneath = _near_and_beneath(piece, thickest_mm, fitting, limits.mould_flange_mm)
    base = fitting.base_surface
    own = base.faces[row_all(near[base.faces])]
    if not len(own):
        return Core()
    skin = cut_skin(base.vertices_mm, own)
    is_under = np.asarray(row_all(beneath[own]))
    found = undercuts(skin, pulls, limits.undercut_area_mm2, apart=is_under)
    under, beside = (tuple(one for one in found if is_under[one.faces[0]] == side) for side in (True, False))
    return Core(under, beside, own)


def _near_and_beneath(
    piece: Surface, thickest_mm: float, fitting: Fitting, flange_mm: float
) -> tuple[BoolArray, BoolArray]:
    """Mark the base's vertices that a mould of the piece rests on, and those of them beneath the piece."""
    base = fitting.base_surface
    reach = max(flange_mm, thickest_mm + SLIP_MM)
    low, high = lows(piece.vertices_mm) - reach, highs(piece.vertices_mm) + reach
    ids = np.flatnonzero(row_all((base.vertices_mm >= low) & (base.vertices_mm <= high)))
    there = piece.closest(base.vertices_mm[ids])
    back = base.closest(there.point).point
    slip = row_norms(back - base.vertices_mm[ids])
    under = slip <= SLIP_MM + SLIP_SHARE * there.distance_mm
    near, beneath = np.zeros((2, len(base.vertices_mm)), dtype=bool)
    near[ids] = under & (there.distance_mm <= reach) | (there.distance_mm <= flange_mm)
    beneath[ids] = under
    return near, beneath


def core_findings(
    part: Part, core: Core, gives_mm: float, rigid: bool, fitting: Fitting, limits: Limits
) -> Iterator[Finding]:
    """Yield what the face does to one piece and its mould.

    Parameters
    ----------
    part, core
        The piece and the face about it.
    gives_mm, rigid
        By how much the casting gives way, and whether it is of a rigid material.
    fitting, limits
        Names of places, and what counts.
    """
    over = [undercut for undercut in core.under if undercut.overhang_mm > limits.undercut_mm]
    if over:
        held = over[0].overhang_mm > gives_mm
        severity = (Severity.FAIL if rigid else Severity.REVIEW) if held else Severity.INFO
        yield _under(part, core, over, severity, gives_mm, fitting)
    loose = [undercut for undercut in core.beside if undercut.overhang_mm > limits.undercut_mm]
    if loose:
        yield _beside(part, core, loose, fitting, limits)


def _under(
    part: Part, core: Core, over: list[Undercut], severity: Severity, gives_mm: float, fitting: Fitting
) -> Finding:
    worst = over[0]
    place = fitting.place(fitting.base.name, worst.place_mm)
    area_mm2 = sum(undercut.area_mm2 for undercut in over)
    ends = {
        Severity.INFO: f"the casting gives by up to {gives_mm:.1f} mm and peels off it",
        Severity.REVIEW: f"the casting gives by no more than {gives_mm:.1f} mm and may tear on the way off",
        Severity.FAIL: "a rigid casting can't leave it",
    }
    return Finding(
        severity=severity,
        message=(
            f"The face under {part.name} hangs over by up to {worst.overhang_mm:.1f} mm at the {place.region} "
            f"({area_mm2:.0f} mm²) along the pull: {ends[severity]}."
        ),
        place=place,
        value=worst.overhang_mm,
        limit=gives_mm,
        fix=""
        if severity == Severity.INFO
        else f"fill the core at the {place.region} under the piece, or split the piece",
        elements=np.unique(core.faces[worst.faces]),
    )


def _beside(part: Part, core: Core, loose: list[Undercut], fitting: Fitting, limits: Limits) -> Finding:
    """Return the note about the flange: the face is as it is, so no limit judges it."""
    worst = loose[0]
    place = fitting.place(fitting.base.name, worst.place_mm)
    places = list(dict.fromkeys(fitting.regions.name(undercut.place_mm) for undercut in loose))
    area_mm2 = sum(undercut.area_mm2 for undercut in loose)
    return Finding(
        severity=Severity.INFO,
        message=(
            f"Within {limits.mould_flange_mm:g} mm of {part.name} the face hangs over along the pull by up to "
            f"{worst.overhang_mm:.1f} mm ({area_mm2:.0f} mm²; {', '.join(places)}): block that out on the core "
            "before the outer half is made."
        ),
        place=place,
        value=worst.overhang_mm,
        elements=np.unique(core.faces[worst.faces]),
    )
