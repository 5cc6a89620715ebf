"""Mass and moment against worked examples and published equivalents."""

import numpy as np
import pytest

import dryfit
import shapes
from dryfit.checks.casting import load
from dryfit.checks.casting.load import balance_point_mm, lever_of
from dryfit.model.adopting import adopt
from dryfit.model.brief_reading import parse_brief
from dryfit.model.own_figures import OwnFigures
from dryfit.performer.head_frame import HeadFrame
from head_marks import marks, outcome, severities, snapshot

SPHERE = shapes.icosphere(5)


def turned(mesh):
    """Bring a piece from the sphere's top to its front (-y)."""
    vertices, faces = mesh[:2]
    return np.stack([vertices[:, 0], -vertices[:, 2], vertices[:, 1]], axis=1), faces


def ball(radius_mm, centre_mm, level=5):
    vertices, faces = shapes.icosphere(level, radius_mm)
    return vertices + np.asarray(centre_mm), faces


@pytest.mark.parametrize(
    ("material", "mass_g"),
    [("foam_latex", 7.5), ("silicone", 53.5), ("acrylic", 59.0), ("aluminium", 135.0), ("bronze", 440.0)],
)
@pytest.mark.parametrize("closed", [True, False])
def test_100_cm2_at_5_mm_weigh_what_the_worked_example_says(material, mass_g, closed):
    """50 cm3 times handbook density, as a closed slab and as an open skin over the base."""
    base, sheet = shapes.sheet(200.0, 40), shapes.sheet(100.0, 20)
    thick = np.full(len(sheet[0]), 5.0)
    mesh = shapes.slab(*sheet, thick) if closed else (sheet[0] + [0, 0, 5.0], sheet[1])
    found = outcome(load, snapshot(base, ("Slab", "appliance", mesh, material), landmarks=marks()))
    assert found.measures["mass_g"] == pytest.approx(mass_g, rel=0.001)
    assert found.measures["volume_mm3"] == pytest.approx(50_000.0, rel=0.001)


def test_an_open_skin_over_a_sphere_weighs_the_shell_between():
    """A spherical sector: 2/3 pi (1 - cos a) (R3 - r3), a from the mesh's own rim."""
    cap = shapes.cap(6, thickness_mm=lambda arc: 5.0 + 0 * arc)
    solid_angle = 4 * np.pi * np.linalg.norm(np.cross(*spans(cap)), axis=1).sum() / 2 / (4 * np.pi * 105**2)
    found = outcome(load, snapshot(shapes.icosphere(6), ("Cap", "appliance", cap[:2], "silicone"), landmarks=marks()))
    assert found.measures["volume_mm3"] == pytest.approx(solid_angle * (105**3 - 100**3) / 3, rel=0.005)


def spans(cap):
    corners = cap[0][cap[1]]
    return corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]


@pytest.mark.parametrize(
    ("kg", "arm_cm", "moment"), [(1.37, 10.0, 134.0), (2.73, 5.0, 134.0), (0.84, 10.0, 82.8)]
)  # fmt: skip
def test_published_limits_are_the_weights_at_the_arms_they_are_quoted_for(kg, arm_cm, moment):
    """134 N.cm (Madison et al. 2023) is 1.37 kg at 10 cm or 2.73 kg at 5 cm; 82.8 N.cm is 0.84 kg at 10 cm."""
    frame = HeadFrame.from_landmarks(marks())
    lever = lever_of(1000 * kg, 10 * arm_cm * frame.front, frame)
    assert lever.moment_n_cm == pytest.approx(moment, rel=0.01)
    sideways = lever_of(1000 * kg, 10 * arm_cm * frame.left + 400 * frame.up, frame)
    assert sideways.left_n_cm == pytest.approx(moment, rel=0.01)
    assert sideways.front_n_cm == pytest.approx(0.0, abs=1e-9)


def test_a_bronze_ball_on_the_brow_pulls_with_weight_times_arm():
    """4/3 pi r3 x 8.80 g/cm3, arm from the balance point 18.4 mm behind and 31 mm below the tragions."""
    found = outcome(
        load, snapshot(SPHERE, ("Ball", "hardware", ball(10.0, (0, -110, 20)), "bronze"), landmarks=marks())
    )
    mass_g = 4 / 3 * np.pi * 8.80
    assert found.measures["mass_g"] == pytest.approx(mass_g, rel=0.005)
    assert found.measures["moment_front_n_cm"] == pytest.approx(mass_g / 1000 * 9.80665 * 12.84, rel=0.005)
    assert found.measures["moment_left_n_cm"] == pytest.approx(0.0, abs=1e-9)
    assert found.measures["centre_up_mm"] == pytest.approx(51.0, abs=0.01)


