"""What speaks against a proposal, just short of the distance from which it does and just beyond it."""

from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.geometry.rigid import rotation_matrix
from dryfit.geometry.similarity import Similarity
from dryfit.geometry.surface import OPEN_BORDER
from dryfit.model.finding import Severity
from dryfit.performer.grounds import grave_doubts, impossible_doubts
from dryfit.performer.landmarks import proposal
from dryfit.performer.landmarks.laying import ANGLES_DEG
from dryfit.performer.landmarks.read_off import BESIDE_MM, LOST_MM, MOST_OFF_MARGIN_MM, TURNING, Reading
from dryfit.performer.landmarks.sense import landmark_doubts
from dryfit.performer.landmarks.template import head_template

LITTLE = 1e-3


@pytest.mark.parametrize(
    ("off_mm", "doubted"), [(0.0, False), (MOST_OFF_MARGIN_MM - LITTLE, False), (MOST_OFF_MARGIN_MM + LITTLE, True)]
)
def test_edges_of_lips_that_are_seen_elsewhere(off_mm, doubted):
    seen = {"stomion_superius": np.array([off_mm, 0.0, 0.0]), "stomion_inferius": np.zeros(3)}
    reading = SimpleNamespace(
        laying=SimpleNamespace(hidden_open_mm=0.0, seen=seen), carried={name: np.zeros(3) for name in seen}
    )
    found = list(Reading.doubts(reading))
    assert bool(found) == doubted
    for doubt in found:
        assert doubt.severity == "review" and doubt.names == tuple(seen) and doubt.value_mm == off_mm
        assert "has stomion_superius" in doubt.message


@pytest.mark.parametrize(("severity", "kept"), [(Severity.INFO, False), (Severity.REVIEW, True), (Severity.FAIL, True)])
def test_what_is_only_a_note_on_landmarks_is_no_doubt_of_a_proposal(severity, kept, monkeypatch):
    doubt = SimpleNamespace(severity=severity, names=("gnathion",), value_mm=40.0)
    monkeypatch.setattr(proposal, "landmark_doubts", lambda points, scan: [doubt])
    reading = SimpleNamespace(
        points=lambda: ({}, ()), scan=None, doubts=lambda: iter(()), pose=None, laying=SimpleNamespace(aperture=None),
        confidence=lambda points, doubted_mm: doubted_mm,
    )  # fmt: skip
    read = proposal._read(reading, [SimpleNamespace(misfit_mm=1.0)])
    assert read.doubts == ((doubt,) if kept else ())
    assert read.confidence == ({"gnathion": 40.0} if kept else {})


@pytest.mark.parametrize(
    ("severity", "grave"), [(Severity.INFO, False), (Severity.REVIEW, True), (Severity.FAIL, True)]
)
@pytest.mark.parametrize("impossible", [True, False])
def test_an_answer_is_to_be_looked_at_where_a_landmark_it_rests_on_is_doubted(severity, grave, impossible):
    doubt = SimpleNamespace(severity=severity, names=("gnathion", "sellion"), impossible=impossible)
    fitting = SimpleNamespace(landmark_doubts=(doubt,))
    assert bool(grave_doubts(fitting, ("sellion", "alare_left"))) == grave
    assert bool(impossible_doubts(fitting, ("sellion", "alare_left"))) == impossible
    assert grave_doubts(fitting, ("alare_left",)) == impossible_doubts(fitting, ("alare_left",)) == ()


def test_a_mouth_that_fits_open_and_shows_no_opening_casts_doubt_on_what_goes_with_the_jaw():
    template = head_template()
    reading = SimpleNamespace(
        laying=SimpleNamespace(hidden_open_mm=8.0, seen={}), template=template, carried={"gnathion": np.zeros(3)}
    )
    (doubt,) = Reading.doubts(reading)
    assert "about 8 mm open" in doubt.message
    assert {"gnathion", "stomion_inferius"} <= {*doubt.names}
    assert not {*doubt.names} & {"stomion_superius", "sellion", "pronasale", "tragion_left", "pupil_right"}


@pytest.mark.parametrize(("wide_mm", "limit_mm"), [(35.0, 36.0), (68.0, 67.0)])
def test_an_unlikely_distance_is_held_against_the_end_that_it_is_beyond(wide_mm, limit_mm):
    corners = {f"cheilion_{side}": np.array([at * wide_mm, 0.0, 0.0]) for side, at in (("left", 0.5), ("right", -0.5))}
    (doubt,) = [each for each in landmark_doubts(corners) if "width of the mouth" in each.message]
    assert (doubt.value_mm, doubt.limit_mm, str(doubt.severity)) == (wide_mm, limit_mm, "info")


