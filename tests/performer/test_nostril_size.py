"""Which marked skin is a nostril: the largest piece, and only from a size on."""

import numpy as np
import pytest

from dryfit.geometry import Surface
from dryfit.performer.nostrils import SMALLEST_MM2, _opening, opening_points
from shapes import sheet


def patches(*sizes_mm2):
    """Flat squares of some areas beside each other, looking up, as one surface with all of it marked."""
    vertices, faces, count = [], [], 0
    for number, size_mm2 in enumerate(sizes_mm2):
        own, corners = sheet(np.sqrt(size_mm2), 2)
        vertices.append(own + [50.0 * number, 0.0, 0.0])
        faces.append(corners + count)
        count += len(own)
    return Surface(np.concatenate(vertices), np.concatenate(faces)), np.ones(count, dtype=bool)


@pytest.mark.parametrize(("size_mm2", "found"), [(9.9, False), (10.1, True), (19.0, True)])
def test_ten_square_millimetres_are_an_opening_and_less_is_a_speck(size_mm2, found):
    """The narrowest nostrils of adults are several times that; a speck of a marked area is no way for air."""
    nostril = _opening(*patches(size_mm2), "left", guessed=False)
    assert (nostril is not None) == found == (size_mm2 >= SMALLEST_MM2)
    if nostril is not None:
        assert nostril.area_mm2 == pytest.approx(size_mm2)
        np.testing.assert_allclose(nostril.outward, [0.0, 0.0, 1.0])


def test_of_several_marked_pieces_the_largest_is_the_opening():
    nostril = _opening(*patches(15.0, 40.0, 20.0), "left", guessed=True)
    assert nostril.area_mm2 == pytest.approx(40.0) and nostril.faces.tolist() == list(range(8, 16))


def test_what_is_not_marked_throughout_is_no_part_of_it():
    surface, marked = patches(40.0, 15.0)
    marked[4] = False
    assert _opening(surface, marked, "left", guessed=False).area_mm2 == pytest.approx(15.0)


@pytest.mark.parametrize("size_mm2", [40.0, 150.0])
def test_an_opening_is_looked_out_of_at_points_less_than_two_thirds_of_a_millimetre_apart(size_mm2):
    surface, marked = patches(size_mm2)
    points = opening_points(_opening(surface, marked, "left", guessed=False), surface)
    assert len(points) == pytest.approx(size_mm2 / 0.36, rel=0.15)
    gaps_mm = np.linalg.norm(points[:, None] - points[None], axis=2) + 9.0 * np.eye(len(points))
    assert gaps_mm.min(axis=1) == pytest.approx(0.6, abs=1e-6)
    assert (points[:, 2] > 0.0).all() and (points[:, 2] < 0.1).all(), "just outside it"
