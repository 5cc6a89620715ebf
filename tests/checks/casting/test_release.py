"""Undercuts, walls and mould scales against closed formulas and the pattern-maker's table."""

import numpy as np
import pytest

import shapes
from dryfit.checks.casting import release
from dryfit.checks.casting.shrinkage import factor_places, pattern_factors
from dryfit.geometry.pull import best_pulls, cut_skin, directions_about, held
from dryfit.geometry.undercuts import low_draft_area_mm2, narrow_width_mm, undercuts
from dryfit.model.brief_reading import parse_brief
from head_marks import marks, outcome, severities, snapshot

UP = np.array([[0.0, 0.0, 1.0]])
SPHERE = shapes.icosphere(5)


def revolved(profile, around=256):
    """A surface of revolution about z from (radius, height) points, facing outward when they go up."""
    radius, height = np.array(profile, float).T
    turn = np.arange(around) * 2 * np.pi / around
    vertices = np.stack([np.outer(radius, np.cos(turn)), np.outer(radius, np.sin(turn)),
                         np.repeat(height[:, None], around, axis=1)], axis=2).reshape(-1, 3)  # fmt: skip
    ring = np.arange(around)
    faces = []
    for row in range(len(radius) - 1):
        low, high = row * around, (row + 1) * around
        a, b, c, d = low + ring, low + (ring + 1) % around, high + (ring + 1) % around, high + ring
        faces += [np.stack([a, b, c], 1), np.stack([a, c, d], 1)]
    return vertices, np.concatenate(faces)


def sphere_above(height_mm, radius_mm=50.0):
    vertices, faces = shapes.icosphere(6, radius_mm)
    return vertices, faces[(vertices[faces][:, :, 2] > height_mm).all(axis=1)]


def held_area_mm2(skin, pulls):
    return skin.areas_mm2[held(skin, pulls)].sum()


def test_a_sphere_is_half_undercut_whichever_way_it_is_pulled():
    """2 pi r2."""
    skin = cut_skin(*shapes.icosphere(6, 50.0))
    for pull in directions_about(UP[0], 90.0, 45.0):
        assert held_area_mm2(skin, pull[None]) == pytest.approx(2 * np.pi * 50**2, rel=0.01)


def test_a_ball_that_goes_past_its_widest_circle_is_held_by_the_zone_below_it():
    """Zone 2 pi r h; depth h; overhang r - sqrt(r2 - h2), h from the mesh's own rim."""
    vertices, faces = sphere_above(-20.0)
    skin = cut_skin(vertices, faces)
    pulls = best_pulls(skin, skin.mean_outward)
    assert pulls[0] == pytest.approx(UP[0], abs=0.02)
    (undercut,) = undercuts(skin, UP, 5.0)
    rim = -vertices[np.unique(faces)][:, 2].min()
    area = 2 * np.pi * 50 * 19.3  # the ragged rim lies between 18.6 and 20 mm below
    assert undercut.area_mm2 == pytest.approx(area, rel=0.04)
    assert undercut.depth_mm == pytest.approx(rim, abs=1.0)
    assert undercut.overhang_mm == pytest.approx(50 - np.sqrt(50**2 - rim**2), abs=0.5)


def test_a_hemisphere_comes_off_along_its_axis_and_only_there():
    skin = cut_skin(*revolved([(50 * np.cos(a), 50 * np.sin(a)) for a in np.radians(np.arange(0, 91, 3))]))
    assert held_area_mm2(skin, UP) < 1.0
    assert held_area_mm2(skin, np.array([[1.0, 0, 0]])) == pytest.approx(np.pi * 50**2, rel=0.02)


def test_a_groove_round_a_post_holds_by_its_depth():
    """A ring groove 3 mm deep and 6 mm high under a rim: overhang 3, extent 6; a dental gauge reads the 3."""
    fine = np.arange(0.0, 6.01, 0.5)
    profile = [(30, 0), (30, 10), *[(27, 10 + z) for z in fine], (30, 16), (30, 26), (0.01, 26)]
    skin = cut_skin(*revolved(profile))
    (undercut,) = undercuts(skin, UP, 5.0)
    assert undercut.overhang_mm == pytest.approx(3.0, abs=0.3)
    assert undercut.depth_mm == pytest.approx(6.0, abs=0.7)


