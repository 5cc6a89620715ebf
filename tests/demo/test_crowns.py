"""Built crowns against published sizes."""

import numpy as np
import pytest

from dryfit.demo_door import demo_module

crowns = demo_module("crowns")
dentition = demo_module("dentition")
containment = demo_module("contact_by_containment")

# Height x mesiodistal x labiolingual, mm: textbook means (dental anatomy tables after Wheeler; the upper incisors
# read in a textbook's table, the others from memory).
PUBLISHED = {
    11: (10.5, 8.5, 7.0), 12: (9.0, 6.5, 6.0), 13: (10.0, 7.5, 8.0), 14: (8.5, 7.0, 9.0), 16: (7.5, 10.0, 11.0),
    31: (9.0, 5.0, 6.0), 32: (9.5, 5.5, 6.5), 33: (11.0, 7.0, 7.5),
}  # fmt: skip
# Orozco-Varo et al. 2015, J Prosthet Dent 113:565, 412 casts: height x width, mm.
MEASURED = {11: (10.23, 8.71), 12: (8.59, 6.75), 13: (9.93, 7.81)}


def rows():
    return dentition.upper_row(), dentition.lower_row()


def size_of(fdi):
    """Return a placed crown's extents along its own axes: up, along the arch, across it."""
    row = next(row for row in rows() if any(tooth.fdi == fdi for tooth in row.teeth))
    points = row.tooth(fdi)
    table, arch = (crowns.UPPER, dentition.UPPER_ARCH) if fdi < 30 else (crowns.LOWER, dentition.LOWER_ARCH)
    position = fdi % 10
    along = sum(table[n].mesiodistal_mm for n in range(1, position)) + table[position].mesiodistal_mm / 2.0
    _, direction = arch.at(along)
    direction = direction * [1.0 if points[:, 0].mean() > 0 else -1.0, 1.0]
    across = np.array([direction[1], -direction[0]])
    flat = points[:, :2]
    return tuple(np.ptp(values) for values in (points[:, 2], flat @ direction, flat @ across))


@pytest.mark.parametrize("fdi", PUBLISHED)
def test_crown_measures_its_published_size(fdi):
    assert size_of(fdi) == pytest.approx(PUBLISHED[fdi], abs=0.01)


@pytest.mark.parametrize("fdi", MEASURED)
def test_crown_is_near_measured_means(fdi):
    height, width, _ = size_of(fdi)
    assert (height, width) == pytest.approx(MEASURED[fdi], rel=0.06)


def test_numbers_are_those_of_iso_3950():
    numbers = [{tooth.fdi for tooth in row.teeth} for row in rows()]
    assert numbers[0] == {*range(11, 18), *range(21, 28)}
    assert numbers[1] == {*range(31, 38), *range(41, 48)}


def test_quadrants_one_and_four_are_on_the_performers_right():
    upper, lower = rows()
    assert upper.tooth(11)[:, 0].mean() < 0 < upper.tooth(21)[:, 0].mean()
    assert lower.tooth(41)[:, 0].mean() < 0 < lower.tooth(31)[:, 0].mean()


def test_every_crown_is_closed_and_turned_outward():
    for row in rows():
        for tooth in row.teeth:
            mine = ((row.faces >= tooth.first) & (row.faces < tooth.last)).all(axis=1)
            faces = row.faces[mine]
            edges = np.sort(np.stack([faces, np.roll(faces, -1, axis=1)], axis=-1).reshape(-1, 2), axis=1)
            assert (np.unique(edges, axis=0, return_counts=True)[1] == 2).all()
            assert dentition.volume_mm3(row.vertices_mm, faces) > 20.0


def test_overbite_is_near_the_mean():
    """Brunelle, Bhat & Lipton 1996, J Dent Res 75(Spec):706-713: mean overbite 2.9 mm."""
    upper, lower = rows()
    overbite = lower.tooth(31)[:, 2].max() - upper.tooth(21)[:, 2].min()
    assert overbite == pytest.approx(2.9, abs=0.5)


def test_closed_rows_do_not_run_into_each_other():
    upper, lower = rows()
    assert not containment._touching(lower, upper, [tooth.fdi for tooth in lower.teeth], 0.0)


def test_winding_number_of_a_crown_is_one_inside_and_zero_outside():
    vertices, faces = crowns.crown_surface(crowns.UPPER[1], "upper")
    inside, outside = vertices.mean(axis=0), vertices.max(axis=0) + 1.0
    turns = containment.winding_number(np.stack([inside, outside]), vertices, faces)
    assert turns == pytest.approx([1.0, 0.0], abs=1e-9)
