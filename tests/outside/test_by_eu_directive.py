"""What drivers must see, held against plates of known angles."""

import numpy as np
import pytest
from citation import CheckValue, Kind, Seen, Source

from dryfit.checks.runner import run_fitting
from dryfit.model.brief import Brief
from dryfit.model.progress import drain
from dryfit.performer.fitting import Fitting
from plates import board, facing

SOURCE = Source(
    "sight of drivers",
    Kind.STANDARD,
    "Commission Directive 2009/113/EC of 25 August 2009, amending Annex III of Directive 2006/126/EC on driving "
    "licences; group 2 as quoted in advice of the United Kingdom's police",
    (
        CheckValue("sightline", "group 1: at least 120 degrees wide", Seen.READ,
                   "test_a_field_narrower_than_a_driver_needs_fails"),
        CheckValue("sightline", "group 1: at least 50 degrees to each side", Seen.READ,
                   "test_a_side_that_sees_less_than_a_driver_needs_fails"),
        CheckValue("sightline", "group 2: 30 degrees down", Seen.QUOTED,
                   "tests/checks/eyes/test_sightline.py::test_the_ground_ahead_has_to_be_seen"),
    ),
)  # fmt: skip
PUPIL_MM, PLATE_MM = 32.0, 60.0


def sight(left_deg, right_deg):
    """What both eyes see between two boards beside the face that end where the far eye's line has these angles."""
    boards = []
    for side, angle in ((1.0, left_deg), (-1.0, right_deg)):
        before_mm = (PUPIL_MM + PLATE_MM) / np.tan(np.radians(angle))
        boards.append(board([side * PLATE_MM, -117.0 - before_mm, -300], [side * PLATE_MM, 0.0, 300]))
    shot = facing(*boards, eyes=("left", "right"))
    found = drain(run_fitting(Fitting(shot, Brief()), ["sightline"])).check("sightline")
    return found.measures, [finding for finding in found.findings if str(finding.severity) == "fail"]


@pytest.mark.parametrize(("wide_deg", "fails"), [(118.0, True), (122.0, False)])
def test_a_field_narrower_than_a_driver_needs_fails(wide_deg, fails):
    measures, failed = sight(wide_deg / 2, wide_deg / 2)
    assert measures["horizontal_deg"] == pytest.approx(wide_deg, abs=0.3)
    assert any(finding.limit == 120.0 for finding in failed) == fails


@pytest.mark.parametrize(("left_deg", "fails"), [(48.0, True), (52.0, False)])
def test_a_side_that_sees_less_than_a_driver_needs_fails(left_deg, fails):
    measures, failed = sight(left_deg, 80.0)
    assert measures["left_deg"] == pytest.approx(left_deg, abs=0.2)
    assert any(finding.limit == 50.0 for finding in failed) == fails
