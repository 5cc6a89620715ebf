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
    lip_rest_mm: float = limit(
        3.0,
        "mm",
        "a bare face whose lips stay further apart than this at the pose taken for closed excuses nothing, and closing "
        "cannot be judged from it",
        "interlabial gap at rest 1.1 mm (SD 1.4 men, 1.7 women): Scientific World Journal 2013, 806203, table 2; over "
        "3 mm is called lips apart (dental dictionary)",
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
    lip_reach_mm: float = limit(
        0.0,
        "mm",
        "this performer's own reach: the gap that the lips can just close by themselves with the teeth held apart; "
        "0 means not known, and lip_gap_mm stands in",
        "measured on the performer",
    )
    over_closure_mm: float = limit(
        4.0,
        "mm",
        "a chin that must rise further than this past its closed place before the lips meet is over-closed",
        "freeway space 2-4 mm (exam notes): what is left to close from rest",
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
    tooth_display_scatter_mm: float = limit(
        1.9,
        "mm",
        "with the performer's age stated: what is shown beyond the mean of that age and this stands out",
        "Scientific World Journal 2013, 806203, table 2: standard deviation of 1.8 (men) and 1.9 mm (women)",
    )
    overlap_hard_review_mm: float = limit(
        0.2, "mm", "teeth and hardware that overlap by less only touch", "mesh and scan noise; " + PRACTICE
    )
    overlap_hard_mm: float = limit(
        0.5, "mm", "teeth and hardware cannot pass each other; overlap by more must be cut away", PRACTICE
    )
    overlap_flesh_review_mm: float = limit(
        1.5, "mm", "lips, skin and soft pieces give way to a tooth or a casting by this much", PRACTICE
    )
    overlap_flesh_mm: float = limit(
        3.0, "mm", "pressed deeper than this, lips, skin and soft pieces bruise, tear or come off", PRACTICE
    )
    overlap_soft_review_mm: float = limit(1.0, "mm", "two soft pieces that meet by less give way unseen", PRACTICE)
    overlap_soft_mm: float = limit(
        3.0, "mm", "two soft pieces that meet by more buckle or lift each other's edges", PRACTICE
    )
    strain_review_share: float = limit(
        0.5, "of the material's max_strain", "stretched this far on every repeat of a motion, a piece tires", PRACTICE
    )
    strain_share: float = limit(
        1.0, "of the material's max_strain", "here the material breaks", "definition of elongation at break"
    )
    strain_patch_area_mm2: float = limit(
        4.0, "mm2", "overstretched patches smaller than this are noted, not judged", "coarse triangles; " + PRACTICE
    )
    buckle_stretch: float = limit(
        0.65,
        "of the length at rest",
        "rubber shortened below this folds into sharp creases of its own",
        "Hong, Zhao & Suo 2009, Appl Phys Lett 95:111901: creasing at 0.35 compressive strain (from memory)",
    )
    buckle_area_mm2: float = limit(100.0, "mm2", "creased area above this shows", PRACTICE)
    rim_skin_strain: float = limit(
        0.6,
        "fraction of length",
        "an edge on skin that lengthens or shortens by more than facial skin was measured to works loose",
        "Hsu et al. 2014, PRS Global Open 2(9):e211: 0.34-0.62 round the mouth and in the nasolabial fold",
    )
    rim_motion_span_mm: float = limit(
        10.0, "mm", "spans of rim on moving skin shorter than this are noted, not judged", PRACTICE
    )
    lid_gap_review_mm: float = limit(
        0.2, "mm", "lids kept further apart than the bare lids by more than this", "mesh and scan noise; " + PRACTICE
    )
    lid_gap_mm: float = limit(1.0, "mm", "lids kept this far apart leave the eye dry", PRACTICE)
    lid_contact_mm: float = limit(
        0.3, "mm", "a piece that presses deeper than this into a lid has met it", "mesh and scan noise; " + PRACTICE
    )
    eye_clearance_review_mm: float = limit(2.0, "mm", "a piece nearer to the eye than this may touch it", PRACTICE)
    eye_clearance_mm: float = limit(0.5, "mm", "a piece nearer to the eye than this counts as touching", PRACTICE)
    sight_width_review_deg: float = limit(
        160.0,
        "deg",
        "width of both eyes' field; below it corners must be looked into by turning the head",
        "EU Directive 2009/113/EC, group 2 drivers (as quoted in UK advice): a reference, no clearance",
    )
    sight_width_deg: float = limit(
        120.0,
        "deg",
        "width of both eyes' field below which walking among people and props is no longer safe alone",
        "EU Directive 2009/113/EC, group 1 drivers: a reference, no clearance",
    )
    sight_side_deg: float = limit(
        50.0,
        "deg",
        "field to one side below which what comes from there is not seen",
        "EU Directive 2009/113/EC, group 1 drivers: a reference, no clearance",
    )
    sight_fraction: float = limit(
        0.7,
        "of the bare field",
        "share of one eye's own field that is left",
        "EN 136:1998, 7.14 (from memory): a reference, no requirement",
    )
    sight_ellipse_cut: float = limit(
        0.1,
        "fraction",
        "share cut from the ellipse, 22 by 20 mm at 25 mm, that an eye protector leaves free",
        "EN 166, 7.1.1 with EN 168, 17-18 for the ellipse; the share is " + PRACTICE,
    )
    nostril_open_review: float = limit(0.85, "of the bare opening", "one nostril partly covered", PRACTICE)
    nostril_open: float = limit(0.70, "of the bare opening", "one nostril covered enough to be felt", PRACTICE)
    mouth_open_area_review: float = limit(
        0.8, "of the bare opening", "mouth opening wide open with the design on", PRACTICE
    )
    mouth_open_area: float = limit(
        0.5, "of the bare opening", "mouth opening left for breath when the nose is blocked", PRACTICE
    )
    axis_sensitivity_mm: float = limit(
        5.0,
        "mm",
        "how far the hinge axis guessed from landmarks may be off",
        "Simpson et al. 1984, J Prosthet Dent (true to arbitrary axis 4.1-4.4 mm mean)",
    )
    slide_sensitivity: float = limit(
        1.0,
        "share",
        "how far the hinge's slide may be off: 1 tries a jaw that only turns and one that slides twice as far, 0 means "
        "that the slide is known",
        "Leader et al. 2003, J Biomech 36:275-281 (about 1.5 degrees a millimetre, n = 2); Mapelli et al. 2009 (always "
        "more turn than slide); Mehl et al. 2025, Clin Oral Investig (centre 32.4 mm below the condyle, SD 7.4)",
    )
    interior_mm: float = limit(
        0.15, "mm", "interior of a piece whose material states no minimum wall, or that has no material", PRACTICE
    )
    bridged_mm: float = limit(
        2.0, "mm", "a thin groove is held by what is thick on either side, up to twice this in width", PRACTICE
    )
    blend_width_most_mm: float = limit(
        15.0, "mm", "nearer to the rim than this a thin sheet is still the blend (blends are 6-15 mm wide)", PRACTICE
    )
    thin_patch_area_mm2: float = limit(
        1.0, "mm2", "thin or thick places smaller than this are noted, not judged", PRACTICE
    )
    mobile_thickness_review_mm: float = limit(
        3.0, "mm", "over lips, lids and nasolabial folds a thicker piece moves less than the face", PRACTICE
    )
    mobile_thickness_mm: float = limit(
        6.0, "mm", "thicker than this over lips, lids or folds the piece no longer follows the face", PRACTICE
    )
    lip_zone_mm: float = limit(
        9.0,
        "mm",
        "how far from the line between the lips the lip zone reaches (vermilion about 8-10 mm a lip)",
        PRACTICE,
    )
    lid_zone_mm: float = limit(9.0, "mm", "how far from the eye's corner-to-corner line the lid zone reaches", PRACTICE)
    fold_zone_mm: float = limit(5.0, "mm", "how far from the nasolabial fold its zone reaches", PRACTICE)
    head_moment_review_n_cm: float = limit(
        82.8,
        "N.cm",
        "moment of the worn mass about the head's balance point",
        "McEntire & Shanahan 1998, USAARL (from memory)",
    )
    head_moment_n_cm: float = limit(
        134.0,
        "N.cm",
        "moment at which dismounted soldiers (n = 21) lost 10 % of performance",
        "Madison et al. 2023, Mil Med 188(S6):520-528 (preliminary)",
    )
    head_mass_g: float = limit(
        2500.0, "g", "head-supported mass in aviation", "McEntire & Shanahan 1998, USAARL (from memory)"
    )
    glued_mass_g: float = limit(300.0, "g", "soft pieces held by adhesive alone, all together", PRACTICE)
    piece_mass_g: float = limit(100.0, "g", "a heavier piece wants mechanical retention, not adhesive alone", PRACTICE)
    balance_behind_mm: float = limit(
        11.0,
        "mm",
        "how far the head's balance point (atlanto-occipital joint) lies behind the tragions",
        "Ewing & Thomas 1972; Thunnissen et al. 1995, SAE 952721 (from memory, from the ear canals)",
    )
    balance_below_mm: float = limit(
        26.0,
        "mm",
        "how far the head's balance point (atlanto-occipital joint) lies below the tragions",
        "Ewing & Thomas 1972; Thunnissen et al. 1995, SAE 952721 (from memory, from the ear canals)",
    )
    undercut_mm: float = limit(
        0.25,
        "mm",
        "overhang below which an undercut means nothing, also to a rigid casting",
        "smallest dental undercut gauge, 0.25 mm (from memory)",
    )
    undercut_area_mm2: float = limit(5.0, "mm2", "undercuts smaller than this are left out", PRACTICE)
    mould_flange_mm: float = limit(
        10.0, "mm", "how far beside a piece the outer half of its mould rests on the face", PRACTICE
    )
    wall_patch_area_mm2: float = limit(
        4.0, "mm2", "thin walls of rigid parts smaller than this, such as tips and pins, are not judged", PRACTICE
    )
    forgiven_stretch: float = limit(
        0.1,
        "share",
        "overhang over width that a piece is taken to forgive where its material states none (flexible: 10-20 %)",
        PRACTICE,
    )
    base_moved_mm: float = limit(
        0.05,
        "mm",
        "a base that moved less than this measures the same",
        "noise floor of a print or scan, 0.05-0.1 mm; " + PRACTICE,
    )


def described_limits(limits: Limits) -> dict[str, dict[str, Any]]:
    """Return every limit as ``{name: {value, unit, reason, source}}``, in declared order."""
    return {
        entry.name: {"value": getattr(limits, entry.name), **entry.metadata}
        for entry in fields(limits)
    }  # fmt: skip
