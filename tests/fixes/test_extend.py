"""Extending a sculpted lip."""

import numpy as np
import pytest

from dryfit.fixes.extend import SPARE_MM, extend
from dryfit.fixes.mended import NothingToMend
from dryfit.model.brief import Brief
from dryfit.model.finding import Finding, Place, Severity
from dryfit.model.snapshot import Part, Snapshot
from dryfit.performer.fitting import Fitting
from shapes import icosphere, sheet


def mouth(area, marked=True):
    """A flap of lip 40 mm wide and high standing upright, its free border at z = 0, before a row of teeth."""
    flat, faces = sheet(40.0, 40)
    flip = 1.0 if area == "dryfit_lip_upper" else -1.0
    lip = np.stack([flat[:, 0], np.full(len(flat), -60.0), flip * (flat[:, 1] + 20.0)], axis=1)
    areas = {area: (np.abs(lip[:, 2]) < 6.0).astype(float)} if marked else {}
    head, head_faces = icosphere(2, 50.0)
    teeth, teeth_faces = icosphere(2, 5.0)
    role = "upper_teeth" if flip > 0 else "lower_teeth"
    parts = (
        Part("Head", "base", head, head_faces),
        Part("Lip", "appliance", lip, faces, areas=areas),
        Part("Teeth", role, teeth, teeth_faces),
    )
    finding = Finding(Severity.FAIL, "", Place("Teeth", (0, 0, 0), ""), 6.0, 3.5, remedy="extend", remedy_mm=2.5)
    return Fitting(Snapshot("lips", parts=parts), Brief()), finding, lip, flip


@pytest.mark.parametrize("area", ["dryfit_lip_upper", "dryfit_lip_lower"])
def test_the_margin_moves_over_the_teeth_by_the_amount_and_far_skin_stays(area):
    fitting, finding, before, flip = mouth(area)
    mended = extend(fitting, finding)
    assert mended.part == "Lip"
    margin = np.abs(before[:, 2]) < 0.5
    assert flip * (before[margin, 2] - mended.vertices_mm[margin, 2]) == pytest.approx(2.5 + SPARE_MM)
    far = np.abs(before[:, 2]) > 12.0
    assert np.array_equal(mended.vertices_mm[far], before[far])


def test_the_performers_own_lip_is_not_extended():
    fitting, finding, *_ = mouth("dryfit_lip_upper", marked=False)
    with pytest.raises(NothingToMend, match="dryfit_lip_upper"):
        extend(fitting, finding)