@pytest.mark.parametrize(("draft_deg", "steep"), [(0.5, True), (3.0, False)])
def test_draft_is_the_angle_between_wall_and_pull(draft_deg, steep):
    """A cone frustum's wall: pi (r1 + r2) s."""
    top = 40 - 20 * np.tan(np.radians(draft_deg))
    skin = cut_skin(*revolved([(40, 0), (top, 20), (0.01, 20)]))
    wall = np.pi * (40 + top) * 20 / np.cos(np.radians(draft_deg))
    assert low_draft_area_mm2(skin, UP, 1.0) == pytest.approx(wall if steep else 0.0, rel=0.01)


def test_the_best_pull_follows_a_slanting_pocket():
    """A bowl-like piece with walls leaning 30 degrees comes off along that lean, which straight up would not allow."""
    lean = np.radians(30.0)
    axis = np.array([np.sin(lean), 0.0, np.cos(lean)])
    turn = np.array([[np.cos(lean), 0, np.sin(lean)], [0, 1, 0], [-np.sin(lean), 0, np.cos(lean)]])
    vertices, faces = revolved([(30, 0), (29, 25), (0.01, 25)])
    skin = cut_skin(vertices @ turn.T, faces)
    assert held_area_mm2(skin, UP) > 100.0
    assert best_pulls(skin, UP[0])[0] == pytest.approx(axis, abs=0.06)
    assert held_area_mm2(skin, best_pulls(skin, UP[0])) < 1.0


def test_a_cowl_opens_to_two_sides():
    vertices, faces = sphere_above(-48.0)
    skin = cut_skin(vertices, faces)
    assert skin.wraps
    assert best_pulls(skin, UP[0]).shape == (2, 3)
    assert held_area_mm2(skin, best_pulls(skin, UP[0])) < 1.0


def test_width_is_the_smaller_extent_across_the_pull():
    vertices, faces = shapes.sheet(100.0, 10)
    skin = cut_skin(vertices * [1.0, 0.4, 1.0], faces)
    assert narrow_width_mm(skin, UP[0]) == pytest.approx(40.0, rel=0.03)


@pytest.mark.parametrize(
    ("material", "severity"), [("silicone", "info"), ("gelatin", "info"), ("acrylic", "fail")]
)  # fmt: skip
def test_a_flexible_casting_forgives_what_locks_a_rigid_one(material, severity):
    """4.2 mm of overhang on 100 mm of width is 4 %."""
    vertices, faces = sphere_above(-20.0)
    shot = snapshot(
        (SPHERE[0] * 0.45, SPHERE[1]), ("Dome", "appliance", (vertices, faces), material), landmarks=marks()
    )
    found = outcome(release, shot)
    assert next(finding for finding in found.findings if finding.object == "Dome").severity == severity
    assert found.measures["stretch_to_release"] == pytest.approx(
        found.measures["undercut_overhang_mm"] / 100.0, rel=0.01
    )


def test_a_rubber_mould_in_a_jacket_peels_off_what_locks_a_rigid_one():
    """4.2 mm of overhang: an acrylic casting sticks in gypsum; rubber peels off 10 mm (practice), not 3 mm."""
    vertices, faces = sphere_above(-20.0)
    shot = snapshot((SPHERE[0] * 0.45, SPHERE[1]), ("Dome", "appliance", (vertices, faces), "acrylic"),
                    landmarks=marks())  # fmt: skip
    said = {}
    for mould, peels in (("rigid", 10), ("flexible", 10), ("flexible", 3)):
        brief = parse_brief(f'[materials.acrylic]\nmould = "{mould}"\n[limits]\nmould_peel_mm = {peels}')
        found = outcome(release, shot, brief)
        said[mould, peels] = next(finding for finding in found.findings if finding.object == "Dome")
    assert [str(finding.severity) for finding in said.values()] == ["fail", "info", "review"]
    assert "jacket" in said["flexible", 10].message


@pytest.mark.parametrize(
    ("thickness_mm", "gives_mm"), [(1.0, 2 * 0.1 * 36 / 3), (2.0, 1.2), (0.2, 6.0), (20.0, 2.0), (40.0, 4.0)]
)
def test_what_a_casting_gives_hangs_on_its_wall_not_on_its_width(thickness_mm, gives_mm):
    """A beam 6 mm long held at its foot and pushed at its end, 2/3 e L2/t (Euler-Bernoulli); a lump is squeezed, e t."""
    assert release.given_way_mm(0.1, thickness_mm, 6.0) == pytest.approx(gives_mm)


