"""A piece that lies on the base with enough of its skin flows into it; one that touches it only at its foot does not."""

import numpy as np
import pytest

from dryfit.geometry import Surface
from dryfit.geometry.outer_skin import FLOWING_SHARE, outer_skin
from shapes import sheet

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
