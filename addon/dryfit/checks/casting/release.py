"""Does each piece come out of a rigid two-part mould, and are cast or printed walls thick enough?"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry.outer_skin import OuterSkin
from ...geometry.pull import Skin, best_pulls, cut_skin
from ...geometry.rows import row_norms
from ...geometry.topology import face_pieces, grouped
from ...geometry.undercuts import Undercut, low_draft_area_mm2, narrow_width_mm, undercuts
from ...model.arrays import FloatArray, IntArray
from ...model.brief import Brief
from ...model.finding import Finding, Outcome, Severity, not_checked
from ...model.limits import Limits
from ...model.materials import FLEXIBLE_MOULD, Material
from ...model.progress import Job, Progress
from ...model.snapshot import Part, Role
from ...performer.fitting import Fitting
from ...performer.head_frame import HeadFrame
from ..check import Check, LeadingFigure
from .hard_walls import HardWalls, hard_walls, rigid_parts, wall_findings
from .mould_core import Core, core_findings, mould_core
from .shrinkage import shrinkage_findings
from .worn_mass import TEETH

LEAST_PIECE_MM2 = 25.0
MOST_PIECES = 12


@dataclass(frozen=True)
class Pulled:
    """One separate piece of an appliance and the mould that comes off it.

    Attributes
    ----------
    faces
        Its outer skin, ``(m, 3)``.
    skin
        The same cut into facets.
    pulls
        The best pull ``(1, 3)``, or two opposite ones ``(2, 3)`` where it wraps round.
    undercuts
        What holds the mould.
    core
        What of the face holds the casting or the mould.
    width_mm
        Its smaller extent across the pull.
    forgiven
        Strain that its material bears on the way off an undercut; 0 where rigid.
    thickness_mm
        How thick it is as a rule.
    mould_gives_mm
        Overhang that its mould peels off; 0 for a rigid mould.
    least_mm
        Overhang that means nothing.
    low_draft_mm2
        Area steeper than the draft its material wants.
    """

    part: Part
    faces: IntArray
    skin: Skin
    pulls: FloatArray
    undercuts: list[Undercut]
    core: Core
    width_mm: float
    forgiven: float
    thickness_mm: float
    mould_gives_mm: float
    least_mm: float
    low_draft_mm2: float

    @property
    def overhang_mm(self) -> float:
        """The largest overhang; 0 without undercuts."""
        return max((undercut.overhang_mm for undercut in self.undercuts), default=0.0)

    @property
    def rigid(self) -> bool:
        """Whether its material gives no way at all."""
        return self.forgiven == 0.0

    @property
    def gives_mm(self) -> float:
        """By how much its mould or the casting gives way at its worst undercut, or what means nothing to either."""
        depth_mm = max((undercut.depth_mm for undercut in self.undercuts), default=0.0)
        return max(given_way_mm(self.forgiven, self.thickness_mm, depth_mm), self.mould_gives_mm, self.least_mm)

    @property
    def core_gives_mm(self) -> float:
        """By how much the casting gives way over the face beneath it: that is no part of its outer mould."""
        depth_mm = max((undercut.depth_mm for undercut in self.core.under), default=0.0)
        return max(given_way_mm(self.forgiven, self.thickness_mm, depth_mm), self.least_mm)

    @property
    def used(self) -> float:
        """Its largest overhang, its own or the face's beneath it, as a share of what gives way to it."""
        shares = ((self.overhang_mm, self.gives_mm), (self.core.overhang_mm, self.core_gives_mm))
        return max(_used(overhang_mm, gives_mm) for overhang_mm, gives_mm in shares)


def _used(overhang_mm: float, gives_mm: float) -> float:
    """Return an overhang as a share of what gives way to it: where nothing does, any overhang is beyond all measure."""
    if gives_mm > 0.0:
        return overhang_mm / gives_mm
    return np.inf if overhang_mm > 0.0 else 0.0


