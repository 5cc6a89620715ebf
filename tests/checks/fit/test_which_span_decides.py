"""Which stretch of rim decides and how it is told, where pieces wait for each other, and which paint a sheet shows."""

from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.checks.fit import edge, overlaps, strain
from dryfit.geometry.rim import walk_rim
from dryfit.model.brief import Brief
from dryfit.model.finding import Finding, Severity
from dryfit.model.limits import Limits
from dryfit.performer.fitting import Fitting
from head_marks import marks, snapshot
from shapes import sheet, worn

LIMITS = Limits()
FITTING = Fitting(worn(sheet(steps=4), sheet(20.0, 4, lambda x, y: 1.0)), Brief())
PIECE = FITTING.snapshot.part("Piece")
LITTLE = 1e-3
COUNT = 60


def rim(thick_mm, least_mm=0.05, limit_mm=0.3):
    """A straight rim of one-millimetre samples, so thick at each."""
    along = np.arange(COUNT)
    samples = SimpleNamespace(
        edge=np.stack([along, along + 1], axis=1), lengths_mm=np.ones(COUNT), chain=np.zeros(COUNT, np.int64),
        closed=np.zeros(1, bool), points_mm=np.column_stack([along + 0.5, np.zeros((COUNT, 2))]),
    )  # fmt: skip
    places = SimpleNamespace(
        fail_mm=np.full(COUNT, limit_mm), review_mm=np.full(COUNT, 0.15), least_mm=least_mm,
        why=np.zeros(COUNT, np.int64), kind=np.zeros(COUNT),
    )  # fmt: skip
    rims = SimpleNamespace(region=lambda samples, run, regions: "brow")
    return SimpleNamespace(
        part=PIECE, samples=samples, places=places, rims=rims, thickness_mm=thick_mm, cast_mm=thick_mm,
        of_limit=thick_mm / limit_mm, growth="how it grows",
    )  # fmt: skip


def thick_at(*spans):
    thick_mm = np.full(COUNT, 0.1)
    for first, last, mm in spans:
        thick_mm[first:last] = mm
    return thick_mm


SHORT = int(LIMITS.rim_span_mm) - 1


def test_short_spans_are_told_of_together_and_a_long_one_alone():
    (alone,) = edge._thick_spans(rim(thick_at((0, 20, 0.5))), FITTING, LIMITS)
    assert alone.severity == "fail" and "over 20 mm at the brow" in alone.message
    (both,) = edge._thick_spans(rim(thick_at((0, SHORT, 0.4), (40, 40 + SHORT, 0.5))), FITTING, LIMITS)
    assert both.severity == "info" and f"over {2 * SHORT} mm in 2 stretches, the worst at the brow" in both.message


@pytest.mark.parametrize(("least_mm", "way"), [(0.3, "feather 20 mm"), (0.3 + LITTLE, "cast it in what gives")])
def test_a_rim_that_its_material_cannot_keep_is_cast_in_another(least_mm, way):
    (found,) = edge._thick_spans(rim(thick_at((0, 20, 0.5)), least_mm), FITTING, LIMITS)
    assert found.fix.startswith(way)


def test_what_is_cut_through_is_the_longest_span_about_its_worst_place():
    longest, shorter = rim(thick_at((0, 20, 0.4), (9, 10, 0.6))), rim(thick_at((30, 40, 0.9)))
    span = edge._failing([shorter, longest], LIMITS)
    assert (span.thickest_mm, span.limit_mm) == (0.6, 0.3)
    assert span.rim_vertices.tolist() == list(range(21))
    assert span.worst_vertices.tolist() == [7, 8, 9, 10, 11, 12], "2.5 mm to either side, two samples"
    assert edge._failing([rim(thick_at((30, 30 + SHORT, 0.9)))], LIMITS) is None


def test_a_thick_rim_is_told_by_what_is_worst_of_its_own_limit():
    """0.4 mm where 0.2 is allowed is worse than 0.5 where 0.3 is."""
    strict = rim(thick_at((0, 10, 0.5), (10, 20, 0.4)))
    strict.places.fail_mm[10:20] = 0.2
    (found,) = edge._thick_spans(strict, FITTING, LIMITS)
    assert (found.value, found.limit) == (0.4, 0.2)