def test_a_deep_undercut_is_reviewed_even_in_silicone():
    vertices, faces = sphere_above(-20.0)
    shot = snapshot(
        (SPHERE[0] * 0.45, SPHERE[1]), ("Dome", "appliance", (vertices, faces), "silicone"), landmarks=marks()
    )
    brief = parse_brief("[materials.silicone]\nforgiven_stretch = 0.02")
    assert severities(outcome(release, shot, brief))[0] == "review"


@pytest.mark.parametrize(("material", "severity"), [("silicone", "info"), ("acrylic", "fail")])
def test_the_face_under_a_piece_holds_its_casting(material, severity):
    """A face that is a ball, a piece over it to h below its widest circle: overhang r - sqrt(r2 - h2) of the ball."""
    ball, (vertices, faces) = shapes.icosphere(6, 50.0), sphere_above(-20.0, 51.0)
    found = outcome(release, snapshot(ball, ("Dome", "appliance", (vertices, faces), material), landmarks=marks()))
    rim = -vertices[np.unique(faces)][:, 2].min() * 50 / 51
    assert found.measures["core_overhang_mm"] == pytest.approx(50 - np.sqrt(50**2 - rim**2), abs=0.6)
    under, beside = [finding for finding in found.findings if finding.object == "Scan"][:2]
    assert (under.severity, beside.severity) == (severity, "info")
    low = rim + 10.0 * np.sqrt(1.0 - (rim / 50) ** 2)
    assert beside.value == pytest.approx(50 - np.sqrt(50**2 - low**2), abs=2.0)


def test_a_piece_on_a_face_without_overhang_leaves_it():
    sheet = shapes.sheet(120.0, 60)
    patch = (shapes.sheet(60.0, 30)[0] + [0.0, 0.0, 2.0], shapes.sheet(60.0, 30)[1])
    found = outcome(release, snapshot(sheet, ("Plate", "appliance", patch, "acrylic"), landmarks=marks()))
    assert found.measures["core_overhang_mm"] == 0.0
    assert not [finding for finding in found.findings if finding.object == "Scan"]


def box(width_mm, height_mm, thick_mm):
    """A closed plate."""
    vertices = np.array([[x, y, z] for x in (0, width_mm) for y in (0, height_mm) for z in (0, thick_mm)], float)
    faces = [[0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3], [0, 4, 5], [0, 5, 1], [2, 3, 7], [2, 7, 6],
             [0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5]]  # fmt: skip
    return vertices, np.array(faces)


def walls_of(mesh, material="bronze", brief=None):
    shot = snapshot(SPHERE, ("Cast", "hardware", mesh, material), landmarks=marks())
    return outcome(release, shot, brief)


@pytest.mark.parametrize(("thick_mm", "severity"), [(0.8, "fail"), (1.2, "review"), (2.0, "info")])
def test_a_plate_is_held_against_its_process(thick_mm, severity):
    """Investment casting: 1.0-1.5 mm."""
    found = walls_of(box(30.0, 20.0, thick_mm))
    assert found.measures["wall_min_mm"] == pytest.approx(thick_mm, abs=1e-3)
    assert severities(found)[0] == severity


def test_a_ring_is_as_thick_as_its_wire():
    """Torus: twice the minor radius."""
    found = walls_of(shapes.torus(20.0, 1.1, 256, 64))
    assert found.measures["wall_min_mm"] == pytest.approx(2.2, rel=0.01)


def test_a_hollow_ball_has_the_wall_between_its_skins():
    outer, faces = shapes.icosphere(5, 12.0)
    inner = outer * (10.5 / 12.0)
    found = walls_of((np.concatenate([outer, inner]), np.concatenate([faces, faces[:, ::-1] + len(outer)])))
    assert found.measures["wall_min_mm"] == pytest.approx(1.5, abs=0.02)


