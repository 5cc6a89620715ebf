"""What does the design weigh, and how does it pull on the neck?"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ...geometry.inertia import Bulk, together
from ...model.arrays import FloatArray
from ...model.brief import Brief
from ...model.finding import Finding, Outcome, Severity, not_checked
from ...model.limits import Limits
from ...model.progress import Job, Progress
from ...model.snapshot import Role
from ...performer.fitting import Fitting
from ...performer.grounds import EARS, FRAME
from ...performer.head_frame import HeadFrame
from ..check import Check, LeadingFigure
from .glue import glue_findings, glue_measures, glued_pieces
from .worn_mass import Shared, WornMass, weigh, without_shared, worn_parts

DOUBLED = 0.5
"""Two of a kind that share more than this of the smaller one fill the same place; a seam shares far less."""
STANDARD_GRAVITY_M_S2 = 9.80665
"""3rd General Conference on Weights and Measures, 1901."""
MEASURED_HOURS = 2.0
"""Odell & Dorbala 2024, Work 77:651-658, measured no longer."""
CAUTION = (
    "Load is a warning aid, not a clearance: published figures come from soldiers and aircrew. The performer's own "
    "comfort, rests and local rules decide."
)


@dataclass(frozen=True)
class Lever:
    """Where the worn mass pulls, seen from the head's balance point with the head upright.

    Attributes
    ----------
    front_mm, left_mm, up_mm
        The mass's centre from the balance point.
    front_n_cm, left_n_cm
        Moment that nods the head forward, and that tilts it to the performer's left.
    """

    front_mm: float
    left_mm: float
    up_mm: float
    front_n_cm: float
    left_n_cm: float

    @property
    def moment_n_cm(self) -> float:
        """Size of the moment."""
        return float(np.hypot(self.front_n_cm, self.left_n_cm))


def load(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Report mass and moment against published head-supported figures."""
    parts = worn_parts(fitting)
    if not parts:
        return not_checked("Nothing worn has a volume: give pieces the role 'appliance' or 'hardware'.")
    weighed = []
    for number, part in enumerate(parts):
        yield Progress(number, len(parts) + 1, f"volume of {part.name}")
        weighed.append(fitting.kept.of(weigh, part, fitting.alone(part), brief))
    yield Progress(len(parts), len(parts) + 1, "what pieces share")
    weighed, shared = without_shared(weighed, fitting)
    lever = _lever(weighed, fitting, brief.limits)
    glued = glued_pieces(weighed, fitting)
    findings = (
        *_findings(weighed, lever, fitting, brief.limits, brief.wear.hours),
        *glue_findings(glued, fitting, brief.limits),
        *(_counted_once(each, fitting) for each in shared),
    )
    return Outcome(
        measures=_measures(weighed, lever) | glue_measures(glued, brief.limits),
        findings=findings,
        reason=_unmeasured(weighed, fitting),
        judged={} if any(each.held and each.counts(brief.limits) for each in glued) else {"glue_load_g_cm2": None},
    )


def balance_point_mm(fitting: Fitting, limits: Limits) -> FloatArray | None:
    """Return the head's balance point ``(3,)``, the atlanto-occipital joint, from the tragions; None without them.

    The middles of the occipital condyles lie 18.4 mm behind and 31.0 mm below the ear canals (Chancey et al. 2007,
    doi 10.1016/j.jbiomech.2006.09.007). Here the tragions stand for the canals, and the line from sellion to chin for
    the vertical.
    """
    marks = fitting.snapshot.landmarks
    if not {"tragion_left", "tragion_right"} <= set(marks):
        return None
    frame = HeadFrame.from_landmarks(marks)
    middle = (marks["tragion_left"] + marks["tragion_right"]) / 2.0
    point: FloatArray = middle - limits.balance_behind_mm * frame.front - limits.balance_below_mm * frame.up
    return point


def _lever(weighed: list[WornMass], fitting: Fitting, limits: Limits) -> Lever | None:
    """Return the lever of all that could be weighed; None without a balance point or a mass."""
    balance = balance_point_mm(fitting, limits)
    masses = [Bulk(item.mass_g, item.bulk.centre_mm) for item in weighed if not item.problem]
    whole = together(masses)
    if balance is None or whole.volume_mm3 <= 0.0:
        return None
    return lever_of(whole.volume_mm3, whole.centre_mm - balance, HeadFrame.from_landmarks(fitting.snapshot.landmarks))


def lever_of(mass_g: float, arm_mm: FloatArray, frame: HeadFrame) -> Lever:
    """Return the lever of a mass whose centre is ``arm_mm`` ``(3,)`` from the balance point, head upright."""
    left_mm, front_mm, up_mm = (float(arm_mm @ axis) for axis in (frame.left, frame.front, frame.up))
    weight_n = mass_g / 1000.0 * STANDARD_GRAVITY_M_S2
    return Lever(front_mm, left_mm, up_mm, weight_n * front_mm / 10.0, weight_n * left_mm / 10.0)


