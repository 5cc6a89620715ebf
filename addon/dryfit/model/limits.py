"""Every limit with its unit, its reason and its source, in one place.

Provenance words: a paper or standard by name; "common practice, no source"; "from memory" where the
text itself was not seen.
"""

from dataclasses import dataclass, field, fields
from typing import Any


def limit(value: float, unit: str, reason: str, source: str) -> Any:
    """Declare one limit as a dataclass field that carries its unit, reason and source."""
    return field(default=value, metadata={"unit": unit, "reason": reason, "source": source})


PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Limits:
    """What the measures are held against. All of them can be set under [limits] in the brief."""

    additive_tolerance_mm: float = limit(
        0.2, "mm", "scan noise and adhesive; deeper than this means flesh removed", PRACTICE
    )
    additive_patch_area_mm2: float = limit(
        1.0, "mm2", "patches below the base smaller than this are noted, not judged", PRACTICE
    )
    contact_mm: float = limit(
        0.05,
        "mm",
        "a skin nearer to the base than this lies on it",
        "noise floor of a print or scan, 0.05-0.1 mm; " + PRACTICE,
    )
    rim_thickness_review_mm: float = limit(0.15, "mm", "an edge above this may need work to disappear", PRACTICE)
    rim_thickness_mm: float = limit(0.3, "mm", "an edge above this reads on camera", PRACTICE)
    rim_span_mm: float = limit(2.0, "mm", "spans of thick rim shorter than this are noted, not judged", PRACTICE)
    rim_inset_mm: float = limit(
        0.5, "mm", "where a sculpt flows into the base, its rim is read this far inside the contour", PRACTICE
    )
    blend_thickness_mm: float = limit(1.0, "mm", "the blend ends where the piece is this thick", PRACTICE)
    blend_width_mm: float = limit(6.0, "mm", "a blend narrower than this is hard to hide", PRACTICE)
    blend_step_mm: float = limit(2.0, "mm", "a blend narrower than this is a step", PRACTICE)
    lip_seal_mm: float = limit(0.2, "mm", "lips nearer than this are shut", "mesh and scan noise; " + PRACTICE)
    lip_gap_over_bare_mm: float = limit(
        0.8,
        "mm",
        "a gap wider than the bare base's by less than this means nothing: rest poses repeat to 0.8 mm",
        "Tanikawa & Takada 2018, Angle Orthod 88:319-328 (rest MDC95 0.8 mm)",
    )
    lip_gap_review_mm: float = limit(
        3.0,
        "mm",
        "lips further apart than this at rest count as apart",
        "dental dictionary; Proffit (from memory)",
    )
    lip_gap_mm: float = limit(
        5.0,
        "mm",
        "lips this far apart cannot be brought together without strain",
        "Arnett & Bergman 1993 (from memory)",
    )
    lip_yield_mm: float = limit(
        1.5, "mm", "a lip gives way to a tooth or a piece by this much before the jaw stops", PRACTICE
    )
    opening_review_mm: float = limit(
        40.0, "mm", "mouth opening with the design on", "healthy women open 36-56 mm (PMC3428458)"
    )
    opening_mm: float = limit(
        30.0,
        "mm",
        "opening below this counts as impaired",
        "Swiss Dental Journal, maximum mandibular mobility (n=500)",
    )
    tooth_display_review_mm: float = limit(
        3.5,
        "mm",
        "more tooth than this at rest is more than an adult face shows",
        "Vig & Brundo 1978 (from memory): 3.4 mm",
    )
    tooth_display_mm: float = limit(
        5.0,
        "mm",
        "more than the largest mean at any age plus scatter",
        "da Motta et al. 2010, Aust Orthod J 26(1):27-32: 4.45 mm (from memory)",
    )
    exposed_over_bare_mm2: float = limit(
        5.0, "mm2", "tooth area shown beyond what the bare base shows, below which nothing is said", PRACTICE
    )
    axis_sensitivity_mm: float = limit(
        5.0,
        "mm",
        "how far the hinge axis guessed from landmarks may be off",
        "Simpson et al. 1984, J Prosthet Dent (true to arbitrary axis 4.1-4.4 mm mean)",
    )


def described_limits(limits: Limits) -> dict[str, dict[str, Any]]:
    """Return every limit as ``{name: {value, unit, reason, source}}``, in declared order."""
    return {
        entry.name: {"value": getattr(limits, entry.name), **entry.metadata}
        for entry in fields(limits)
    }  # fmt: skip
