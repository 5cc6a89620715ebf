"""The family's own truth, against closed forms and against itself: what is wrong here would make rows wrong."""

from dataclasses import replace

import numpy as np
import pytest

from family import heads, jaws, lips, members, slabs, smiles, teeth
from family.truth import farthest_mm, lip_gap, turned_deg


def two_plates(gap_mm, lower_back_mm=0.0):
    """A stand-in for a head: a plate for either lip, level, the lower one further back."""
    across, deep = np.meshgrid([-30.0, -10, 10, 30], [-100.0, -96, -92, -88], indexing="ij")
    plate = np.stack([across.ravel(), deep.ravel(), 0.0 * deep.ravel()], axis=1)
    quads = [(4 * i + j, 4 * i + j + 4, 4 * i + j + 5, 4 * i + j + 1) for i in range(3) for j in range(3)]
    faces = np.array([(a, b, c) for a, b, c, _ in quads] + [(a, c, d) for a, _, c, d in quads])
    lower = plate + [0.0, lower_back_mm, -gap_mm]
    count = len(plate)
    corners = np.array([[20.0, -94, 0], [-20, -94, 0], [0, -90, 60], [0, -90, -60]])
    margin = np.full((2 * count + 4, 2), 100.0)
    margin[:count, 0], margin[count : 2 * count, 1] = 0.0, 0.0
    marks = {
        "cheilion_left": 2 * count,
        "cheilion_right": 2 * count + 1,
        "sellion": 2 * count + 2,
        "gnathion": 2 * count + 3,
    }
    return replace(
        heads.head("mean", 0),
        vertices_mm=np.concatenate([plate, lower, corners]),
        faces=np.concatenate([faces, faces + count]),
        margin_mm=margin,
        marks=marks,
    )


@pytest.mark.parametrize(("gap_mm", "back_mm"), [(0.5, 0.0), (12.0, 3.0), (-0.7, 0.0)])
def test_the_gap_between_two_plates(gap_mm, back_mm):
    gap = lip_gap(two_plates(gap_mm, back_mm))
    assert gap.height_mm == pytest.approx(np.full(len(gap.height_mm), gap_mm))
    assert gap.column_mm == pytest.approx(np.full(len(gap.column_mm), gap_mm))


def test_a_point_of_the_mandible_runs_on_a_circle_or_slides():
    jaw = jaws.turn(heads.head())
    point = jaw.hinge_mm + [0.0, -80.0, 0.0]
    assert jaw.travel_mm(point) == pytest.approx(2 * 80.0 * np.sin(np.radians(12.5)))
    slid = jaws.turn_and_slide(heads.head())
    assert slid.rigid(slid.hinge_mm[None], 1.0)[0] - slid.hinge_mm == pytest.approx(slid.slide_mm)
    assert np.linalg.norm(slid.slide_mm) == pytest.approx(25.0 / 1.5)


def test_the_chin_goes_with_the_mandible_and_the_skull_stays():
    head = heads.head()
    assert head.jaw_share[head.marks["gnathion"]] == pytest.approx(1.0, abs=0.02)
    assert head.jaw_share[head.marks["stomion_inferius"]] == 1.0
    assert head.jaw_share[[head.marks[name] for name in ("sellion", "vertex_top", "stomion_superius")]].max() == 0.0


@pytest.mark.parametrize("identity", heads.IDENTITIES)
@pytest.mark.parametrize("gap_mm", [0.4, -0.7])
def test_lips_are_brought_to_the_gap_that_was_asked_for(identity, gap_mm):
    gap = lip_gap(lips.rested(heads.head(identity), gap_mm))
    middle = np.abs(gap.across_mm) < 0.7 * np.abs(gap.across_mm).max()
    assert gap.column_mm[middle] == pytest.approx(np.full(middle.sum(), gap_mm), abs=0.12)


@pytest.mark.parametrize("path", ["turn", "condyles", "slide"])
def test_a_mouth_is_sculpted_as_far_open_as_was_asked_for_and_turns_back(path):
    _, made = members.sculpted_open("mean", path, 25.0)
    assert made.opening_mm == pytest.approx(25.0, abs=0.02)
    whole = made.shut.jaw_share == 1.0
    back = made.jaw.rigid(made.head.vertices_mm[whole], 0.0)
    assert turned_deg(made.shut.vertices_mm[whole], back) == pytest.approx(made.jaw.open_deg * made.open_t, abs=1e-3)


def test_a_finer_head_is_the_same_surface():
    coarse, fine = lip_gap(members.resting()), lip_gap(members.resting(times=4))
    middle = slice(2, -2)  # at the very corners one triangle is both lips
    assert fine.height_mm[middle] == pytest.approx(coarse.height_mm[middle], abs=1e-6)
    assert len(members.resting(times=4).faces) == 4 * len(members.resting().faces)


@pytest.mark.parametrize("apart_mm", [0.4, -0.7])
def test_back_teeth_stand_as_far_apart_as_was_asked_for_and_front_ones_pass(apart_mm):
    rows = teeth.rows(members.resting(), teeth.Bite(apart_mm=apart_mm))
    assert teeth.back_room_mm(rows.upper, rows.lower) == pytest.approx(apart_mm, abs=0.02)
    assert teeth.room_mm(teeth._one(rows.upper, 21), teeth._one(rows.lower, 31)) > 0.0


def test_every_tooth_and_gum_is_closed_and_faces_outward():
    rows = teeth.rows(members.resting())
    for row in (rows.upper, rows.lower):
        for tooth in row.teeth:
            points, faces = teeth._one(row, tooth.fdi)
            edges = np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2)
            assert {tuple(edge) for edge in edges} == {tuple(edge[::-1]) for edge in edges}
            assert (
                np.einsum("ij,ij->i", points[faces[:, 0]], np.cross(points[faces[:, 1]], points[faces[:, 2]])).sum() > 0
            )


def test_upper_incisors_stand_half_a_millimetre_behind_the_lip():
    head = members.resting()
    incisor, _ = teeth._one(teeth.rows(head).upper, 21)
    assert incisor[:, 1].min() - teeth.lining_mm(head) == pytest.approx(0.5, abs=0.15)


def test_keyed_skin_is_on_its_circle_between_the_frames():
    member = members.keyed()
    exact = member.jaw.posed(member.head.vertices_mm, member.head.jaw_share, 0.33)
    assert farthest_mm(exact, member.skin_at(0.33)) < 0.02


def test_slabs_meet_where_they_are_said_to():
    scene = slabs.slabs().snapshot
    upper, lower, jaw = scene.part("Upper"), scene.part("Lower"), scene.motions["jaw"]
    above = upper.vertices_mm, upper.faces
    room = [teeth.room_mm(above, (jaw.vertices_at("Lower", t), lower.faces)) for t in (0.0, 0.2, 1.0)]
    assert room == pytest.approx([-slabs.MEET_MM, 0.0, slabs.DROP_MM - slabs.MEET_MM])


def test_a_smile_moves_no_bone():
    member = members.keyed()
    for motion in (smiles.smile(member.head), smiles.pull(member.head), smiles.blink(member.head)):
        assert set(motion.frames_mm) == {"Head"}