def _measures(weighed: list[WornMass], lever: Lever | None) -> dict[str, float | str]:
    nan = float("nan")
    known = [item for item in weighed if not item.problem]
    whole = len(known) == len(weighed)
    measures: dict[str, float | str] = {
        "mass_g": sum(item.mass_g for item in weighed) if whole else nan,
        "piece_mass_g": max((item.heaviest_g for item in known), default=nan),
        "soft_mass_g": sum(item.mass_g for item in weighed if item.part.role == Role.APPLIANCE),
        "moment_n_cm": lever.moment_n_cm if lever and whole else nan,
        "moment_front_n_cm": lever.front_n_cm if lever and whole else nan,
        "moment_left_n_cm": lever.left_n_cm if lever and whole else nan,
        "centre_front_mm": lever.front_mm if lever and whole else nan,
        "centre_left_mm": lever.left_mm if lever and whole else nan,
        "centre_up_mm": lever.up_mm if lever and whole else nan,
        "volume_mm3": sum(item.bulk.volume_mm3 for item in weighed if item.bulk.volume_mm3 > 0.0),
    }
    for item in weighed:
        measures[f"piece_mass_g.{item.part.name}"] = item.mass_g
    return measures


def _unmeasured(weighed: list[WornMass], fitting: Fitting) -> str:
    """Return why mass or moment could not be had, with what to add."""
    reasons = [item.problem for item in weighed if item.problem]
    lacking = [mark for mark in ("tragion_left", "tragion_right") if mark not in fitting.snapshot.landmarks]
    if lacking:
        reasons.append(f"The moment needs the head's balance point: add the landmarks {', '.join(lacking)}.")
    elif HeadFrame.from_landmarks(fitting.snapshot.landmarks).assumed:
        reasons.append("Which way the head faces is not known: add the landmarks sellion and gnathion.")
    return " ".join(reasons)


def _findings(
    weighed: list[WornMass], lever: Lever | None, fitting: Fitting, limits: Limits, hours: float | None
) -> Iterator[Finding]:
    known = [item for item in weighed if not item.problem]
    if not known:
        return
    heaviest = max(known, key=lambda item: item.mass_g)
    total_g = sum(item.mass_g for item in known)
    if lever:
        yield from _moment(lever, heaviest, fitting, limits)
    if total_g > limits.head_mass_g:
        words = f"The design weighs {total_g:.0f} g (limit {limits.head_mass_g:g} g)."
        yield _heavy(heaviest, fitting, Severity.FAIL, words, total_g, limits.head_mass_g, "g", _lighter(heaviest))
    elif total_g > limits.head_mass_review_g:
        limit_g = limits.head_mass_review_g
        words = f"The design weighs {total_g:.0f} g on the head (limit {limit_g:g} g). {_worn_for(hours)}"
        fix = f"{_lighter(heaviest)}, or plan rests without it"
        yield _heavy(heaviest, fitting, Severity.REVIEW, words, total_g, limit_g, "g", fix)


def _worn_for(hours: float | None) -> str:
    """Return what is known of wearing so much for so long."""
    measured = "with 500 g not everyone of 16 people lasted two hours in comfort"
    if hours is None:
        return f"How long it is worn is not stated ([wear] hours); {measured}."
    if hours > MEASURED_HOURS:
        return f"It is worn for {hours:g} hours; {measured}, and nobody measured longer."
    return f"It is worn for {hours:g} hours; {measured}."


def _lighter(item: WornMass) -> str:
    return f"hollow {item.part.name} or make it of something lighter than {item.part.material}"


def _moment(lever: Lever, heaviest: WornMass, fitting: Fitting, limits: Limits) -> Iterator[Finding]:
    moment = lever.moment_n_cm
    if moment <= limits.head_moment_review_n_cm:
        return
    fails = moment > limits.head_moment_n_cm
    limit = limits.head_moment_n_cm if fails else limits.head_moment_review_n_cm
    words = (
        f"The design pulls on the neck with {moment:.0f} N·cm, its centre {lever.front_mm:.0f} mm in front of and "
        f"{abs(lever.left_mm):.0f} mm to the {'left' if lever.left_mm >= 0 else 'right'} of the head's balance point "
        f"(limit {limit:g} N·cm)."
    )
    severity = Severity.FAIL if fails else Severity.REVIEW
    fix = f"{_lighter(heaviest)}; it carries {heaviest.mass_g:.0f} g of the mass"
    yield _heavy(heaviest, fitting, severity, words, moment, limit, "N·cm", fix)


