"""What rims are called: a full-face piece with openings for mouth, eyes and nostrils on the stored head."""

import re

import numpy as np
import pytest

import dryfit
from dryfit.model.brief import Brief
from dryfit.model.snapshot import Part, Snapshot
from dryfit.performer.fitting import Fitting
from dryfit.performer.regions import MIDLINE, PAIRED
from dryfit.performer.rims import OUTER_RIM, RimNames, openings
from public_head import open_landmarks, part_of, public_head

OPENINGS = {
    "rim of the mouth opening": (20.0, 8.0), "rim of the left eye opening": (17.0, 9.0),
    "rim of the right eye opening": (17.0, 9.0), "rim of the left nostril": (3.5, 3.5),
    "rim of the right nostril": (3.5, 3.5),
}  # fmt: skip
"""Half width and half height of each hole cut into the piece, mm."""


@pytest.fixture(scope="module")
def face():
    """Landmarks of the shut head, its skin, and a piece 1 mm over the face, cut open round every opening."""
    rest, _, faces = part_of("skin")
    shut, wide, _ = public_head()
    at = {name: int(np.linalg.norm(wide - point, axis=1).argmin()) for name, point in open_landmarks().items()}
    marks = {name: shut[vertex] for name, vertex in at.items()}
    middles = rest[faces].mean(axis=1)
    ahead = middles[:, 2] > 75.0
    ahead &= (middles[:, 1] > marks["gnathion"][1] - 5.0) & (middles[:, 1] < marks["sellion"][1] + 60.0)
    for opening in openings(marks):
        half = np.array(OPENINGS[opening.rim])
        ahead &= (((middles - opening.middle_mm)[:, :2] / half) ** 2).sum(axis=1) > 1.0
    return marks, (rest, faces), faces[ahead]


def fitted(face):
    marks, (rest, faces), kept = face
    used, compact = np.unique(kept, return_inverse=True)
    base = Part("Scan", "base", rest, faces)
    out = Fitting(Snapshot("face", parts=(base, Part("Mask", "appliance", rest[used], compact.reshape(-1, 3))),
                           landmarks=marks), Brief())  # fmt: skip
    normals = out.base_surface.vertex_normals[used]
    mask = Part("Mask", "appliance", rest[used] + 1.0 * normals, compact.reshape(-1, 3))
    return Fitting(Snapshot("face", parts=(base, mask), landmarks=marks), Brief())


def test_every_opening_of_a_face_is_named(face):
    marks, *_ = face
    assert {opening.rim for opening in openings(marks)} == set(OPENINGS)
    assert not list(openings({name: marks[name] for name in ("sellion", "gnathion")}))


def test_the_rims_of_a_full_face_piece_are_called_by_what_they_run_round(face):
    fitting = fitted(face)
    report = dryfit.check(fitting.snapshot, only=["edge"]).check("edge")
    regions = {finding.region for finding in report.findings}
    assert set(OPENINGS) <= regions
    assert OUTER_RIM in regions
    for finding in (each for each in report.findings if " ends " not in each.message):  # those are where an edge lies
        assert finding.region in finding.message


def test_a_small_piece_over_the_mouth_has_no_mouth_opening(face):
    marks, (rest, faces), _ = face
    middle = 0.5 * (marks["cheilion_left"] + marks["cheilion_right"])
    lip = faces[np.linalg.norm(rest[faces].mean(axis=1) - middle - [0.0, 0.0, 10.0], axis=1) < 14.0]
    fitting = fitted((marks, (rest, faces), lip))
    part = fitting.snapshot.parts[1]
    skin = fitting.skin(part)
    from dryfit.geometry.rim import walk_rim

    names = RimNames.of(skin, walk_rim(skin.vertices_mm, skin.rim_edges, 0.5), marks)
    assert "rim of the mouth opening" not in names.names


def test_regions_are_nouns_that_messages_can_put_at_the_before():
    for name in (*MIDLINE, *PAIRED):
        assert not re.match(r"(under|over|behind|beside|below|above|near) ", name)


def test_an_exception_for_a_region_s_former_name_still_holds():
    from dryfit.model.exceptions import WrittenException

    assert WrittenException("additive", "", "under the chin", "hidden").covers(
        "additive", "Chin", "underside of the chin"
    )
    assert "under the chin" not in MIDLINE


def test_a_rims_middle_lies_within_half_an_opening_of_its_own():
    """A mouth 50 mm wide: within 25 mm. Eyes 30 mm wide: within 18 mm. Nostrils 20 mm apart: within 10 mm."""
    marks = {"cheilion_left": [25, 0, 0], "cheilion_right": [-25, 0, 0], "stomion_superius": [0, 0, 2],
             "stomion_inferius": [0, 0, -2], "subnasale": [0, 0, 20], "pronasale": [0, -20, 25]}  # fmt: skip
    for side, sign in (("left", 1.0), ("right", -1.0)):
        marks |= {f"endocanthion_{side}": [15 * sign, 0, 60], f"exocanthion_{side}": [45 * sign, 0, 60],
                  f"alare_{side}": [20 * sign, 0, 22]}  # fmt: skip
    found = {each.rim: each for each in openings({name: np.array(at, float) for name, at in marks.items()})}
    reaches = {rim: round(each.reach_mm, 6) for rim, each in found.items()}
    assert reaches == {
        "rim of the mouth opening": 25.0, "rim of the left eye opening": 18.0, "rim of the right eye opening": 18.0,
        "rim of the left nostril": 10.0, "rim of the right nostril": 10.0,
    }  # fmt: skip
    assert found["rim of the left eye opening"].middle_mm.tolist() == [30.0, 0.0, 60.0]
    assert found["rim of the mouth opening"].middle_mm.tolist() == [0.0, 0.0, 0.0]
