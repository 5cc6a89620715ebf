"""Every limit with its unit, its reason, its bounds and what it rests on, in one place.

One of three words stands beside each (``limit_basis``): *measured*, where the source was seen; *practice*, where the
trade does so and nobody published it; *choice*, where the figure is the project's own. A text that was recalled and
not seen is named as such and makes no limit a measured one.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from .limit_basis import choice, measured, practice

NOISE = "finer than what meshes and scans resolve"
DRIVERS = "EU Directive 2009/113/EC rules so for drivers of"
AVIATION = "McEntire & Shanahan 1998, USAARL"
SHOW_MOST = (
    "the adults who show most, Turkish women of 20-27: upper incisors 3.2 mm, SD 1.9 (Scientific World Journal 2013, "
    "806203, table 2)"
)
CONDYLES = "Chancey et al. 2007, J Biomech 40:1953-1959, doi 10.1016/j.jbiomech.2006.09.007"


@dataclass(frozen=True)
class Limits:
    """What the measures are held against. All of them can be set under [limits] in the brief."""

    additive_tolerance_mm: float = practice(
        0.2, "mm", "scan noise and adhesive; deeper than this means flesh removed", bounds=(0, 10)
    )
    additive_patch_area_mm2: float = practice(
        1.0, "mm2", "patches below the base smaller than this are noted, not judged", bounds=(0, 100)
    )
    contact_mm: float = practice(
        0.05,
        "mm",
        "a skin nearer to the base than this lies on it: the noise floor of a print or scan is 0.05-0.1 mm",
        bounds=(0, 0.5),
    )
    rim_thickness_review_mm: float = practice(
        0.15, "mm", "an edge above this may need work to disappear", bounds=(0, 5)
    )
    rim_thickness_mm: float = practice(0.3, "mm", "an edge above this reads on camera", bounds=(0, 5))
    rim_span_mm: float = practice(
        2.0, "mm", "spans of thick rim shorter than this are noted, not judged", bounds=(0, 50)
    )
    rim_inset_mm: float = choice(
        0.5,
        "mm",
        "where a sculpt flows into the base, its rim is read this far inside the contour",
        why="at the contour itself a sculpt has no thickness by definition",
        bounds=(0, 5),
    )
    blend_thickness_mm: float = practice(1.0, "mm", "the blend ends where the piece is this thick", bounds=(0.1, 10))
    blend_width_mm: float = practice(6.0, "mm", "a blend narrower than this is hard to hide", bounds=(0, 50))
    blend_step_mm: float = practice(2.0, "mm", "a blend narrower than this is a step", bounds=(0, 50))
    lip_seal_mm: float = choice(0.2, "mm", "lips nearer than this are shut", why=NOISE, bounds=(0, 1))
    lip_gap_over_bare_mm: float = choice(
        0.8,
        "mm",
        "a gap wider than the bare base's by less than this means nothing",
        why="rest poses repeat to 0.8 mm a point and axis (Tanikawa & Takada 2018, Angle Orthod 88:319-328: mean of "
        "6,017 points of the face, n = 12); between two points that is 1.1 mm, so this is strict",
        bounds=(0, 3),
    )
    lip_rest_mm: float = choice(
        3.0,
        "mm",
        "a bare face whose lips stay further apart than this at the pose taken for closed excuses nothing, and closing "
        "cannot be judged from it",
        why="at rest Turks of 20-27 years keep 1.1 mm (SD 1.4 men, 1.7 women; Scientific World Journal 2013, 806203, "
        "table 2); a dental dictionary (no year, no people; relaxed and smiling) ends the gap at 3 mm",
        bounds=(0, 15),
    )
    lip_gap_review_mm: float = choice(
        3.0,
        "mm",
        "lips further apart than this at rest count as apart",
        why="a dental dictionary's upper limit of the gap, of people relaxed and smiling; no year, no people",
        recalled="Proffit, Contemporary Orthodontics",
        bounds=(0, 15),
    )
    lip_gap_mm: float = choice(
        5.0,
        "mm",
        "lips further apart than this with the teeth held are taken to be out of reach, where the performer's own "
        "reach is not stated",
        why="no source says how far lips reach when they try; up to here they are apart in normal rest, and what lies "
        "beyond would take effort all day that nobody measured, so it fails until the performer shows it",
        recalled="Arnett & Bergman 1993, normal rest 1-5 mm",
        bounds=(0, 30),
    )
    lip_reach_mm: float = choice(
        0.0,
        "mm",
        "this performer's own reach: the gap that the lips can just close by themselves with the teeth held apart; "
        "0 means not known, and lip_gap_mm stands in",
        why="only the performer can show it, so there is no figure to start from",
        bounds=(0, 40),
    )
    over_closure_mm: float = choice(
        1.0,
        "mm",
        "a chin that must rise further than this past its closed place before the lips meet is over-closed",
        why="freeway space, 2-4 mm, runs from rest to tooth contact and is no room past contact; whether a face was "
        "scanned at rest or with its teeth together is not known, so no more than the noise of a pose is free (0.8 mm "
        "a point and axis, Tanikawa & Takada 2018, Angle Orthod 88:319-328, n = 12). State more for a scan at rest",
        bounds=(0, 20),
    )
    lip_yield_mm: float = practice(
        1.5, "mm", "a lip gives way to a tooth or a piece by this much before the jaw stops", bounds=(0, 5)
    )
    opening_review_mm: float = choice(
        40.0,
        "mm",
        "opening between the incisal edges with the design on",
        why="894 Indians of 21-70 years opened 51.3 mm (SD 8.3, men) and 44.3 mm (SD 6.7, women; range 36-56) between "
        "the incisal edges (PMC3428458, year not seen)",
        bounds=(0, 80),
    )
    opening_mm: float = measured(
        30.0,
        "mm",
        "opening between the incisal edges below this counts as impaired",
        source="Tuerp 2020, Swiss Dent J 130:668",
        people="500 patients with jaw disorders",
        what="opening between the incisal edges, cut-off proposed by the author",
        bounds=(0, 80),
    )
    tooth_display_review_mm: float = choice(
        5.1,
        "mm",
        "more of any tooth than this at rest, from any view, is to be looked at",
        why=f"one standard deviation over the mean of {SHOW_MOST}; other teeth and views were not measured",
        bounds=(0, 30),
    )
    tooth_display_mm: float = choice(
        7.0,
        "mm",
        "more of any tooth than this at rest, from any view, stands out",
        why=f"two standard deviations over the mean of {SHOW_MOST}; other teeth and views were not measured",
        bounds=(0, 40),
    )
    tooth_display_scatter_mm: float = choice(
        1.9,
        "mm",
        "with the performer's age stated: how far people scatter about the mean of that age, where no scatter was "
        "seen for it; then more than mean and this is to be looked at, and no norm makes it fail",
        why="the largest standard deviation seen of any group, that of Turkish women of 20-27 (Scientific World "
        "Journal 2013, 806203, table 2)",
        bounds=(0, 10),
    )
    overlap_hard_review_mm: float = choice(
        0.2, "mm", "teeth and hardware that overlap by less only touch", why=NOISE, bounds=(0, 3)
    )
    overlap_hard_mm: float = practice(
        0.5, "mm", "teeth and hardware cannot pass each other; overlap by more must be cut away", bounds=(0, 5)
    )
    overlap_flesh_review_mm: float = practice(
        1.5, "mm", "lips, skin and soft pieces give way to a tooth or a casting by this much", bounds=(0, 10)
    )
    overlap_flesh_mm: float = practice(
        3.0, "mm", "pressed deeper than this, lips, skin and soft pieces bruise, tear or come off", bounds=(0, 15)
    )
    overlap_soft_review_mm: float = practice(
        1.0, "mm", "two soft pieces that meet by less give way unseen", bounds=(0, 10)
    )
    overlap_soft_mm: float = practice(
        3.0, "mm", "two soft pieces that meet by more buckle or lift each other's edges", bounds=(0, 15)
    )
    strain_review_share: float = practice(
        0.5,
        "of the material's max_strain",
        "stretched this far on every repeat of a motion, a piece tires",
        bounds=(0.01, 1),
    )
    strain_share: float = choice(
        1.0,
        "of the material's max_strain",
        "here the material breaks",
        why="so elongation at break is defined",
        bounds=(0.01, 1),
    )
    strain_patch_area_mm2: float = choice(
        4.0,
        "mm2",
        "overstretched patches smaller than this are noted, not judged",
        why="one coarse triangle can be so large, and its stretch is not the piece's",
        bounds=(0, 400),
    )
    buckle_stretch: float = choice(
        0.65,
        "of the length at rest",
        "solid rubber shortened below this, while it keeps its length across, folds into sharp creases of its own; one "
        "that shortens across too does so sooner, one that lengthens across later",
        why="theory of a neo-Hookean solid: 35.6 % in plane strain (arXiv 1904.09337, 2019); pieces are no half space",
        recalled="Hong, Zhao & Suo 2009, Appl Phys Lett 95:111901: 0.35 in plane strain, 0.25 equibiaxial",
        bounds=(0.3, 1),
    )
    skinned_buckle_stretch: float = choice(
        0.83,
        "of the length at rest",
        "the same for a soft body under a stiffer skin, such as an encapsulated gel or thick paint, which "
        "wrinkles sooner",
        why="theory of stiff skins on soft bodies, wrinkling from about 0.17; how much stiffer a piece's skin is, is "
        "not known",
        recalled="Diab et al.",
        bounds=(0.3, 1),
    )
    buckle_area_mm2: float = practice(100.0, "mm2", "creased area above this shows", bounds=(0, 5000))
    rim_skin_strain: float = choice(
        0.6,
        "fraction of length",
        "an edge on skin that lengthens by more than this is asked more than faces ordinarily do, and to be looked at",
        why="no source says when an edge lifts; skin lengthens by 0.33-0.62 on average of groups round mouth and "
        "nasolabial fold (Hsu et al. 2014, PRS Global Open 2(9):e211, n = 13), which says nothing of edges",
        bounds=(0.01, 3),
    )
    rim_skin_shortening: float = choice(
        0.35,
        "fraction of length",
        "an edge on skin that shortens by more than this folds with it; noted, not judged, for the bare face does it "
        "too",
        why="where solid rubber creases in plane strain (buckle_stretch); nobody measured edges",
        bounds=(0.01, 0.99),
    )
    rim_motion_span_mm: float = practice(
        10.0, "mm", "spans of rim on moving skin shorter than this are noted, not judged", bounds=(0, 200)
    )
    lid_gap_review_mm: float = choice(
        0.2, "mm", "lids kept further apart than the bare lids by more than this", why=NOISE, bounds=(0, 3)
    )
    lid_gap_mm: float = practice(1.0, "mm", "lids kept this far apart leave the eye dry", bounds=(0, 5))
    lid_contact_mm: float = choice(
        0.3, "mm", "a piece that presses deeper than this into a lid has met it", why=NOISE, bounds=(0, 3)
    )
    eye_clearance_review_mm: float = practice(
        2.0, "mm", "a piece nearer to the eye than this may touch it", bounds=(0, 20)
    )
    eye_clearance_mm: float = practice(
        0.5, "mm", "a piece nearer to the eye than this counts as touching", bounds=(0, 20)
    )
    sight_width_review_deg: float = choice(
        160.0,
        "deg",
        "width of both eyes' field; below it corners must be looked into by turning the head",
        why=f"{DRIVERS} group 2 (as quoted in UK advice): a reference, no clearance",
        bounds=(0, 220),
    )
    sight_width_deg: float = choice(
        120.0,
        "deg",
        "width of both eyes' field below which a performer is led",
        why=f"{DRIVERS} group 1; for walking on a set no figure was found: a reference, no clearance",
        bounds=(0, 220),
    )
    sight_side_deg: float = choice(
        50.0,
        "deg",
        "field to one side below which what comes from there is not seen",
        why=f"{DRIVERS} group 1: a reference, no clearance",
        bounds=(0, 110),
    )
    sight_fraction: float = choice(
        0.7,
        "of the bare field",
        "share that is left of what both bare eyes together see, by solid angle",
        why="a reference taken from breathing masks, no requirement; their chart may weigh the field otherwise",
        recalled="EN 136:1998, 7.14, 70 % of the effective field of both eyes",
        bounds=(0, 1),
    )
    sight_eye_fraction: float = choice(
        0.7,
        "of the bare field",
        "share of one eye's own field that is left, by solid angle",
        why="no source is about one eye alone; as much as is asked of both, so that a covered eye is not overlooked",
        bounds=(0, 1),
    )
    sight_ellipse_cut: float = choice(
        0.1,
        "fraction",
        "share cut from the ellipse, 22 by 20 mm at 25 mm, that an eye protector leaves free",
        why="the ellipse is EN 166, 7.1.1 with EN 168, 17-18 (as tabulated in Health Technol 2020, 00429-2, table 1), "
        "which lets nothing be cut; a face is no goggle, so a tenth is let pass",
        bounds=(0, 1),
    )
    nostril_open_review: float = practice(0.85, "of the bare opening", "one nostril partly covered", bounds=(0, 1))
    nostril_open: float = practice(0.70, "of the bare opening", "one nostril covered enough to be felt", bounds=(0, 1))
    way_out_review: float = choice(
        0.02,
        "of the ways out",
        "what is worn encloses nose and mouth where fewer straight ways than this lead from the nostrils into the open",
        why="a mask with open eyes leaves more; air that goes round corners is not followed, so this asks and 0 fails",
        bounds=(0, 0.5),
    )
    mouth_open_area_review: float = practice(
        0.8, "of the bare opening", "mouth opening wide open with the design on", bounds=(0, 1)
    )
    mouth_open_area: float = practice(
        0.5, "of the bare opening", "mouth opening left for breath when the nose is blocked", bounds=(0, 1)
    )
    axis_sensitivity_mm: float = measured(
        5.0,
        "mm",
        "how far the hinge axis guessed from landmarks may be off",
        source="Simpson et al. 1984, J Prosthet Dent; IADR abstract 2012",
        people="8 people for the mean; the share within 5 mm is from that paper's review",
        what="true to arbitrary hinge axis, mean 4.1-4.4 mm, range 2.8-9.3",
        bounds=(0, 20),
    )
    slide_sensitivity: float = choice(
        1.0,
        "share",
        "how far the hinge's slide may be off: 1 tries a jaw that only turns and one that slides twice as far, 0 means "
        "that the slide is known",
        why="published jaws differ: about 1.5 degrees a millimetre (Leader et al. 2003, J Biomech 36:275-281, n = 2), "
        "always more turn than slide (Mapelli et al. 2009, Clin Anat, n = 26), centre 32.4 mm below it, SD 7.4 "
        "(Mehl et al. 2025, Clin Oral Investig)",
        bounds=(0, 1),
    )
    interior_mm: float = practice(
        0.15,
        "mm",
        "interior of a piece whose material states no minimum wall, or that has no material",
        bounds=(0, 10),
    )
    bridged_mm: float = practice(
        2.0, "mm", "a thin groove is held by what is thick on either side, up to twice this in width", bounds=(0, 20)
    )
    blend_width_most_mm: float = practice(
        15.0,
        "mm",
        "nearer to the rim than this a thin sheet is still the blend (blends are 6-15 mm wide)",
        bounds=(0, 60),
    )
    thin_patch_area_mm2: float = practice(
        1.0, "mm2", "thin or thick places smaller than this are noted, not judged", bounds=(0, 100)
    )
    mobile_thickness_review_mm: float = practice(
        3.0, "mm", "over lips, lids and nasolabial folds a thicker piece moves less than the face", bounds=(0, 30)
    )
    mobile_thickness_mm: float = practice(
        6.0, "mm", "thicker than this over lips, lids or folds the piece no longer follows the face", bounds=(0, 50)
    )
    lip_zone_mm: float = practice(
        9.0,
        "mm",
        "how far from the line between the lips the lip zone reaches (vermilion about 8-10 mm a lip)",
        bounds=(0, 30),
    )
    lid_zone_mm: float = practice(
        9.0, "mm", "how far from the eye's corner-to-corner line the lid zone reaches", bounds=(0, 30)
    )
    fold_zone_mm: float = practice(5.0, "mm", "how far from the nasolabial fold its zone reaches", bounds=(0, 30))
    head_moment_review_n_cm: float = choice(
        82.8,
        "N.cm",
        "moment of the worn mass about the head's balance point",
        why="taken from aviation, where helmets are flown with",
        recalled=AVIATION,
        bounds=(0, 500),
    )
    head_moment_n_cm: float = measured(
        134.0,
        "N.cm",
        "moment at which dismounted soldiers lost 10 % of performance",
        source="Madison et al. 2023, Mil Med 188(S6):520-528 (preliminary)",
        people="21 soldiers",
        what="moment of head-supported mass about the atlanto-occipital joint",
        bounds=(0, 500),
    )
    head_mass_review_g: float = measured(
        500.0,
        "g",
        "mass on the head from which on not everyone wears it for two hours in comfort",
        source="Odell & Dorbala 2024, Work 77:651-658, doi 10.3233/wor-220689",
        people="16 people in an office",
        what="time until more than mild discomfort with headsets of 500-600 g, up to two hours; nothing was measured "
        "below 500 g or longer",
        bounds=(1, 10000),
    )
    head_mass_g: float = choice(
        2500.0,
        "g",
        "head-supported mass in aviation",
        why="taken from aviation, where helmets are flown with",
        recalled=AVIATION,
        bounds=(1, 10000),
    )
    glue_load_review_g_cm2: float = choice(
        1.0,
        "g/cm2",
        "glue that carries more than this on each square centimetre wants a look: a centimetre of silicone",
        why="a third of what fails",
        bounds=(0.01, 100),
    )
    glue_load_g_cm2: float = choice(
        3.0,
        "g/cm2",
        "soft pieces that hang more than this on each square centimetre of their glue come off at a start or a stop",
        why="a piece 10 cm tall then hangs by its upper edge with 29 N/m, which 2.4 times its weight makes half of "
        "what a medical tape held on forearms (Karwoski & Plaut 2004, Skin Res Technol, doi "
        "10.1111/j.1600-0846.2004.00082.x, abstract seen: 3.6 N on 25.4 mm)",
        bounds=(0.01, 100),
    )
    glue_least_g: float = choice(
        10.0,
        "g",
        "the glue of hardware lighter than this is not judged",
        why="studs and scales hang by a short lever, and a drop of glue holds a coin",
        bounds=(0, 1000),
    )
    balance_behind_mm: float = measured(
        18.4,
        "mm",
        "how far the head's balance point (occipital condyles) lies behind the tragions",
        source=CONDYLES,
        people="human specimens, their number not in the abstract",
        what="middle of each condyle's surface behind the ear canal, for which the tragion stands here; the measured "
        "centre of rotation of skull on atlas is 22.5 mm behind",
        bounds=(0, 60),
    )
    balance_below_mm: float = measured(
        31.0,
        "mm",
        "how far the head's balance point (occipital condyles) lies below the tragions",
        source=CONDYLES,
        people="human specimens, their number not in the abstract",
        what="middle of each condyle's surface below the ear canal, for which the tragion stands here; the measured "
        "centre of rotation of skull on atlas is 22.6 mm below",
        bounds=(0, 80),
    )
    undercut_mm: float = choice(
        0.1,
        "mm",
        "overhang below which an undercut is left out, also for a rigid casting",
        why="as fine as prints and scans are; 0.25 mm is no figure for it: that much is looked for where a cast clasp "
        "is to hold on a tooth",
        recalled="dental undercut gauges of 0.25, 0.50 and 0.75 mm",
        bounds=(0, 5),
    )
    undercut_area_mm2: float = practice(5.0, "mm2", "undercuts smaller than this are left out", bounds=(0, 500))
    mould_flange_mm: float = practice(
        10.0, "mm", "how far beside a piece the outer half of its mould rests on the face", bounds=(0, 100)
    )
    wall_patch_area_mm2: float = practice(
        4.0,
        "mm2",
        "thin walls of rigid parts smaller than this, such as tips and pins, are not judged",
        bounds=(0, 400),
    )
    forgiven_stretch: float = practice(
        0.1,
        "strain",
        "strain that a casting is taken to bear on its way off an undercut where its material states none (flexible: "
        "10-20 %)",
        bounds=(0, 1),
    )
    mould_peel_mm: float = practice(
        10.0, "mm", "overhang up to which a rubber mould in a jacket is peeled off a piece", bounds=(0, 100)
    )
    base_moved_mm: float = practice(
        0.05,
        "mm",
        "a base that moved less than this measures the same: the noise floor of a print or scan is 0.05-0.1 mm",
        bounds=(0, 1),
    )
    edge_strain_share: float = choice(
        0.25,
        "of the stretch that breaks it",
        "an edge tears from its nicks: it is reviewed from here on, and fails where the piece itself is reviewed",
        why="half of strain_review_share, as it stretches two to three times as far beside a nick as around it",
        recalled="Kirsch 1898, Z Ver Dtsch Ing 42:797-807, a round hole",
        bounds=(0, 1),
    )
    edge_band_mm: float = practice(3.0, "mm", "how far from its rim a piece counts as edge in strain", bounds=(0, 20))
    glue_line_j_m2: float = choice(
        70.0,
        "J/m2",
        "a stretched piece that gives back more than this when it lets go peels itself off once a spot is loose",
        why="half, for sweat and hours, of the most that a medical tape held on four forearms: 3.6 N on 25.4 mm, "
        "142 J/m2 if pulled off upright (Karwoski & Plaut 2004, Skin Res Technol, doi "
        "10.1111/j.1600-0846.2004.00082.x, abstract seen)",
        bounds=(1, 1000),
    )
    mobile_stiffness_kpa: float = choice(
        200.0,
        "kPa",
        "how stiff the material is that thicknesses over moving zones are said of: a softer one may be thicker, a "
        "stiffer one less, until it bends as hard (stiffness times thickness cubed)",
        why="the silicone of the materials' list, which the practice figures are taken to mean",
        bounds=(1, 100000),
    )
    lid_thickness_review_mm: float = practice(1.0, "mm", "on a lid a thicker piece weighs on the blink", bounds=(0, 10))
    lid_thickness_mm: float = choice(
        2.0,
        "mm",
        "thicker than this on a lid a piece hinders it",
        why="twice what practice keeps under",
        bounds=(0, 10),
    )
    cheek_thickness_review_mm: float = practice(6.0, "mm", "cheeks move under 3 to 6 mm", bounds=(0, 50))
    cheek_thickness_mm: float = practice(10.0, "mm", "thicker than this belongs over bone only", bounds=(0, 50))
    cheek_zone_mm: float = practice(
        15.0,
        "mm",
        "how far from its middle line, beside the corner of the mouth, the moving cheek reaches",
        bounds=(0, 50),
    )
    melting_edge_mm: float = choice(
        0.5,
        "mm",
        "an edge that melts into the skin may come out of the mould this thick; it is reviewed above rim_thickness_mm",
        why="what solvent or warm water can thin on the day",
        bounds=(0, 5),
    )
    close_edge_review_mm: float = practice(
        0.1, "mm", "an edge in close-up, or on a line that moves, is looked at above this", bounds=(0, 5)
    )
    close_edge_mm: float = practice(0.25, "mm", "an edge in close-up above this reads on camera", bounds=(0, 5))
    moving_edge_mm: float = choice(
        0.2,
        "mm",
        "an edge on a line that moves lifts and throws a shadow above this",
        why="between the limits of a close-up's edge and of one on skin that rests",
        bounds=(0, 5),
    )
    hidden_edge_mm: float = choice(
        1.0,
        "mm",
        "an edge under hair, hat or costume above this still shows as a step there",
        why="there a blend may begin where it otherwise ends",
        bounds=(0, 20),
    )
    uncast_edge_mm: float = choice(
        3.0,
        "mm",
        "a rim sculpted thinner than its material is cast with, over a wider band than this, is missing from the "
        "casting",
        why="half of a narrow blend",
        bounds=(0, 50),
    )
    edge_line_mm: float = practice(
        5.0,
        "mm",
        "an edge nearer than this to a lid's margin, the vermilion or a nostril's rim is worked loose, and one this "
        "near to a nasolabial fold lies on a line that moves",
        bounds=(0, 30),
    )
    overlap_width_mm: float = practice(
        5.0, "mm", "where one piece overlaps another by less than this, the joint opens", bounds=(0, 50)
    )
    overlap_most_mm: float = practice(
        10.0, "mm", "an overlap wider than this is noted: both pieces' thicknesses add up there", bounds=(0, 100)
    )
    ear_open_review: float = choice(
        0.5,
        "of the bare opening",
        "an ear covered further than this hears cues and warnings late",
        why="half is where most of what comes from one side comes from behind something",
        bounds=(0, 1),
    )
    sight_down_review_deg: float = choice(
        45.0,
        "deg",
        "sight downward below which the ground two steps ahead is not seen without bowing the head",
        why="eyes 1.6 m up see the ground from 1.6 m ahead at 45 degrees",
        recalled="UN Regulation 22, 6.15: what a motorcycle helmet leaves free downward",
        bounds=(0, 90),
    )
    sight_down_deg: float = choice(
        30.0,
        "deg",
        "sight downward below which stairs and edges are not seen before one is on them",
        why=f"{DRIVERS} group 2 (as quoted in UK advice): a reference, no clearance",
        bounds=(0, 90),
    )


ENTRIES = {entry.name: entry for entry in fields(Limits)}
"""Each limit's field, which carries what is known of it, by its name."""