def _heavy(
    item: WornMass,
    fitting: Fitting,
    severity: Severity,
    words: str,
    value: float,
    limit: float,
    unit: str,
    fix: str,
) -> Finding:
    return Finding(
        severity=severity,
        message=words,
        place=fitting.place(item.part.name, item.bulk.centre_mm),
        value=value,
        limit=limit,
        unit=unit,
        fix=fix,
    )


def _counted_once(shared: Shared, fitting: Fitting) -> Finding:
    """Say what was counted once; a soft piece that lies mostly in another of its kind can't be cast as it is drawn."""
    words = (
        f"{shared.part.name} and {shared.other.name} share about {shared.bulk.volume_mm3:.0f} mm³: it was "
        f"counted once, as {shared.other.name}."
    )
    doubled = shared.of_the_smaller > DOUBLED and shared.part.role == shared.other.role
    if doubled:
        words += (
            f" That is {100 * shared.of_the_smaller:.0f} % of the smaller one: either it is there twice, or two "
            "castings are to fill the same place."
        )
    elif {shared.part.role, shared.other.role} == {Role.UPPER_TEETH, Role.LOWER_TEETH}:
        words += " What meets there stands under interference."
    return Finding(
        severity=Severity.REVIEW if doubled else Severity.INFO,
        message=words,
        place=fitting.place(shared.part.name, shared.bulk.centre_mm),
        value=shared.bulk.volume_mm3,
        unit="mm3",
        fix=f"remove one of {shared.part.name} and {shared.other.name}, or cut one back" if doubled else "",
    )


CHECK = Check(
    id="load",
    question="What does it weigh, and where?",
    measure=load,
    measured=(
        ("mass_g", "mass of all appliances, hardware, and teeth that have a material"),
        ("piece_mass_g", "mass of the heaviest piece that hangs together; with a name after a dot, of that object"),
        ("soft_mass_g", "mass of all appliances"),
        ("glue_load_g_cm2", "mass on each cm2 of glue, the hardest piece; with a name after a dot, of that object"),
        ("glued_area_cm2", "area of skin that pieces can be glued to"),
        ("moment_n_cm", "moment of that mass about the head's balance point, head upright"),
        ("moment_front_n_cm", "its share that nods the head forward; negative backward"),
        ("moment_left_n_cm", "its share that tilts the head to the performer's left; negative right"),
        ("centre_front_mm", "the mass's centre in front of the balance point"),
        ("centre_left_mm", "the mass's centre to the performer's left of it"),
        ("centre_up_mm", "the mass's centre above it"),
        ("volume_mm3", "volume of everything weighed"),
    ),
    method=(
        "The volume of a closed object is exact (tetrahedra to each face); cavities that look inward are taken out. "
        "An open skin, or a sculpt that flows into the base, is weighed as all that lies between it and the base. "
        "Times the material's density. What two objects share is counted on a grid and once, as the denser one's. The "
        "moment is weight times the horizontal distance of the mass's centre from the atlanto-occipital joint, placed "
        "from the tragions (occipital condyles 18.4 mm behind and 31.0 mm below the ear canals, Chancey et al. "
        "2007, doi "
        "10.1016/j.jbiomech.2006.09.007); the line from sellion to chin is taken as vertical. Glue carries a "
        "piece's mass, with the hardware on it, over the area it lies on: of an open "
        "piece all the skin beneath, of a shell its inner face within 0.5 mm, of hardware what looks at skin or a "
        "piece within 2 mm."
    ),
    landmarks=(*EARS, *FRAME),
    limits=(
        "head_moment_n_cm",
        "head_moment_review_n_cm",
        "head_mass_review_g",
        "head_mass_g",
        "glue_load_review_g_cm2",
        "glue_load_g_cm2",
        "glue_least_g",
        "balance_behind_mm",
        "balance_below_mm",
    ),
    blind_spots=(
        "Which of what lies on the skin is glued, with what, and what is pinned, screwed or hung on a cap is not "
        "seen, nor how hot the skin beneath gets or how a piece is taken off again. "
        "It weighs the sculpt as solid material: cores, hollows that are not modelled, wigs, glue, paint, wires and "
        "sweat are not in it. It doesn't know what rests there are, how the head is held, or how the performer "
        "feels. Pieces of one object that only partly overlap are counted twice. A closed piece that dips into the "
        "base is weighed with the part that dips."
    ),
    caution=CAUTION,
    material_figures=("density_g_cm3",),
    leading=(
        LeadingFigure("mass_g", "everything worn", "head_mass_review_g"),
        LeadingFigure("piece_mass_g", "heaviest piece"),
        LeadingFigure("glue_load_g_cm2", "pull on the glue, hardest piece", "glue_load_review_g_cm2"),
        LeadingFigure("moment_n_cm", "turning load on the neck", "head_moment_n_cm"),
    ),
)