def test_how_well_the_template_follows_is_read_beside_the_landmark():
    """Gaps that grow with the distance from a landmark: within 12 mm of it, the mean over a disc is two thirds of that."""
    template = head_template()
    number = template.names.index("gnathion")
    far_mm = np.linalg.norm(template.surface.vertices_mm - template.points_mm[number], axis=1)
    reading = SimpleNamespace(template=template, first=SimpleNamespace(gap_mm=far_mm))
    assert Reading._gap_mm(reading, number) == pytest.approx(2 / 3 * BESIDE_MM, rel=0.15)
    reading.first.gap_mm = np.where(far_mm < BESIDE_MM, np.nan, 1.0)
    assert Reading._gap_mm(reading, number) == BESIDE_MM, "where the scan has no skin there"


def test_the_second_start_is_nodded_and_enlarged_a_little_about_the_faces_middle():
    """So little that a fit that holds comes back from it: a head's nod between two scans, and a twentieth of its size."""
    template, pose = head_template(), Similarity(1.2, rotation_matrix([0.1, 0.2, 0.3]), np.array([5.0, -6.0, 7.0]))
    nudged = proposal._nudged(pose, template)
    middle = template.points_mm.mean(axis=0)
    np.testing.assert_allclose(nudged.apply(middle), pose.apply(middle), atol=1e-9)
    assert 1.01 < nudged.scale / pose.scale < 1.05 and 2.0 < nudged.angle_to_deg(pose) < 6.0
    across = np.array([1.0, 0.0, 0.0])
    np.testing.assert_allclose(nudged.turn(across), pose.turn(across), atol=1e-9)


def test_no_jaw_is_further_than_two_degrees_and_a_half_from_one_that_is_tried():
    assert np.diff([0.0, *ANGLES_DEG]).max() == 5.0 and max(ANGLES_DEG) >= 35.0


def test_where_skin_turns_is_looked_for_along_a_direction_ahead_or_below():
    for direction, reach_mm in TURNING.values():
        assert np.linalg.norm(direction) == pytest.approx(1.0, abs=0.01) and reach_mm > 0.0
    below = np.degrees(np.arctan2(-np.array(TURNING["gnathion"][0])[2], -np.array(TURNING["gnathion"][0])[1]))
    assert below == pytest.approx(60.0, abs=1.0), "the chin turns from front to underside"


@pytest.mark.parametrize(
    ("name", "on_border", "far_mm", "kept"),
    [("gnathion", False, 2.0, "skin"), ("gnathion", False, LOST_MM + 1.0, "skin"), ("gnathion", True, LOST_MM, "skin"),
     ("gnathion", True, LOST_MM + LITTLE, None), ("pupil_left", False, 2.0, "skin"), ("pupil_left", True, 2.0, "itself"),
     ("pupil_left", False, LOST_MM + LITTLE, "itself"), ("pupil_left", True, LOST_MM + LITTLE, "itself")],
)  # fmt: skip
def test_a_point_beyond_the_scans_border_is_not_on_it_and_a_pupil_may_stand_in_a_hole(name, on_border, far_mm, kept):
    near = SimpleNamespace(
        feature=[OPEN_BORDER if on_border else OPEN_BORDER + 1], distance_mm=[far_mm], point=[np.full(3, 7.0)]
    )
    reading = SimpleNamespace(eyeballs={}, scan=SimpleNamespace(closest=lambda points: near))
    found = Reading._on_the_scan(reading, name, np.full(3, 5.0))
    expected = {"skin": [7.0] * 3, "itself": [5.0] * 3, None: None}[kept]
    assert found is None if expected is None else found.tolist() == expected


def test_a_pupil_stands_at_the_front_of_an_eyeball_where_there_is_one():
    """Front is where the fitted head has the pupil, seen from the ball's middle."""
    ball = np.array([[1.0, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0]])
    reading = SimpleNamespace(eyeballs={"pupil_left": ball}, scan=None)
    assert Reading._on_the_scan(reading, "pupil_left", np.array([0.3, -4.0, 0.0])).tolist() == [0.0, -1.0, 0.0]


def test_a_template_bends_stiffly_first_and_more_and_more_freely_then():
    stiff = [*proposal.STIFFER_MM]
    assert stiff == sorted(stiff, reverse=True) and all(2.5 > one / other > 1.5 for one, other in zip(stiff, stiff[1:]))  # noqa: B905, RUF007