def test_a_mirrored_design_pulls_to_the_other_side():
    sides = [
        outcome(load, snapshot(SPHERE, ("Ball", "hardware", ball(10.0, (x, -100, 0)), "bronze"), landmarks=marks()))
        for x in (40.0, -40.0)
    ]
    left, right = (found.measures["moment_left_n_cm"] for found in sides)
    assert left > 0 > right
    assert left == pytest.approx(-right, rel=1e-6)


def test_the_balance_point_moves_with_the_brief():
    shot = snapshot(SPHERE, ("Ball", "hardware", ball(10.0, (0, -110, 0)), "bronze"), landmarks=marks())
    brief = parse_brief("[limits]\nbalance_behind_mm = 0\nbalance_below_mm = 10")
    from dryfit.performer.fitting import Fitting

    assert balance_point_mm(Fitting(shot, brief), brief.limits) == pytest.approx([0, 0, -10.0])


@pytest.mark.parametrize(
    ("radius_mm", "expected"), [(20.0, "review"), (36.0, "review"), (46.0, "fail")]
)  # fmt: skip
def test_moment_and_mass_limits_are_held(radius_mm, expected):
    """Bronze balls 150 mm ahead: 0.29, 1.7 and 3.6 kg."""
    shot = snapshot(SPHERE, ("Ball", "hardware", ball(radius_mm, (0, -150, 0)), "bronze"), landmarks=marks())
    brief = parse_brief("[limits]\nhead_moment_n_cm = 400\nhead_moment_review_n_cm = 200")
    found = outcome(load, shot, brief)
    assert severities(found)[0] == expected


def test_many_small_studs_in_one_object_are_not_one_heavy_piece():
    places = [(25.0 * k, -110.0, 0.0) for k in range(-2, 3)]
    balls = [ball(10.0, place, 3) for place in places]
    count = len(balls[0][0])
    mesh = (
        np.concatenate([one[0] for one in balls]),
        np.concatenate([one[1] + k * count for k, one in enumerate(balls)]),
    )
    found = outcome(load, snapshot(SPHERE, ("Studs", "hardware", mesh, "bronze"), landmarks=marks()))
    assert found.measures["mass_g"] == pytest.approx(5 * found.measures["piece_mass_g"], rel=1e-6)


def test_what_hardware_shares_with_the_piece_it_sits_in_counts_once():
    """A ball centred on a flat piece's top: the half in it, 2/3 pi r3, is taken from the soft piece."""
    base, sheet = shapes.sheet(200.0, 40), shapes.sheet(100.0, 20)
    skin = sheet[0] + [0, 0, 12.0], sheet[1]
    shot = snapshot(base, ("Skin", "appliance", skin, "foam_latex"),
                    ("Ball", "hardware", ball(10.0, (0.3, 0.2, 12.0)), "bronze"), landmarks=marks())  # fmt: skip
    found = outcome(load, shot)
    half = 2 / 3 * np.pi * 10**3
    assert found.measures["volume_mm3"] == pytest.approx(120_000 + half, rel=0.005)
    assert found.measures["piece_mass_g.Ball"] == pytest.approx(2 * half / 1000 * 8.8, rel=0.01)
    note = next(finding for finding in found.findings if "counted once" in finding.message)
    assert note.value == pytest.approx(half, rel=0.03)


@pytest.mark.parametrize(("shift_mm", "severity"), [(0.0, "review"), (6.0, "review"), (14.0, "info")])
def test_a_piece_that_is_there_twice_is_asked_about(shift_mm, severity):
    """Two equal balls of radius r whose middles are d apart share (1 - d/2r)² (1 + d/4r) of each."""
    radius = 10.0
    one = ("One", "appliance", ball(radius, [0, -110, 0]), "silicone")
    other = ("Other", "appliance", ball(radius, [shift_mm, -110, 0]), "silicone")
    found = outcome(load, snapshot(shapes.icosphere(4), one, other, landmarks=marks()))
    note = next(finding for finding in found.findings if "counted once" in finding.message)
    share = (1 - shift_mm / (2 * radius)) ** 2 * (1 + shift_mm / (4 * radius))
    assert note.value == pytest.approx(share * 4 / 3 * np.pi * radius**3, rel=0.03)
    assert note.severity == severity
    assert ("there twice" in note.message) == (severity == "review")


def test_what_lies_beyond_the_skin_is_not_shared():
    """A ball beside a dome, within the dome's box but not beneath it."""
    cap = turned(shapes.cap(5, thickness_mm=lambda arc: 0.5 * arc))
    shot = snapshot(SPHERE, ("Cap", "appliance", cap, "silicone"),
                    ("Ball", "hardware", ball(3.0, (44.0, -94.0, 44.0)), "bronze"), landmarks=marks())  # fmt: skip
    assert not [finding for finding in outcome(load, shot).findings if "counted once" in finding.message]


