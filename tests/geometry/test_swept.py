"""What a moving mesh passes through between two places, whatever meets whatever."""

import numpy as np
import pytest
import specimens as s

from dryfit.geometry import Surface
from dryfit.geometry.contact.swept import swept_crossings
from dryfit.geometry.topology import mesh_edges


def passed(moving, way, still):
    """Which edges of the one sweep through the other, and which of the other's sweep through the one seen from it."""
    way = np.asarray(way, float)
    there = swept_crossings(moving[0], moving[0] + way, mesh_edges(moving[1]).ends, Surface(*still))
    back = swept_crossings(still[0], still[0] - way, mesh_edges(still[1]).ends, Surface(*moving))
    return len(there), len(back)


def plate(thick_mm=0.3):
    return s.box(30.0, 30.0, thick_mm)


def spike(top_mm, width_mm=2.0):
    """A four-sided spike 8 mm long that points down, its tip at a height beside the plate's diagonals."""
    vertices = np.array([[1, 1, 8], [-1, 1, 8], [-1, -1, 8], [1, -1, 8], [0.05, 0.02, 0]], float)
    vertices[:4, :2] *= width_mm / 2
    return vertices + [6, 1, top_mm], np.array([[4, 1, 0], [4, 2, 1], [4, 3, 2], [4, 0, 3], [0, 1, 2], [0, 2, 3]])


def test_a_tip_through_a_face():
    there, _ = passed(spike(1.0), [0, 0, -3.0], plate())
    assert there


def test_a_face_over_a_tip():
    """Seen the other way: the plate moves and its edges touch nothing, but the spike's do, seen from the plate."""
    there, back = passed(plate(), [0, 0, 3.0], spike(1.0))
    assert not there
    assert back


@pytest.mark.parametrize("shift", [0.0, 3.0, -7.3])
def test_an_edge_across_an_edge(shift):
    """Two thin bars at right angles: no corner of either comes near a face of the other's."""
    along, across = s.box(40.0, 0.3, 0.3), s.box(0.3, 40.0, 0.3)
    across = across[0] + [shift, 0, 1.0], across[1]
    assert all(passed(across, [0, 0, -2.0], along))
    assert passed(across, [0, 0, -0.6], along) == (0, 0)


def test_right_through_and_out_again():
    there, _ = passed(s.box(2.0, 2.0, 2.0), [0, 0, -30.0], (plate()[0] - [0, 0, 15.0], plate()[1]))
    assert there


@pytest.mark.parametrize("way", [[0, 0, 5.0], [40, 0, 0.0], [0, 0, -0.8]])
def test_what_goes_by_passes_through_nothing(way):
    body = s.box(2.0, 2.0, 2.0)
    assert passed((body[0] + [0, 0, 2.0], body[1]), way, plate()) == (0, 0)


def test_nothing_moves_nothing_sweeps():
    assert passed(s.box(2.0, 2.0, 2.0), [0, 0, 0], plate()) == (0, 0)
