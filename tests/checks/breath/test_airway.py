"""Nostrils as flat openings: what a disc before them leaves is a textbook view factor."""

import numpy as np
import pytest

import dryfit
from dryfit.checks.breath.mouth_opening import gap_area_mm2
from dryfit.model.snapshot import Part, Snapshot
from dryfit.performer.mouth.lips import GapProfile
from plates import FRAME_MARKS, board
from shapes import icosphere

RADIUS_MM = 6.0


def disc(rings_mm, height=lambda r: 0.0 * r, around=360):
    """A flat disc looking up, with edges at the given radii."""
    angle = np.arange(around) * 2 * np.pi / around
    rim = np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    radii = np.array(rings_mm, float)
    points = [np.array([[0, 0, height(np.zeros(1))[0]]])]
    points += [rim * r + [0, 0, height(np.array([r]))[0]] for r in radii]
    here, after = np.arange(around), (np.arange(around) + 1) % around
    faces = [np.stack([0 * here, here + 1, after + 1], 1)]
    for ring in range(len(radii) - 1):
        a, b = 1 + ring * around, 1 + (ring + 1) * around
        faces += [np.stack([a + here, b + here, b + after], 1), np.stack([a + here, b + after, a + after], 1)]
    return np.concatenate(points), np.concatenate(faces)


def nose(*worn, height=lambda r: 0.0 * r, rings=(2, 4, 5, RADIUS_MM, 7, 10, 20, 60), landmarks=None):
    vertices, faces = disc(rings, height)
    inside = (np.hypot(vertices[:, 0], vertices[:, 1]) <= RADIUS_MM + 1e-9).astype(float)
    base = Part("Scan", "base", vertices, faces, areas={"dryfit_nostril_left": inside})
    parts = [Part(f"Plate{number}", "hardware", *mesh) for number, mesh in enumerate(worn)]
    return Snapshot("nose", parts=(base, *parts), landmarks=landmarks or {})


def measured(snapshot):
    return dryfit.check(snapshot, only=["airway"]).check("airway")


def view_factor(radius, other_radius, distance):
    """Coaxial parallel discs (Howell, A Catalog of Radiation Heat Transfer Configuration Factors, C-41)."""
    one, two = radius / distance, other_radius / distance
    total = 1 + (1 + two**2) / one**2
    return 0.5 * (total - np.sqrt(total**2 - 4 * (two / one) ** 2))


@pytest.mark.parametrize(("radius", "distance"), [(4.0, 3.0), (6.0, 6.0), (10.0, 5.0), (3.0, 10.0)])
def test_a_disc_before_the_nostril_takes_its_view_factor(radius, distance):
    plate = disc([radius])
    result = measured(nose((plate[0] + [0, 0, distance + 0.05], plate[1])))
    expected = 1 - view_factor(RADIUS_MM, radius, distance)
    assert result.measures["nostril_open_fraction_left"] == pytest.approx(expected, abs=0.015)


def test_a_plate_over_half_the_opening_takes_half():
    result = measured(nose(board([0.0, -50, 0.06], [50, 50, 0.06])))
    assert result.measures["nostril_open_fraction_left"] == pytest.approx(0.5, abs=0.02)
    assert result.findings[0].severity == "fail"
    assert result.findings[0].object == "Plate0"


def test_a_lid_on_the_nostril_closes_it():
    result = measured(nose(board([-50, -50, 0.5], [50, 50, 0.5])))
    assert result.measures["nostril_open_fraction_left"] == pytest.approx(0.0, abs=0.03)


def test_what_is_far_off_does_not_count():
    result = measured(nose(board([-90, -90, 26.0], [90, 90, 26.0])))
    assert result.measures["nostril_open_fraction_left"] == 1.0


@pytest.mark.parametrize("depth", [0.0, 2.0, 9.0])
def test_the_opening_is_as_large_however_deep_the_nostril(depth):
    pocket = lambda r: -depth * np.clip(1 - (r / RADIUS_MM) ** 2, 0, None)  # noqa: E731
    result = measured(nose(board([90, 90, 0], [99, 99, 0]), height=pocket))
    assert result.measures["nostril_area_mm2_left"] == pytest.approx(np.pi * RADIUS_MM**2, rel=1e-3)
    assert result.measures["nostril_open_fraction_left"] == 1.0


def test_what_is_missing_is_named_and_the_rest_still_runs():
    result = measured(nose(board([90, 90, 0], [99, 99, 0])))
    assert result.status == "not_checked"
    assert "dryfit_nostril_right" in result.reason
    assert "alare_right" in result.reason
    assert "stomion_superius" in result.reason
    assert result.measures["nostril_open_fraction_left"] == 1.0


def test_with_nothing_to_go_by_it_says_so():
    vertices, faces = disc([60])
    parts = (Part("Scan", "base", vertices, faces), Part("Plate", "hardware", *board([0, 0, 1], [5, 5, 1])))
    result = measured(
        Snapshot("nose", parts=parts, landmarks={k: np.array(FRAME_MARKS[k]) for k in ("sellion", "gnathion")})
    )
    assert result.status == "not_checked"
    assert not result.measures