def given_way_mm(strain: float, thickness_mm: float, depth_mm: float) -> float:
    """Return by how much a wall gives way across the pull at a strain that its material bears.

    A thick wall is squeezed, by ``strain * thickness``. A thin one bends away as a beam does that is held at the foot
    of the undercut and pushed at its end: ``2 strain depth ** 2 / (3 thickness)``, with the strain at its surface
    there (Euler-Bernoulli), and never by more than it is long.

    Examples
    --------
    >>> [round(given_way_mm(0.2, thickness_mm, 6.0), 2) for thickness_mm in (1.0, 3.0, 30.0)]
    [4.8, 1.6, 6.0]
    """
    bent_mm = min(2.0 * strain * depth_mm**2 / (3.0 * max(thickness_mm, 1e-6)), depth_mm)
    return max(bent_mm, strain * thickness_mm)


def release(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Report what holds a rigid mould, thin walls of rigid parts, and how much to scale each mould."""
    appliances = fitting.snapshot.with_role(Role.APPLIANCE)
    rigid = rigid_parts(fitting, brief)
    if not appliances and not rigid:
        nothing = "There is nothing to mould: no appliance, and no closed hardware or teeth with a known material."
        return not_checked(_unjudged(fitting, brief) or nothing)
    pulled: list[Pulled] = []
    for number, part in enumerate(appliances):
        yield Progress(number, len(appliances) + len(rigid), f"pull directions of {part.name}")
        pulled.extend(fitting.kept.of(_pulled, part, fitting.alone(part), brief))
    walls = []
    for number, (part, material) in enumerate(rigid):
        yield Progress(len(appliances) + number, len(appliances) + len(rigid), f"walls of {part.name}")
        walls.append(fitting.kept.of(hard_walls, part, material))
    return Outcome(
        measures=_measures(pulled, walls, brief.limits),
        findings=tuple(_findings(pulled, walls, fitting, brief)),
        reason=_unjudged(fitting, brief),
    )


def _wants_draft(material: Material) -> bool:
    """Tell whether a casting sticks where its wall leans too little: a rigid one in a rigid mould."""
    return material.rigid and material.mould != FLEXIBLE_MOULD


def _thickness_mm(outer: OuterSkin, faces: IntArray) -> float:
    """Return how far a piece stands over the base as a rule, mm: the median over its outer skin's vertices."""
    used = np.unique(faces)
    return float(np.median(row_norms(outer.vertices_mm[used] - outer.foot_mm[used])))


def _pulled(part: Part, fitting: Fitting, brief: Brief) -> tuple[Pulled, ...]:
    """Return each separate piece of an appliance, the largest first, with its best pull."""
    return tuple(_each_pulled(part, fitting, brief))


def _each_pulled(part: Part, fitting: Fitting, brief: Brief) -> Iterator[Pulled]:
    outer = fitting.skin(part)
    for faces in _separate(outer):
        skin = cut_skin(outer.vertices_mm, faces)
        if skin.areas_mm2.sum() < LEAST_PIECE_MM2:
            continue
        front = HeadFrame.from_landmarks(fitting.snapshot.landmarks).front
        pulls = best_pulls(skin, front if skin.wraps else skin.mean_outward)
        material = brief.materials.get(part.material)
        yield Pulled(
            part=part,
            faces=faces,
            skin=skin,
            pulls=pulls,
            undercuts=undercuts(skin, pulls, brief.limits.undercut_area_mm2),
            core=mould_core(outer, faces, pulls, fitting, brief.limits),
            width_mm=narrow_width_mm(skin, pulls[0]),
            forgiven=_forgiven_stretch(part, brief),
            thickness_mm=_thickness_mm(outer, faces),
            mould_gives_mm=brief.limits.mould_peel_mm if material and material.mould == FLEXIBLE_MOULD else 0.0,
            least_mm=brief.limits.undercut_mm,
            low_draft_mm2=low_draft_area_mm2(skin, pulls, material.draft_deg)
            if material and _wants_draft(material)
            else 0.0,
        )


def _forgiven_stretch(part: Part, brief: Brief) -> float:
    """Return the share of its width a piece may be stretched by: 0 where rigid, the general figure where not stated."""
    material = brief.materials.get(part.material)
    if material is not None and material.rigid:
        return 0.0
    stated = material.forgiven_stretch if material is not None else 0.0
    return stated or brief.limits.forgiven_stretch


def _separate(outer: OuterSkin) -> list[IntArray]:
    groups = sorted(grouped(face_pieces(outer.top_faces)), key=lambda group: -len(group))
    return [outer.top_faces[group] for group in groups[:MOST_PIECES]]


def _measures(pulled: list[Pulled], walls: list[HardWalls], limits: Limits) -> dict[str, float | str]:
    found = [undercut for piece in pulled for undercut in piece.undercuts]
    measures: dict[str, float | str] = {
        "undercut_area_mm2": sum(undercut.area_mm2 for undercut in found) if pulled else float("nan"),
        "undercut_depth_mm": max((undercut.depth_mm for undercut in found), default=0.0) if pulled else float("nan"),
        "undercut_overhang_mm": max((piece.overhang_mm for piece in pulled), default=float("nan")),
        "stretch_to_release": max((piece.overhang_mm / piece.width_mm for piece in pulled), default=float("nan")),
        "give_used_fraction": max((piece.used for piece in pulled), default=float("nan")),
        "core_overhang_mm": max((piece.core.overhang_mm for piece in pulled), default=float("nan")),
        "pull_direction": _direction(_worst(pulled)) if pulled else "",
        "wall_min_mm": _thinnest(walls, limits.wall_patch_area_mm2),
        "low_draft_area_mm2": sum(piece.low_draft_mm2 for piece in pulled),
    }
    for part in dict.fromkeys(piece.part.name for piece in pulled):
        largest = next(piece for piece in pulled if piece.part.name == part)
        measures[f"pull_direction.{part}"] = _direction(largest)
    return measures


def _worst(pulled: list[Pulled]) -> Pulled:
    return max(pulled, key=lambda piece: (piece.overhang_mm / piece.width_mm, len(piece.faces)))


def _direction(piece: Pulled) -> str:
    """Return the pull as ``x y z`` in world space."""
    return " ".join(f"{value:.3f}" for value in np.round(piece.pulls[0], 3) + 0.0)


def _thinnest(walls: list[HardWalls], area_mm2: float) -> float:
    least = [wall.least_mm(area_mm2) for wall in walls]
    return min((value for value in least if np.isfinite(value)), default=float("nan"))


def _unjudged(fitting: Fitting, brief: Brief) -> str:
    """Return which hardware could not be judged, and what it lacks."""
    hard = fitting.snapshot.with_role(Role.HARDWARE)
    unknown = [part.name for part in hard if part.material not in brief.materials]
    open_ones = [part.name for part in hard if part.material in brief.materials and not fitting.surface(part).closed]
    reasons = []
    if unknown:
        known = ", ".join(brief.materials)
        reasons.append(
            f"Walls of {', '.join(unknown)} were not judged: no known material. "
            f'Set object["dryfit_material"] to one of {known}.'
        )
    if open_ones:
        reasons.append(f"Walls of {', '.join(open_ones)} were not judged: not closed. Close them.")
    return " ".join(reasons)


def _findings(pulled: list[Pulled], walls: list[HardWalls], fitting: Fitting, brief: Brief) -> Iterator[Finding]:
    found: list[Finding] = []
    for piece in pulled:
        found.extend(_undercut_findings(piece, fitting, brief.limits))
        found.extend(core_findings(piece.part, piece.core, piece.core_gives_mm, piece.rigid, fitting, brief.limits))
        found.extend(_low_draft(piece, fitting, brief))
    for wall in walls:
        found.extend(wall_findings(wall, fitting, brief.limits.wall_patch_area_mm2))
    yield from sorted(found, key=lambda finding: finding.severity.rank)
    worn = fitting.snapshot.with_role(Role.APPLIANCE, Role.HARDWARE, *TEETH)
    yield from shrinkage_findings(worn, fitting, brief)


def _undercut_findings(piece: Pulled, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    """Yield each undercut that holds the piece; those its material forgives are told of together."""
    over = [undercut for undercut in piece.undercuts if undercut.overhang_mm > limits.undercut_mm]
    forgiven = [undercut for undercut in over if undercut.overhang_mm <= piece.gives_mm]
    for undercut in over[: len(over) - len(forgiven)]:
        yield _holds(piece, undercut, fitting)
    if forgiven:
        yield _forgiven(piece, forgiven, fitting)


def _holds(piece: Pulled, undercut: Undercut, fitting: Fitting) -> Finding:
    region = fitting.regions.name(undercut.place_mm)
    allowed_mm = piece.gives_mm
    why = "it is rigid" if piece.rigid else f"it gives way by about {allowed_mm:.1f} mm"
    why = f"its rubber mould peels off {allowed_mm:.1f} mm" if piece.mould_gives_mm else why
    words = (
        f"{piece.part.name} has an undercut at the {region}: {undercut.overhang_mm:.1f} mm overhang, "
        f"{undercut.depth_mm:.1f} mm along the pull, {undercut.area_mm2:.0f} mm²; {why} (limit {allowed_mm:.2f} mm). "
        f"Best pull {_way(piece, fitting)}."
    )
    severity = Severity.FAIL if piece.rigid and not piece.mould_gives_mm else Severity.REVIEW
    fill = f"fill {undercut.overhang_mm:.1f} mm of overhang"
    fix = f"split the mould at the {region}, cast it in rubber with a jacket, or {fill}"
    return _finding(piece, undercut, fitting, severity, words, allowed_mm, fix)


def _forgiven(piece: Pulled, forgiven: list[Undercut], fitting: Fitting) -> Finding:
    worst = forgiven[0]
    area_mm2 = sum(undercut.area_mm2 for undercut in forgiven)
    words = (
        f"{piece.part.name} has {len(forgiven)} undercut{'s' if len(forgiven) > 1 else ''} ({area_mm2:.0f} mm², "
        f"overhang up to {worst.overhang_mm:.1f} mm at the {fitting.regions.name(worst.place_mm)}) that "
        f"{_who_gives(piece)} by up to {piece.gives_mm:.1f} mm. Best pull {_way(piece, fitting)}."
    )
    return _finding(piece, worst, fitting, Severity.INFO, words, piece.gives_mm, "")


def _who_gives(piece: Pulled) -> str:
    """Return what gives way to a forgiven undercut, in words."""
    if piece.mould_gives_mm:
        return "its rubber mould peels off, the jacket lifted before,"
    return f"a casting {piece.thickness_mm:.1f} mm thick gives way to"


def _finding(
    piece: Pulled, undercut: Undercut, fitting: Fitting, severity: Severity, words: str, limit_mm: float, fix: str
) -> Finding:
    return Finding(
        severity=severity,
        message=words,
        place=fitting.place(piece.part.name, undercut.place_mm),
        value=undercut.overhang_mm,
        limit=limit_mm,
        fix=fix,
        elements=np.unique(piece.faces[undercut.faces]),
    )


def _way(piece: Pulled, fitting: Fitting) -> str:
    """Return the pull in words: so far to a side and so far up from straight ahead."""
    frame = HeadFrame.from_landmarks(fitting.snapshot.landmarks)
    left, front, up = frame.coordinates(piece.pulls[:1])[0]
    turn, tilt = np.degrees(np.arctan2(left, front)), np.degrees(np.arcsin(np.clip(up, -1.0, 1.0)))
    side, height = "left" if turn >= 0 else "right", "up" if tilt >= 0 else "down"
    halves = ", in two halves" if len(piece.pulls) > 1 else ""
    return f"{abs(turn):.0f}° to the performer's {side} of straight ahead, {abs(tilt):.0f}° {height}{halves}"


def _low_draft(piece: Pulled, fitting: Fitting, brief: Brief) -> Iterator[Finding]:
    if piece.low_draft_mm2 < brief.limits.undercut_area_mm2:
        return
    draft_deg = brief.materials[piece.part.material].draft_deg
    yield Finding(
        severity=Severity.REVIEW,
        message=(
            f"{piece.part.name} has {piece.low_draft_mm2:.0f} mm² of wall with less than {draft_deg:g}° of draft: a "
            f"rigid casting sticks in a rigid mould there. Best pull {_way(piece, fitting)}."
        ),
        place=fitting.place(piece.part.name, piece.skin.middles_mm.mean(axis=0)),
        value=piece.low_draft_mm2,
        limit=brief.limits.undercut_area_mm2,
        unit="mm2",
        fix=f"lean those walls by {draft_deg:g}° or more from the pull",
    )


CHECK = Check(
    id="release",
    question="Does it come out of a rigid two-part mould?",
    measure=release,
    measured=(
        ("undercut_area_mm2", "outer skin that the outer mould can't leave along the best pull, all pieces"),
        ("undercut_depth_mm", "largest extent of one undercut along the pull"),
        ("undercut_overhang_mm", "largest overhang across the pull, as a dental undercut gauge reads it"),
        ("stretch_to_release", "that overhang over the piece's width, of the worst piece, as a share"),
        ("give_used_fraction", "worst overhang of a piece or of the face under it, as a share of what the piece gives"),
        ("core_overhang_mm", "largest overhang, across the pull, of the face under a piece"),
        (
            "pull_direction",
            "best pull of the worst piece, x y z in world space; with a name after a dot, of that object",
        ),
        ("wall_min_mm", "thinnest wall of rigid parts, where at least the least patch area is no thicker"),
        ("low_draft_area_mm2", "area of rigid appliances steeper than the draft their material wants"),
    ),
    method=(
        "Each separate piece gets its own mould: a core, and an outer half that moves along one pull (two opposite "
        "ones where the piece wraps round the head). Pulls are tried over 75 degrees about the piece's mean outward "
        "direction, every 15 degrees and then finer about the best. What faces away from the pull, or has the piece "
        "itself further along it (rays), is undercut. Overhang is the distance across the pull to where nothing is "
        "higher, on a height map. A flexible casting gives way to an overhang by what its wall is "
        "squeezed or bent at the strain its material bears (forgiven_stretch; Euler-Bernoulli beam of "
        "the piece's usual "
        'thickness, as long as the undercut is deep). A rubber mould in a jacket (mould = "flexible" '
        "under [materials.NAME]) peels off by mould_peel_mm. "
        "The core is the face: what of it hangs over along the same pull under a piece the "
        "casting has to leave, and what does so in a flange beside it has to be blocked out. Walls of rigid parts: "
        "from the skin straight in to where the material ends, where the "
        "two sides are parallel to 15 degrees (else it is an edge or a tip). Shrinkage s of the mould scales a "
        "pattern by 1/(1 - s); read as a shrink rule, of the piece, by 1 + s. The brief says which."
    ),
    limits=(
        "undercut_mm",
        "undercut_area_mm2",
        "mould_flange_mm",
        "forgiven_stretch",
        "mould_peel_mm",
        "wall_patch_area_mm2",
    ),
    blind_spots=(
        "It looks at each piece alone, not at a mould for several, nor at parting lines, sprues, vents, keys and how "
        "the casting is peeled. A third mould section makes most "
        "undercuts harmless. How far a casting forgives is common practice, no source. Lost-wax and printed "
        "hardware has no rigid mould, so only its walls are judged. Shrinkage depends on the batch: cast a test "
        "bar."
    ),
    material_figures=(
        "min_wall_mm",
        "safe_wall_mm",
        "forgiven_stretch",
        "draft_deg",
        "shrink_percent",
        "shrink_least_percent",
        "shrink_most_percent",
    ),
    leading=(
        LeadingFigure("undercut_area_mm2", "area of undercuts, best pull"),
        LeadingFigure("undercut_overhang_mm", "largest overhang"),
        LeadingFigure("give_used_fraction", "overhang, of what the casting gives"),
        LeadingFigure("wall_min_mm", "thinnest wall"),
    ),
)