RETIRED = {
    "glued_mass_g": "glue is judged by glue_load_g_cm2, grams on each square centimetre, and not by grams in all",
    "piece_mass_g": "glue is judged by glue_load_g_cm2, grams on each square centimetre, and not by grams a piece",
}
"""Limits of earlier versions that briefs and files may still state, and what is said where they do."""

LISTED = ("unit", "reason", "source", "basis", "from_memory", "least", "most")
"""What a list of limits says of each, in this order, after its value."""


def described_limits(limits: Limits) -> dict[str, dict[str, Any]]:
    """Return every limit as ``{name: {value, unit, reason, source, basis, from_memory, least, most}}``, as declared."""
    return {
        name: {"value": getattr(limits, name), **{each: entry.metadata[each] for each in LISTED}}
        for name, entry in ENTRIES.items()
    }


def basis_of(name: str) -> str:
    """Return the word a limit stands under, or ``""`` where no limit has that name."""
    return str(ENTRIES[name].metadata["basis"]) if name in ENTRIES else ""


def basis_of_value(value: float, described: Mapping[str, Mapping[str, Any]]) -> str:
    """Return the words under which limits of this value stand, joined by *or*; ``""`` where none has it.

    Parameters
    ----------
    value
        As a finding states its limit.
    described
        The limits it may have been held against, as ``described_limits`` gives them.
    """
    words = [str(each.get("basis", "")) for each in described.values() if each["value"] == value]
    return " or ".join(dict.fromkeys(word for word in words if word))
