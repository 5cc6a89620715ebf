"""A few hundred random meshes, briefs, broken files and designs; ``scripts/fuzz.py`` tries as many as there is time for."""

import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

sys.path.insert(0, str(Path(__file__).parent.parent / "scripts"))

import fuzz
import fuzz_designs
import fuzz_meshes
from shapes import icosphere

KINDS = fuzz.kinds()


def tried(kind, count):
    """A test that tries so many cases of a kind, the same ones each time."""

    if kind not in KINDS:

        @pytest.mark.skip("needs Blender's Python module")
        def leave_out():
            pass

        return leave_out

    @settings(max_examples=count, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
    @given(KINDS[kind].drawn)
    def ask(case):
        assert [*KINDS[kind].wrong(case)] == []

    return ask


test_meshes_have_the_signs_and_distances_that_brute_force_finds = tried("mesh", 200)
test_briefs_are_read_or_cost_one_clear_line = tried("brief", 200)
test_broken_files_are_read_or_cost_one_clear_line = tried("file", 80)
test_nothing_passes_that_is_not_proven = tried("design", 8)
test_broken_files_for_blender_are_read_or_cost_one_clear_line = pytest.mark.slow(tried("foreign", 20))
test_nothing_passes_that_is_not_proven_on_more = pytest.mark.slow(tried("design", 60))


def test_the_same_seed_gives_the_same_cases():
    first, again, other = ([case for case, _ in fuzz.tried(KINDS["brief"], 20, seed)] for seed in (3, 3, 4))
    assert len(first) == 20 and first == again and first != other


def test_solid_angles_tell_inside_from_outside():
    vertices, faces = icosphere(2, 50.0)
    points = np.array([[0.0, 0, 0], [45, 0, 0], [60, 0, 0], [0, 0, -300]])
    assert fuzz_meshes.winding(vertices[faces], points) == pytest.approx([1, 1, 0, 0], abs=1e-9)
    assert fuzz_meshes.winding(vertices[faces[:, ::-1]], points) == pytest.approx([-1, -1, 0, 0], abs=1e-9)


def test_brute_force_measures_to_faces_edges_and_corners():
    corners = np.array([[[0.0, 0, 0], [10, 0, 0], [0, 10, 0]], [[0, 0, 5], [0, 0, 5], [0, 0, 5]]])
    points = np.array([[2.0, 2, -3], [5, -4, 0], [-3, -4, 0], [0, 0, 7]])
    assert fuzz_meshes.nearest(corners, points) == pytest.approx([3, 4, 5, 2])


@pytest.mark.slow
def test_a_sound_person_is_measured_by_nearly_every_check():
    """Else all that fuzzing could find is a refusal."""
    case = fuzz_designs.DesignCase(
        person=True, piece="cap", second="none", damage="", damaged=0, marks="", motions="keys", extras="both",
        material="silicone", limits=(), accepted=(), lock="held", seed=5,
    )  # fmt: skip
    assert [*fuzz_designs.wrong_design(case, page=True)] == []
    report = fuzz_designs.dryfit.check(*fuzz_designs.built(case))
    assert sum(check.status != "not_checked" for check in report.checks) >= 11