def test_without_tragions_the_mass_is_told_and_the_moment_is_not():
    shot = snapshot(
        SPHERE, ("Ball", "hardware", ball(10.0, (0, -110, 0)), "bronze"), landmarks=marks("sellion", "gnathion")
    )
    found = outcome(load, shot)
    assert "tragion_left, tragion_right" in found.reason
    assert np.isnan(found.measures["moment_n_cm"])
    assert found.measures["mass_g"] == pytest.approx(36.86, rel=0.005)


@pytest.mark.parametrize(
    ("material", "words"), [("silicon", "Did you mean silicone?"), ("", "has no material")]
)  # fmt: skip
def test_a_piece_of_unknown_material_is_not_guessed(material, words):
    cap = turned(shapes.cap(4))
    found = outcome(load, snapshot(SPHERE, ("Cap", "appliance", cap, material), landmarks=marks()))
    assert words in found.reason
    assert np.isnan(found.measures["mass_g"])


def test_open_hardware_has_no_volume_and_says_so():
    vertices, faces = ball(10.0, (0, -110, 0))
    found = outcome(load, snapshot(SPHERE, ("Shell", "hardware", (vertices, faces[5:]), "bronze"), landmarks=marks()))
    assert "not closed" in found.reason


def test_the_performers_own_teeth_are_not_weighed():
    shot = snapshot(SPHERE, ("Teeth", "upper_teeth", ball(10.0, (0, -80, 0)), ""),
                    ("Ball", "hardware", ball(10.0, (0, -110, 0)), "bronze"), landmarks=marks())  # fmt: skip
    found = outcome(load, shot)
    assert not found.reason
    assert found.measures["mass_g"] == found.measures["piece_mass_g.Ball"]


def test_the_caution_defers_to_the_performer():
    assert "not a clearance" in load.CHECK.caution


@pytest.mark.parametrize(
    ("hours", "words"),
    [(None, "is not stated"), (1.5, "worn for 1.5 hours; with 500 g"), (10, "nobody measured longer")],
)
def test_half_a_kilogram_on_the_head_is_looked_at_with_the_hours_it_is_worn(hours, words):
    """Odell & Dorbala 2024, Work 77:651-658: of 16 people not everyone wore 500 g for two hours in comfort."""
    brief = parse_brief(
        "[limits]\nglue_load_review_g_cm2 = 99\nglue_load_g_cm2 = 99\n" + (f"[wear]\nhours = {hours}" if hours else "")
    )
    light, heavy = (
        outcome(
            load, snapshot(SPHERE, ("Ball", "hardware", ball(radius, (0, -20, 0)), "bronze"), landmarks=marks()), brief
        )
        for radius in (23.0, 25.0)
    )
    assert light.measures["mass_g"] < 500.0 < heavy.measures["mass_g"]
    assert not [found for found in light.findings if "on the head" in found.message]
    (told,) = [found for found in heavy.findings if "on the head" in found.message]
    assert str(told.severity) == "review" and words in told.message


def test_the_balance_point_lies_at_the_condyles():
    """18.4 mm behind and 31.0 mm below the ear canals: Chancey et al. 2007, doi 10.1016/j.jbiomech.2006.09.007."""
    from dryfit.performer.fitting import Fitting

    shot, brief = snapshot(SPHERE, landmarks=marks()), parse_brief("")
    assert balance_point_mm(Fitting(shot, brief), brief.limits) == pytest.approx([0, 18.4, -31.0])


def block(side_mm, thick_mm, at_mm=(0.0, 0.0, 0.0), steps=20):
    """A square block lying on the plane z = 0, or as far over it as stated."""
    vertices, faces = shapes.slab(*shapes.sheet(side_mm, steps), np.full((steps + 1) ** 2, thick_mm))
    return vertices + np.asarray(at_mm), faces


FLOOR = shapes.sheet(200.0, 40)


@pytest.mark.parametrize(
    ("material", "thick_mm", "density", "severity"),
    [
        ("silicone", 5.0, 1.07, []),
        ("silicone", 12.0, 1.07, ["review"]),
        ("silicone", 30.0, 1.07, ["fail"]),
        ("foam_latex", 30.0, 0.15, []),
    ],
)
@pytest.mark.parametrize("closed", [True, False])
def test_glue_carries_density_times_thickness(material, thick_mm, density, severity, closed):
    """A block on the skin: 1.07 g/cm3 times 1.2 cm is 1.28 g on each cm2, whatever its size."""
    sheet = shapes.sheet(100.0, 20)
    mesh = block(100.0, thick_mm) if closed else (sheet[0] + [0, 0, thick_mm], sheet[1])
    found = outcome(load, snapshot(FLOOR, ("Slab", "appliance", mesh, material), landmarks=marks()))
    assert found.measures["glue_load_g_cm2"] == pytest.approx(density * thick_mm / 10.0, rel=1e-3)
    assert found.measures["glued_area_cm2"] == pytest.approx(100.0, rel=1e-3)
    glue = [finding for finding in found.findings if finding.unit == "g/cm2"]
    assert [str(finding.severity) for finding in glue] == severity
    for finding in glue:
        assert finding.value == pytest.approx(density * thick_mm / 10.0, rel=1e-3)


