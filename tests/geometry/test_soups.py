"""Kernel and numpy twin on non-manifold soups: where they differ, two readings are equally right."""

from collections import Counter
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
from soups import KINDS, grazing_ray, soup, tied_crossing, tied_sign

from dryfit.geometry import Surface
from dryfit.geometry.errors import NoSurface
from dryfit.geometry.kernel.calls import Compiled
from dryfit.geometry.kernel.library import load_library
from dryfit.geometry.surface import Hits
from dryfit.geometry.twin.twin import Twin

LIBRARY = load_library()
pytestmark = pytest.mark.skipif(LIBRARY is None, reason="the kernel is not compiled")
LEVELS = ["base"] + (["avx2"] if LIBRARY is not None and LIBRARY.dryfit_has_avx2() else [])


def surfaces_of(seeds):
    """Yield each soup, its surface on the kernel of each level, and on the twin; both refuse soups without any area."""
    engines = [*(Compiled(LIBRARY, level) for level in LEVELS), Twin()]
    for seed in seeds:
        asked = soup(seed)
        try:
            surfaces = [Surface(asked.vertices, asked.faces, engine=engine) for engine in engines]
        except NoSurface:
            continue
        yield asked, surfaces[:-1], surfaces[-1]


@dataclass(frozen=True)
class Answers:
    """What one engine says of a soup; the twin is asked once for the kernels of all levels."""

    clearance_mm: np.ndarray
    distance_mm: np.ndarray
    hits: Hits
    pairs: set

    @classmethod
    def of(cls, asked, surface):
        return cls(
            surface.clearance_mm(asked.points),
            surface.closest(asked.points).distance_mm,
            surface.first_hit(asked.points, asked.along),
            {tuple(pair) for pair in surface.crossings(surface).tolist()},
        )


def compare(asked, twin, fast, slow, tally):
    """Count what was asked and what differs, and return the differences that are no tie."""
    tally["points"] += len(asked.points)
    return [*sides(asked, twin, fast, slow, tally), *hits(asked, fast, slow, tally), *pairs(asked, fast, slow, tally)]


def sides(asked, twin, fast, slow, tally):
    one, other = fast.clearance_mm, slow.clearance_mm
    np.testing.assert_allclose(fast.distance_mm, slow.distance_mm, atol=1e-12 * asked.size)
    told = [np.nan_to_num(np.sign(each), nan=2.0) for each in (one, other)]
    for row in np.flatnonzero(told[0] != told[1]):
        why = tied_sign(asked, twin, asked.points[row])
        tally["signs", why] += 1
        if not why:
            yield "sign", row, one[row], other[row]


def hits(asked, fast, slow, tally):
    one, other = fast.hits, slow.hits
    far = (
        np.where(np.isfinite(one.distance_mm), one.distance_mm, -1.0),
        np.where(np.isfinite(other.distance_mm), other.distance_mm, -1.0),
    )
    for row in np.flatnonzero(~np.isclose(*far, rtol=1e-9, atol=1e-11 * asked.size)):
        tie = any(grazing_ray(asked, row, hit.face[row]) for hit in (one, other) if hit.face[row] >= 0)
        tally["rays", tie] += 1
        if not tie:
            yield "ray", row, one.face[row], other.face[row]


def pairs(asked, fast, slow, tally):
    one, other = fast.pairs, slow.pairs
    tally["crossings"] += len(one | other)
    for pair in one ^ other:
        tie = tied_crossing(asked, pair)
        tally["pairs", tie] += 1
        if not tie:
            yield "crossing", *pair


@cache
def compared(seeds):
    """Return what was counted and what differs without a tie, for each level."""
    tallies = {level: Counter() for level in LEVELS}
    untied = {level: [] for level in LEVELS}
    for asked, kernels, twin in surfaces_of(seeds):
        slow = Answers.of(asked, twin)
        for level, kernel in zip(LEVELS, kernels, strict=True):
            fast = Answers.of(asked, kernel)
            untied[level] += [(asked, found) for found in compare(asked, twin, fast, slow, tallies[level])]
    return tallies, untied


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("seeds", [range(800), pytest.param(range(800, 8000), marks=pytest.mark.slow)], ids=len)
def test_kernel_and_twin_differ_only_where_two_readings_are_equally_right(level, seeds):
    tally, untied = (found[level] for found in compared(seeds))
    print(level, dict(tally))
    assert tally["points"] > 10 * len(seeds)
    assert tally["crossings"] > len(seeds)
    assert not untied, f"{len(untied)} of {tally}"


def test_a_tie_is_rare_where_corners_are_anywhere():
    """Else the test above would excuse everything: loose soups in which no two faces share all corners."""
    told = []
    for seed in range(0, 60 * len(KINDS), len(KINDS)):
        asked = soup(seed)
        surface = Surface(asked.vertices, asked.faces, engine=Twin())
        if not surface.repaired.joints.tangled and len(np.unique(np.sort(asked.faces), axis=0)) == len(asked.faces):
            told += [tied_sign(asked, surface, point) for point in asked.points]
    assert len(told) > 200
    assert sum(map(bool, told)) < 0.02 * len(told), Counter(told)
