"""The gap on the head's own mouth: smooth and even in t, the same whatever the mesh, the motion or the landmarks."""

from functools import cache

import numpy as np
import pytest

from dryfit.model.brief import Brief
from dryfit.performer.fitting import Fitting
from dryfit.performer.mouth.lips import Lips
from family import members
from family.truth import lip_gap

PATHS = ("turn", "condyles", "slide", "stored")
GAPS_MM = (-1.2, -0.3, 0.3, 1.2)
QUICK = (("condyles", 0.3), ("stored", -0.3))
RUNS = [
    pytest.param(path, gap, marks=[] if (path, gap) in QUICK else [pytest.mark.slow])
    for path in PATHS
    for gap in GAPS_MM
]


def lips_of(member):
    fitting = Fitting(member.snapshot, Brief())
    return Lips(fitting, fitting.poses("jaw"), (fitting.base,))


@cache
def resting(path="condyles", gap_mm=0.4, times=1):
    return lips_of(members.keyed(path=path, gap_mm=gap_mm, times=times)).profile(0.0)


@pytest.mark.parametrize(("path", "gap_mm"), RUNS)
def test_every_station_opens_evenly_at_200_steps(path, gap_mm):
    lips = lips_of(members.keyed(path=path, gap_mm=gap_mm))
    gaps = np.array([lips.profile(t).gap_mm for t in np.linspace(0.0, 1.0, 201)])
    steps = np.diff(gaps, axis=0)
    assert (steps >= 0.0).all()
    assert (steps[1:-1] <= 1.5 * np.maximum(steps[:-2], steps[2:]) + 1e-3).all()


@pytest.mark.parametrize("gap_mm", [-1.2, -0.3, 0.3, 1.2])
def test_closed_lips_are_as_far_apart_as_they_were_made(gap_mm):
    profile = resting(gap_mm=gap_mm)
    true = lip_gap(members.keyed(path="condyles", gap_mm=gap_mm).head)
    inner = np.abs(profile.across_mm) < 15.0
    column = np.interp(profile.across_mm[inner], true.across_mm, true.column_mm)
    assert (np.sign(profile.gap_mm[inner]) == np.sign(gap_mm)).all()
    assert profile.apart_mm[inner] == pytest.approx(column, abs=0.35), "a slope between the lips is less than upright"
    assert (profile.apart_mm[inner] <= column + 0.02).all()


def test_a_finer_mesh_of_the_same_surface_is_read_alike():
    one, four = resting(), resting(times=4)
    assert four.gap_mm == pytest.approx(one.gap_mm, abs=0.01)
    assert four.across_mm == pytest.approx(one.across_mm, abs=0.1)


@pytest.mark.slow
def test_a_mesh_sixteen_times_as_fine_is_read_alike():
    assert resting(times=16).gap_mm == pytest.approx(resting().gap_mm, abs=0.01)


@pytest.mark.parametrize("identity", ["mean", pytest.param("elder_woman", marks=pytest.mark.slow)])
def test_keys_and_hinge_read_the_same_rest_alike(identity):
    keyed, hinged = (lips_of(make(identity)).profile(0.0) for make in (members.keyed, members.hinged))
    assert hinged.largest_mm == pytest.approx(keyed.largest_mm, abs=0.02)
    assert hinged.gap_mm == pytest.approx(keyed.gap_mm, abs=0.05)


@pytest.mark.parametrize("shift_mm", [(3, 0, 0), (-4, 0, 0), (8, 0, 0), (0, 0, 3), (0, 3, 0), (4, 0, -4)])
def test_a_corner_mark_that_is_off_changes_no_gap(shift_mm):
    member = members.keyed(path="condyles").with_moved("cheilion_left", np.array(shift_mm, float))
    assert lips_of(member).profile(0.0).largest_mm == pytest.approx(resting().largest_mm, abs=0.05)


def test_stations_end_where_the_lips_come_together():
    member = members.keyed(path="condyles")
    lips = lips_of(member)
    corner = abs(member.head.landmarks()["cheilion_left"][0])
    across = np.abs(lips.profile(0.0).across_mm)
    assert corner - 4.0 < across.max() < corner + 0.5
    assert (lips.profile(1.0).gap_mm > 1.0).all(), "every station lies on the slit: wide open it has parted"


def test_what_is_worn_beside_the_lips_changes_no_gap():
    member = members.with_cheek_piece(members.keyed(path="condyles"))
    fitting = Fitting(member.snapshot, Brief())
    bare = Lips(fitting, fitting.poses("jaw"), (fitting.base,))
    worn = bare.wearing(tuple(part for part in member.snapshot.parts if part.role in ("base", "appliance")))
    for t in (0.0, 0.5):
        assert worn.profile(t).gap_mm == pytest.approx(bare.profile(t).gap_mm, abs=1e-9)
