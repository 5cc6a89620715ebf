"""Lifting a piece onto the base, measured again by the check that found it."""

from dataclasses import replace

import numpy as np
import pytest

import dryfit
from dryfit.fixes.lift import RUN_OUT_MM, lift
from dryfit.fixes.mended import NothingToMend
from dryfit.model.brief import Brief
from dryfit.performer.fitting import Fitting
from shapes import sheet, slab, worn


def hollow(depth_mm, width_mm=20.0, height_mm=1.0):
    return lambda x, y: height_mm - (depth_mm + height_mm) * np.clip(1.0 - (x**2 + y**2) / width_mm**2, 0, None)


def below_base(snapshot):
    return [f for f in dryfit.check(snapshot, only=["additive"]).check("additive").findings if f.remedy == "lift"]


def with_vertices(snapshot, name, vertices_mm):
    parts = [replace(part, vertices_mm=vertices_mm) if part.name == name else part for part in snapshot.parts]
    return replace(snapshot, parts=tuple(parts))


def test_a_lifted_hollow_is_no_longer_found_and_the_rest_stays():
    snapshot = worn(sheet(120.0, 60), sheet(60.0, 120, hollow(2.5)))
    (finding,) = below_base(snapshot)
    mended = lift(Fitting(snapshot, Brief()), finding)
    assert not below_base(with_vertices(snapshot, finding.object, mended.vertices_mm))
    before = snapshot.part(finding.object).vertices_mm
    moved = np.linalg.norm(mended.vertices_mm - before, axis=1) > 1e-6
    assert mended.largest_mm == pytest.approx(2.6, abs=0.02)
    reach = np.linalg.norm(before[moved][:, :2], axis=1).max()
    assert reach < 20.0 + RUN_OUT_MM
    assert not (mended.vertices_mm[moved][:, 2] < before[moved][:, 2]).any()


def test_coarse_faces_over_a_bulge_clear_it_in_their_middle_too():
    swelling = lambda x, y: 2.0 * np.clip(1.0 - (x**2 + y**2) / 400.0, 0, None)  # noqa: E731
    snapshot = worn(sheet(120.0, 240, swelling), sheet(60.0, 6, lambda x, y: 1.0 + 0 * x))
    found = below_base(snapshot)
    assert found
    for finding in found:
        mended = lift(Fitting(snapshot, Brief()), finding)
        snapshot = with_vertices(snapshot, finding.object, mended.vertices_mm)
    assert not below_base(snapshot)


def test_the_inner_face_of_a_closed_shell_stays_where_it_is():
    bowl = lambda x, y: np.clip(1.0 - (x**2 + y**2) / 400.0, 0, None)  # noqa: E731
    vertices, faces = sheet(60.0, 60, lambda x, y: -3.0 * bowl(x, y))
    shell = slab(vertices, faces, 3.0 - 2.0 * bowl(vertices[:, 0], vertices[:, 1]))
    snapshot = worn(sheet(120.0, 60), shell)
    (finding,) = below_base(snapshot)
    mended = lift(Fitting(snapshot, Brief()), finding)
    inner = slice(len(vertices), None)
    assert np.array_equal(mended.vertices_mm[inner], snapshot.part(finding.object).vertices_mm[inner])
    assert not below_base(with_vertices(snapshot, finding.object, mended.vertices_mm))


def test_a_piece_that_clears_the_base_has_nothing_to_lift():
    snapshot = worn(sheet(120.0, 60), sheet(60.0, 120, hollow(2.5)))
    (finding,) = below_base(snapshot)
    raised = snapshot.part(finding.object).vertices_mm + [0, 0, 10.0]
    with pytest.raises(NothingToMend, match=finding.object):
        lift(Fitting(with_vertices(snapshot, finding.object, raised), Brief()), finding)
