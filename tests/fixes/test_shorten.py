"""Shortening a tooth by the amount a finding states."""

import numpy as np
import pytest

from dryfit.fixes.mended import NothingToMend
from dryfit.fixes.shorten import SPARE_MM, shorten
from dryfit.model.brief import Brief
from dryfit.model.finding import Finding, Place, Severity
from dryfit.model.snapshot import Part, Snapshot
from dryfit.performer.fitting import Fitting
from shapes import icosphere


def tooth(points_up, amount_mm=2.0):
    """An egg 24 mm tall with its tip up or down, and the finding that its tip is 2 mm too long."""
    vertices, faces = icosphere(4, 4.0)
    vertices = vertices * [1.0, 1.0, 3.0]
    sign = 1.0 if points_up else -1.0
    tip = np.flatnonzero(sign * vertices[:, 2] > 11.0)
    head, head_faces = icosphere(2)
    parts = (Part("Head", "base", head, head_faces), Part("Tusk", "lower_teeth", vertices, faces))
    snapshot = Snapshot("tusk", parts=parts)
    finding = Finding(
        Severity.FAIL, "", Place("Tusk", (0, 0, 0), ""), 2.0, 0.05, remedy="shorten", remedy_mm=amount_mm, elements=tip
    )
    return Fitting(snapshot, Brief()), finding, vertices, sign


@pytest.mark.parametrize("points_up", [True, False])
def test_the_tip_recedes_by_the_amount_and_the_root_stays(points_up):
    fitting, finding, before, sign = tooth(points_up)
    after = shorten(fitting, finding).vertices_mm
    assert sign * (before[finding.elements, 2] - after[finding.elements, 2]) == pytest.approx(2.0 + SPARE_MM)
    root = sign * before[:, 2] < 0.0
    assert np.array_equal(after[root], before[root])
    assert np.allclose(after[:, :2], before[:, :2])


def test_heights_keep_their_order_so_that_nothing_folds():
    fitting, finding, before, _ = tooth(True)
    after = shorten(fitting, finding).vertices_mm
    rest = np.setdiff1d(np.flatnonzero(before[:, 2] > 0), finding.elements)
    order = rest[np.argsort(before[rest, 2])]
    assert (np.diff(after[order, 2]) > -0.2).all()


def test_an_unknown_amount_is_refused_with_a_word():
    fitting, finding, *_ = tooth(True, float("nan"))
    with pytest.raises(NothingToMend, match="Tusk"):
        shorten(fitting, finding)
