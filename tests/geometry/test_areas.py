"""Areas, volumes and clipping against closed formulas."""

import numpy as np
import pytest

from dryfit.geometry.areas import areas_mm2, clip_below, prism_volumes_mm3, signed_volume_mm3, split_evenly
from shapes import icosphere, torus


def test_the_sphere_has_its_area_and_volume():
    vertices, faces = icosphere(5, 50.0)
    assert areas_mm2(vertices[faces]).sum() == pytest.approx(4 * np.pi * 50**2, rel=1e-3)
    assert signed_volume_mm3(vertices, faces) == pytest.approx(4 / 3 * np.pi * 50**3, rel=2e-3)
    assert signed_volume_mm3(vertices, faces[:, ::-1]) < 0


def test_the_torus_has_its_area_and_volume():
    vertices, faces = torus(60.0, 20.0)
    assert areas_mm2(vertices[faces]).sum() == pytest.approx(4 * np.pi**2 * 60 * 20, rel=1e-3)
    assert signed_volume_mm3(vertices, faces) == pytest.approx(2 * np.pi**2 * 60 * 20**2, rel=1e-3)


def test_splitting_keeps_the_area_and_the_way_round():
    triangle = np.array([[[0.0, 0, 0], [4, 0, 0], [0, 3, 0]]])
    for count in (1, 2, 5):
        facets = split_evenly(np.array([count]))
        pieces = facets.of(triangle)
        assert len(pieces) == count**2
        assert areas_mm2(pieces) == pytest.approx(np.full(count**2, 6.0 / count**2))
        assert (np.cross(pieces[:, 1] - pieces[:, 0], pieces[:, 2] - pieces[:, 0])[:, 2] > 0).all()


@pytest.mark.parametrize(
    ("values", "share"),
    [
        ([-1, -1, -1], 1.0),
        ([1, 1, 1], 0.0),
        ([-1, 1, 1], 0.25),
        ([1, -1, 1], 0.25),
        ([1, 1, -1], 0.25),
        ([1, -1, -1], 0.75),
        ([-1, 1, -1], 0.75),
        ([-1, -1, 1], 0.75),
        ([-1, 3, 1], 0.125),
        ([np.nan, -1, -1], 0.0),
    ],
)
def test_clipping_keeps_the_share_below(values, share):
    triangle = np.array([[[0.0, 0, 0], [4, 0, 0], [0, 3, 0]]])
    cut = clip_below(np.array([values], float), 0.0)
    assert areas_mm2(cut.of(triangle)).sum() == pytest.approx(6.0 * share)
    levels = cut.of(np.array([values], float)[:, :, None])
    assert (levels <= 1e-12).all()


def test_prisms_have_their_volume_also_when_slanted():
    foot = np.array([[[0.0, 0, 0], [4, 0, 0], [0, 3, 0]]])
    assert prism_volumes_mm3(foot + [0, 0, 2.0], foot) == pytest.approx(12.0)
    assert prism_volumes_mm3(foot + [1.0, 1.0, -2.0], foot) == pytest.approx(-12.0)
    wedge = foot + np.array([[0.0, 0, 0], [0, 0, 0], [0, 0, 3.0]])
    assert prism_volumes_mm3(wedge, foot) == pytest.approx(6.0)


def test_the_underside_of_an_overhang_is_taken_from_what_its_top_sweeps():
    foot = np.array([[[0.0, 0, 0], [4, 0, 0], [0, 3, 0]]])
    top, underside = foot + [0, 0, 5.0], foot[:, ::-1] + [0, 0, 3.0]
    shelf = prism_volumes_mm3(np.concatenate([top, underside]), np.concatenate([foot, foot[:, ::-1]]))
    assert shelf.sum() == pytest.approx(6.0 * (5.0 - 3.0))