def test_hardware_pulls_on_its_own_glue_and_on_that_of_the_piece_it_sits_on():
    """35.2 g of bronze on 4 cm2 of a foam slab of 100 cm2 that weighs 7.5 g: 8.8 and 0.427 g/cm2."""
    shot = snapshot(FLOOR, ("Slab", "appliance", block(100.0, 5.0), "foam_latex"),
                    ("Badge", "hardware", block(20.0, 10.0, (0, 0, 5.1)), "bronze"), landmarks=marks())  # fmt: skip
    found = outcome(load, shot)
    assert found.measures["glue_load_g_cm2.Badge"] == pytest.approx(8.8, rel=1e-3)
    assert found.measures["glue_load_g_cm2.Slab"] == pytest.approx((7.5 + 35.2) / 100.0, rel=1e-3)
    assert found.measures["glued_area_cm2"] == pytest.approx(100.0, rel=1e-3)
    (finding,) = [each for each in found.findings if each.unit == "g/cm2"]
    assert str(finding.severity) == "review" and "on Slab" in finding.message and "35 cm²" in finding.fix


def test_hardware_that_touches_nothing_is_held_by_nothing():
    found = outcome(load, snapshot(FLOOR, ("Badge", "hardware", block(20.0, 10.0, (0, 0, 3.0)), "bronze"),
                                   landmarks=marks()))  # fmt: skip
    (finding,) = [each for each in found.findings if "holds it" in each.message]
    assert str(finding.severity) == "review"
    assert "within 2 mm of" in finding.message, "how far a bed of glue under hardware reaches"
    assert found.judged == {"glue_load_g_cm2": None}
    assert np.isnan(found.measures["glue_load_g_cm2"])


def test_a_stud_is_too_light_for_its_glue_to_be_judged():
    """8 mm square and 10 mm high: 5.6 g, and 8.8 g/cm2; the same badge of 20 mm is judged."""
    shot = snapshot(FLOOR, ("Stud", "hardware", block(8.0, 10.0), "bronze"), landmarks=marks())
    found = outcome(load, shot)
    assert found.measures["glue_load_g_cm2.Stud"] == pytest.approx(8.8, rel=1e-3)
    assert not [each for each in found.findings if each.unit == "g/cm2"]
    assert found.judged == {"glue_load_g_cm2": None}
    stricter = outcome(load, shot, parse_brief("[limits]\nglue_least_g = 1"))
    assert [str(each.severity) for each in stricter.findings if each.unit == "g/cm2"] == ["review"]


def test_a_shell_is_glued_only_where_its_inner_face_lies():
    """A block of which the half beyond x = 0 stands 2 mm off the skin: 50 of its 100 cm2 are glued."""
    vertices, faces = block(100.0, 5.0)
    raised = vertices + [0.0, 0.0, 2.0] * (vertices[:, :1] > 0.1)
    found = outcome(load, snapshot(FLOOR, ("Slab", "appliance", (raised, faces), "silicone"), landmarks=marks()))
    assert found.measures["glued_area_cm2"] == pytest.approx(50.0, rel=1e-6)
    assert found.measures["glue_load_g_cm2"] == pytest.approx(2 * 0.535, rel=0.01)


def test_a_brief_that_states_grams_is_read_and_told_that_they_no_longer_count():
    brief = parse_brief("[limits]\nglued_mass_g = 250\npiece_mass_g = 80")
    assert brief.limits == parse_brief("").limits
    report = dryfit.check(snapshot(FLOOR, ("Slab", "appliance", block(100.0, 5.0), "silicone"), landmarks=marks()),
                          brief, only=["load"])  # fmt: skip
    notes = " ".join(report.inputs["notes"])
    assert "glued_mass_g" in notes and "piece_mass_g" in notes and "glue_load_g_cm2" in notes


def test_a_file_that_states_grams_is_read_too():
    brief = adopt(parse_brief(""), OwnFigures(limits={"piece_mass_g": 80.0}))
    assert brief.limits == parse_brief("").limits
    assert brief.notes and "The file states piece_mass_g" in brief.notes[0]