def test_pieces_that_run_into_each_other_are_one_solid():
    """Two plates of 1 mm, the second 0.4 mm into the first: together 1.6 mm thick, nowhere 0.4."""
    one, two = box(30.0, 20.0, 1.0), box(30.0, 20.0, 1.0)
    moved = two[0] * [0.9, 0.9, 1.0] + [1.5, 1.0, 0.6]
    mesh = np.concatenate([one[0], moved]), np.concatenate([one[1], two[1] + len(one[0])])
    found = walls_of(mesh, brief=parse_brief("[materials.bronze]\nmin_wall_mm = 0.5"))
    assert found.measures["wall_min_mm"] == pytest.approx(1.0, abs=0.01)
    assert not [finding for finding in found.findings if finding.severity == "fail"]


def test_tips_and_sharp_edges_are_no_walls():
    cone = revolved([(0.01, 0), (8.0, 0.0), (0.01, 25.0)])
    half = np.arange(0.0, 91.0, 3.0)
    dome = revolved([(0.01, 0.0), *[(5 * np.cos(a), 5 * np.sin(a)) for a in np.radians(half)][:-1], (0.01, 5.0)])
    for mesh in (cone, dome):
        count = 256
        first, last = np.arange(count), len(mesh[0]) - count + np.arange(count)
        caps = [np.stack([np.full(count - 2, first[0]), first[2:], first[1:-1]], 1),
                np.stack([np.full(count - 2, last[0]), last[1:-1], last[2:]], 1)]  # fmt: skip
        found = walls_of((mesh[0], np.concatenate([mesh[1], *caps])))
        assert severities(found) == ["info"]


def test_hardware_that_cannot_be_judged_says_why():
    vertices, faces = box(30.0, 20.0, 2.0)
    assert "no known material" in walls_of((vertices, faces), "").reason
    assert "not closed" in walls_of((vertices, faces[1:])).reason


@pytest.mark.parametrize(
    ("inch_per_foot", "of_mould", "of_piece"),
    [(5 / 32, 1.01319, 1.01302), (3 / 16, 1.01587, 1.01562), (7 / 32, 1.01857, 1.01823)],
)
def test_both_definitions_of_shrinkage(inch_per_foot, of_mould, of_piece):
    """1/(1 - s) and the shrink rule's 1 + s, for the pattern-maker's allowances."""
    assert pattern_factors(100 * inch_per_foot / 12) == pytest.approx((of_mould, of_piece), abs=6e-6)


def test_the_note_states_the_definition_it_uses_and_the_other():
    mesh = box(30.0, 20.0, 2.0)
    (note,) = walls_of(mesh).findings
    assert "by 1.013 to 1.016: bronze" in note.message and "added to the pattern" in note.message
    assert "100 mm is made 101.3 to 101.6 mm" in note.message
    assert note.value == pytest.approx(1 + 5 / 32 / 12, abs=1e-6)
    mould = walls_of(mesh, brief=parse_brief('[materials.bronze]\nshrink_percent = 1.5625\nshrink_of = "mould"'))
    assert "by 1.0159: bronze" in mould.findings[0].message and "that would be 1.0156" in mould.findings[0].message


def test_no_scale_is_said_finer_than_anybody_knows():
    """Foam latex shrinks by 3-10 %: two decimals tell the ends apart."""
    assert factor_places(1 / 0.90 - 1 / 0.97) == 2
    vertices, faces = sphere_above(-20.0)
    shot = snapshot((SPHERE[0] * 0.45, SPHERE[1]), ("Dome", "appliance", (vertices, faces), "foam_latex"),
                    landmarks=marks())  # fmt: skip
    (note,) = [found for found in outcome(release, shot).findings if found.unit == "times"]
    assert "by 1.03 to 1.11: foam_latex" in note.message and "100 mm is made 103 to 111 mm" in note.message


def test_an_overhang_that_holds_a_cast_clasp_holds_a_rigid_casting():
    """0.25 mm is the undercut chosen to hold a cast clasp (from memory): 0.15 mm of it is not nothing to acrylic."""
    vertices, faces = sphere_above(-1.0)
    shot = snapshot((SPHERE[0] * 0.45, SPHERE[1]), ("Dome", "appliance", (vertices, faces), "acrylic"),
                    landmarks=marks())  # fmt: skip
    found = outcome(release, shot)
    assert 0.1 < found.measures["undercut_overhang_mm"] < 0.25
    assert next(finding for finding in found.findings if finding.object == "Dome").severity == "fail"
