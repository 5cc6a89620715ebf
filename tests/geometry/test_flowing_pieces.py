"""A piece that lies on the base with enough of its skin flows into it; one that touches it only at its foot does not."""

import numpy as np
import pytest

from dryfit.geometry import Surface
from dryfit.geometry.outer_skin import FLOWING_SHARE, outer_skin
from shapes import sheet, slab

BASE = Surface(*sheet(100.0, 20))
WIDE_MM = 60.0


def lying(share):
    """A sheet over the base of which so much, by area, lies on it; the rest rises slowly from there."""
    ends_mm = WIDE_MM * (share - 0.5)
    vertices, faces = sheet(WIDE_MM, 60, lambda x, y: np.maximum(x - ends_mm, 0.0) * 0.2)
    return outer_skin(vertices, faces, BASE, contact_mm=0.05)


@pytest.mark.parametrize(("share", "flows"), [(0.05, False), (0.15, False), (0.25, True), (0.35, True), (0.9, True)])
def test_a_fifth_of_the_skin_on_the_base_is_a_piece_that_flows_into_it(share, flows):
    skin = lying(share)
    assert skin.flows == flows == (share > FLOWING_SHARE)
    left = np.ptp(skin.vertices_mm[skin.outer_faces][:, :, 0])
    assert left == pytest.approx(WIDE_MM * (1.0 - share) if flows else WIDE_MM, abs=1.5)


@pytest.mark.parametrize(("kept", "shell"), [(0.1, False), (0.2, False), (0.5, True), (0.9, True)])
def test_an_open_piece_is_a_shell_where_a_fifth_of_it_looks_at_the_base(kept, shell):
    """A plate 2 mm thick, half a millimetre over the base, of whose underside so much is there."""
    plate = sheet(WIDE_MM, 30)
    vertices, faces = slab(*plate, np.full(len(plate[0]), 2.0), lift_mm=0.5)
    count = len(plate[1])
    under = np.arange(count, 2 * count)
    there = vertices[faces[under]].mean(axis=1)[:, 0] < WIDE_MM * (kept - 0.5)
    faces = np.concatenate([faces[:count], faces[under[there]], faces[2 * count :]])
    share = kept * WIDE_MM / (WIDE_MM + kept * WIDE_MM + 4.0 * 2.0)
    assert (share > 0.2) == shell
    outer = outer_skin(vertices, faces, BASE, contact_mm=0.05).outer
    assert outer[:count].all() and (~outer[count : count + there.sum()]).all() == shell