def test_the_area_between_the_lips_is_the_ellipse_they_form():
    across = np.linspace(-24.0, 24.0, 61)
    gap = 2 * 17.0 * np.sqrt(1 - (across / 24.0) ** 2)
    profile = GapProfile(1.0, across, gap, np.ones(61, bool), np.zeros((61, 3)), np.zeros(61))
    assert gap_area_mm2(profile) == pytest.approx(np.pi * 24.0 * 17.0, rel=5e-3)
    overlapping = GapProfile(1.0, across, -gap, np.ones(61, bool), np.zeros((61, 3)), np.zeros(61))
    assert gap_area_mm2(overlapping) == 0.0


def unmarked(rings, height):
    """A nose with landmarks and no vertex groups; the left nostril's middle is at (0, 0, 0), its radius 10/3 mm."""
    marks = {"subnasale": (-10.0, -6.0, 0), "pronasale": (-10.0, 9.0, 0), "alare_left": (10.0, 0, 0)}
    vertices, faces = disc(rings, height)
    base = Part("Scan", "base", vertices, faces)
    away = Part("Plate", "hardware", *board([90, 90, 0], [99, 99, 0]))
    return Snapshot("nose", parts=(base, away), landmarks={name: np.array(at) for name, at in marks.items()})


RINGS = (1, 2, 3, 4, 5, 5.5, RADIUS_MM, 6.5, 7, 8, 10, 20, 60)


def test_landmarks_alone_find_the_hollow_of_a_nostril_as_large_as_it_is():
    pocket = lambda r: -9.0 * np.clip(1 - (r / RADIUS_MM) ** 4, 0, None)  # noqa: E731
    found = measured(unmarked(RINGS, pocket)).measures["nostril_area_mm2_left"]
    assert found == pytest.approx(np.pi * RADIUS_MM**2, rel=0.17)  # one ring of vertices in or out


def test_landmarks_stand_in_where_the_scan_has_the_nostril_filled():
    found = measured(unmarked(RINGS, lambda r: 0.0 * r)).measures["nostril_area_mm2_left"]
    assert found == pytest.approx(np.pi * (0.33 * 20.0) ** 2, rel=0.2)


def shell(radius, hole_deg=0.0):
    """A ball round the nose, open about its top by a half angle, degrees."""
    points, faces = icosphere(4, radius)
    high = points[:, 2] / radius > np.cos(np.radians(hole_deg)) if hole_deg else np.zeros(len(points), bool)
    return points, faces[~high[faces].all(axis=1)]


@pytest.mark.parametrize("radius", [30.0, 58.0])
def test_a_sealed_shell_leaves_no_way_out_however_far_off_it_stands(radius):
    result = measured(nose(shell(radius)))
    assert result.measures["nostril_open_fraction_left"] > 0.98  # next to nothing is near
    assert result.measures["way_out_fraction"] == 0.0
    assert "on all sides" in result.findings[0].message
    assert result.findings[0].severity == "fail"


@pytest.mark.parametrize(("hole_deg", "severities"), [(30.0, []), (7.0, ["review"])])
def test_a_hole_in_the_shell_lets_out_its_share(hole_deg, severities):
    """Weighted by the cosine, a hole of half angle a about the way out is sin(a)² of all ways from its middle."""
    result = measured(nose(shell(58.0, hole_deg)))
    assert result.measures["way_out_fraction"] == pytest.approx(np.sin(np.radians(hole_deg)) ** 2, abs=0.04)
    assert [finding.severity for finding in result.findings] == severities


def eared(*worn):
    """A sphere of 100 mm with its ears at its sides, and discs of (radius, distance from where rays start) before one."""
    plates = []
    for radius_mm, distance_mm in worn:
        vertices, faces = disc([radius_mm])
        plates.append((vertices[:, [2, 1, 0]] + [102.0 + distance_mm, 0, 0], faces))
    marks = {name: np.array(at, float) for name, at in FRAME_MARKS.items()}
    marks |= {"tragion_left": np.array([100.0, 0, 0]), "tragion_right": np.array([-100.0, 0, 0])}
    parts = [Part("Head", "base", *icosphere(6))]
    parts += [Part(f"Plate{number}", "hardware", *mesh) for number, mesh in enumerate(plates)]
    return Snapshot("ears", parts=tuple(parts), landmarks=marks)


@pytest.mark.parametrize(("radius_mm", "distance_mm"), [(10.0, 10.0), (20.0, 10.0), (5.0, 15.0)])
def test_a_disc_before_an_ear_takes_what_comes_from_its_side(radius_mm, distance_mm):
    """Seen from a point on its axis a disc takes r2 / (r2 + d2) of a hemisphere, weighted by the cosine."""
    result = measured(eared((radius_mm, distance_mm)))
    left = 1.0 - radius_mm**2 / (radius_mm**2 + distance_mm**2)
    assert result.measures["ear_open_fraction_left"] == pytest.approx(left, abs=0.02)
    assert result.measures["ear_open_fraction_right"] == 1.0
    told = [finding for finding in result.findings if finding.region == "left ear"]
    assert [str(finding.severity) for finding in told] == (["review"] if left < 0.48 else [])


def test_what_stands_far_off_an_ear_does_not_cover_it():
    assert measured(eared((90.0, 55.0))).measures["ear_open_fraction_left"] == 1.0


def test_ears_without_landmarks_are_not_measured():
    result = measured(nose((disc([1.0])[0] + [0, 0, 20.0], disc([1.0])[1])))
    assert result.status == "not_checked" and "tragion_left, tragion_right" in result.reason
    assert np.isnan(result.measures["ear_open_fraction_left"])
