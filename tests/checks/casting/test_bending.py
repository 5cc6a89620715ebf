"""How thick a sheet may be to bend no harder than another: stiffness times thickness cubed."""

from dataclasses import replace

import numpy as np
import pytest

from dryfit.checks.casting.bending import RIGID, Bending
from dryfit.model.brief import Brief

SILICONE = Brief().materials["silicone"]
THICK_MM = np.array([0.5, 2.0, 10.0])


def of(material, ordinary_kpa=100.0):
    return Bending(material, ordinary_kpa)


@pytest.mark.parametrize(("stiffness_kpa", "share"), [(100.0, 1.0), (800.0, 2.0), (12.5, 0.5)])
def test_eight_times_as_stiff_bends_as_twice_as_thick(stiffness_kpa, share):
    bending = of(replace(SILICONE, stiffness_kpa=stiffness_kpa, skin_mm=0.0))
    np.testing.assert_allclose(bending.as_ordinary_mm(THICK_MM), share * THICK_MM)
    assert bending.own_mm(4.0) == pytest.approx(4.0 / share, rel=1e-3)


def test_what_is_not_known_counts_as_ordinary_and_what_is_rigid_as_twenty_times_as_thick():
    for material in (None, replace(SILICONE, stiffness_kpa=0.0)):
        np.testing.assert_array_equal(of(material).as_ordinary_mm(THICK_MM), THICK_MM)
        assert of(material).own_mm(4.0) == pytest.approx(4.0)
    acrylic = Brief().materials["acrylic"]
    np.testing.assert_allclose(of(acrylic).as_ordinary_mm(THICK_MM), 20.0 * THICK_MM)
    assert pytest.approx(1.0 / 20.0) == RIGID and of(acrylic).own_mm(4.0) == pytest.approx(0.2, rel=1e-2)


def test_a_skin_counts_by_the_cube_for_it_lies_furthest_out():
    """2 mm with skins of half a millimetre: the core's share is (1 - 0.5)3, an eighth."""
    skinned = replace(SILICONE, stiffness_kpa=10.0, skin_mm=0.5, skin_stiffness_kpa=200.0)
    expected_kpa = 10.0 / 8.0 + 200.0 * 7.0 / 8.0
    assert of(skinned).as_ordinary_mm(np.array([2.0])) == pytest.approx(2.0 * np.cbrt(expected_kpa / 100.0))
    assert of(skinned).as_ordinary_mm(np.array([0.8])) == pytest.approx(0.8 * np.cbrt(2.0)), "skin throughout"


def test_a_material_of_the_brief_is_found_by_its_name():
    brief = Brief()
    assert Bending.of("silicone", brief) == Bending(SILICONE, brief.limits.mobile_stiffness_kpa)
    assert Bending.of("", brief).material is None