def test_pieces_that_wait_for_each_other_are_shown_where_the_first_of_them_lies_on_another():
    one, other = PIECE, SimpleNamespace(name="Nose")
    joints = [
        overlaps.LappedEdge(one, other, 40.0, LIMITS.overlap_width_mm, np.array([1.0, 0.0, 0.0])),
        overlaps.LappedEdge(other, one, 40.0, LIMITS.overlap_width_mm, np.array([2.0, 0.0, 0.0])),
    ]
    shown = []
    fitting = SimpleNamespace(place=lambda name, at_mm: shown.append((name, at_mm[0])) or FITTING.place("Piece", at_mm))
    (found,) = overlaps.overlap_findings(joints, fitting, LIMITS)
    assert found.message.startswith("Of Nose, Piece none") and shown == [("Nose", 2.0)]


@pytest.mark.parametrize(("over_mm", "count"), [(0.5, 1), (30.0, 0)])
def test_where_the_brief_judges_spans_of_any_length_what_lies_on_nothing_is_no_joint(over_mm, count):
    """A small sheet over a larger one, or well above it."""
    lower, upper = sheet(40.0, 8, lambda x, y: 1.0), sheet(10.0, 4, lambda x, y: 1.0 + over_mm)
    shot = snapshot(
        sheet(60.0, 12), ("Lower", "appliance", lower, ""), ("Upper", "appliance", upper, ""), landmarks=marks()
    )
    fitting = Fitting(shot, Brief())
    rims = [
        (part, walk_rim(part.vertices_mm, fitting.skin(part).rim_edges, 0.5))
        for part in (shot.part("Lower"), shot.part("Upper"))
    ]
    found = overlaps.overlaps(rims, fitting, Limits(rim_span_mm=0.0))
    assert [(each.upper.name, each.lower.name) for each in found] == [("Upper", "Lower")] * count


def stretched(smallest):
    """A piece of one triangle that is squeezed so far at one pose, and seen from outside."""
    pose = SimpleNamespace(motion="smile", t=1.0)
    return SimpleNamespace(
        part=SimpleNamespace(name="Piece", vertices_mm=np.zeros((3, 3))), faces=np.array([[0, 1, 2]]), poses=(pose,),
        outer=np.array([True]), smallest=np.array([[smallest]]), largest=np.array([[1.0]]), worst_pose=lambda faces: pose,
    )  # fmt: skip


def told(severity, unit, limit):
    return Finding(severity, "", FITTING.place("Piece", np.zeros(3)), 1.0, limit=limit, unit=unit)


FOLDS = told(Severity.REVIEW, "mm2", LIMITS.buckle_area_mm2)


@pytest.mark.parametrize(
    ("found", "squeezed"),
    [((), False), ((FOLDS,), True), ((told(Severity.INFO, "mm2", LIMITS.buckle_area_mm2),), False),
     ((told(Severity.INFO, "mm", 3.0), FOLDS), True), ((told(Severity.REVIEW, "mm", LIMITS.buckle_area_mm2),), False),
     ((told(Severity.REVIEW, "mm2", LIMITS.buckle_area_mm2 + 1.0),), False),
     ((told(Severity.FAIL, "fraction of length", 0.4), FOLDS), False)],
)  # fmt: skip
def test_the_paint_that_is_shown_is_of_what_counts_first(found, squeezed):
    piece = stretched(0.5)
    painted = strain._field(piece, strain.Allowance(1.0), LIMITS), strain._squeeze_field(piece, 0.65)
    fields = [*strain._fields([painted], [*found], LIMITS)]
    assert [(field.name, field.decided) for field in fields] == [("stretch", not squeezed), ("squeeze", squeezed)]


def test_paint_of_squeeze_ends_where_the_material_creases_where_that_is_known():
    known, unknown = (strain._squeeze_field(stretched(0.9), crease) for crease in (0.65, 0.0))
    assert (known.high, known.limit) == pytest.approx((0.35, 0.35))
    assert unknown.high == 0.5 and np.isnan(unknown.limit)
    assert known.values == pytest.approx([0.1] * 3)
