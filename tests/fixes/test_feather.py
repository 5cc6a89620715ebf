"""Feathering a rim, measured again by the check that found it."""

from dataclasses import replace

import numpy as np
import pytest

import dryfit
from dryfit.fixes.feather import REACH_MM, feather, profile_mm
from dryfit.model.brief import Brief
from dryfit.model.limits import Limits
from dryfit.performer.fitting import Fitting
from shapes import sheet, slab, worn


def rims(snapshot):
    return [f for f in dryfit.check(snapshot, only=["edge"]).check("edge").findings if f.remedy == "feather"]


def with_vertices(snapshot, name, vertices_mm):
    parts = [replace(part, vertices_mm=vertices_mm) if part.name == name else part for part in snapshot.parts]
    return replace(snapshot, parts=tuple(parts))


def mend_all(snapshot, rounds=3):
    for _ in range(rounds):
        found = rims(snapshot)
        if not found:
            break
        mended = feather(Fitting(snapshot, Brief()), found[0])
        snapshot = with_vertices(snapshot, mended.part, mended.vertices_mm)
    return snapshot


def test_the_profile_starts_thin_and_reaches_the_blend_thickness_past_the_blend_width():
    limits = Limits()
    at = profile_mm(np.array([0.0, limits.blend_width_mm, 1.25 * limits.blend_width_mm]), limits)
    assert at[0] < limits.rim_thickness_review_mm
    assert at[1] < limits.blend_thickness_mm
    assert at[2] == pytest.approx(limits.blend_thickness_mm)


def test_a_thick_open_rim_is_thin_after_one_fix_a_finding():
    piece = sheet(60.0, 120, lambda x, y: 1.2 + 0 * x)
    snapshot = worn(sheet(120.0, 60), piece)
    assert any(finding.severity == "fail" for finding in rims(snapshot))
    mended = mend_all(snapshot)
    assert not rims(mended)
    deep = np.abs(piece[0][:, :2]).max(axis=1) < 30.0 - REACH_MM
    assert deep.any()
    part = mended.with_role("appliance")[0]
    assert np.array_equal(part.vertices_mm[deep], piece[0][deep])


def test_a_cut_edge_of_a_closed_shell_comes_down():
    vertices, faces = sheet(60.0, 120)
    snapshot = worn(sheet(120.0, 60), slab(vertices, faces, np.full(len(vertices), 1.0)))
    found = rims(snapshot)
    assert max(finding.value for finding in found) == pytest.approx(1.0, abs=0.05)
    mended = mend_all(snapshot)
    left = [finding for finding in rims(mended) if finding.severity == "fail"]
    assert not left
    assert (mended.with_role("appliance")[0].vertices_mm[:, 2] >= -1e-9).all()


def test_the_middle_keeps_its_height_and_nothing_goes_below_the_base():
    piece = sheet(60.0, 120, lambda x, y: 3.0 * np.clip(1.0 - (np.maximum(abs(x), abs(y)) / 31.0) ** 8, 0, None))
    snapshot = worn(sheet(120.0, 60), piece)
    mended = mend_all(snapshot).with_role("appliance")[0].vertices_mm
    centre = np.linalg.norm(piece[0][:, :2], axis=1) < 5.0
    assert np.allclose(mended[centre], piece[0][centre])
    assert mended[:, 2].min() >= 0.0
