"""Coverage at further poses: a slit that a motion opens, norms by age, and teeth that are meant to show."""

from dataclasses import replace

import numpy as np
import pytest
from mouth_shapes import FRONT, box, joined, landmarks
from test_coverage_closed_forms import scale, slit

from dryfit.checks.coverage import CHECK
from dryfit.checks.coverage_measures import arch_order
from dryfit.checks.display_norms import AGE_GROUPS, age_that_shows
from dryfit.checks.fitting import Fitting
from dryfit.checks.runner import run_checks
from dryfit.model.brief import Brief, Views
from dryfit.model.progress import drain
from dryfit.model.snapshot import Acceptance, Motion, Part, Snapshot

FRONT_ONLY = Brief(views=Views(angles_deg=(0.0,)))


def opening(heights_mm, name="smile", brief=FRONT_ONLY, tooth=None, **more):
    """A slit that opens from one height to another, before a plate for a tooth, and an ear piece out of the way."""
    tooth = tooth or box([-40, -20, 93.0], [40, 20, 95.0])
    frames = [slit(height)[0] for height in heights_mm]
    base = Part("Head", "base", frames[0], slit(heights_mm[0])[1])
    parts = (base, Part("Upper", "upper_teeth", *tooth), Part("Ear", "appliance", *box([70, 0, 0], [75, 5, 5])))
    motion = Motion(name, [0.0, 1.0], {"Head": np.stack(frames)})
    return Snapshot("s", parts=parts, landmarks=landmarks(), motions={name: motion}, **more), brief


def asked(snapshot, brief):
    return drain(CHECK.measure(Fitting(snapshot, brief), brief))


@pytest.mark.parametrize("wide_mm", [5.0, 9.0])
def test_area_through_an_opened_slit(wide_mm):
    figures = asked(*opening((1.0, wide_mm), brief=FRONT_ONLY)).measures
    assert figures["exposed_area_mm2"] == pytest.approx(30.0 * scale(0) ** 2, rel=0.01)
    assert figures["exposed_area_mm2_in_smile"] == pytest.approx(30.0 * wide_mm * scale(0) ** 2, rel=0.01)
    assert figures["display_height_mm_in_smile_view_0"] == pytest.approx(wide_mm * scale(0), abs=0.2)


def test_only_the_closed_mouth_is_judged():
    outcome = asked(*opening((1.0, 9.0)))
    assert outcome.findings == ()
    assert outcome.measures["display_height_mm_in_smile"] > 8.0


def test_motion_that_stays_away_from_the_mouth_is_left_out():
    snapshot, brief = opening((1.0, 9.0))
    base = snapshot.base
    far = base.vertices_mm + np.where(base.vertices_mm[:, 1:2] > 60, [0.0, 0.0, 5.0], 0.0)
    motion = Motion("brow_raise", [0.0, 1.0], {"Head": np.stack([base.vertices_mm, far])})
    figures = asked(replace(snapshot, motions={"brow_raise": motion}), brief).measures
    assert not [name for name in figures if "brow_raise" in name]


def test_scan_with_an_open_jaw_is_looked_at_as_it_is_too():
    snapshot, brief = opening((6.0, 9.0))
    closed, wide = slit(1.5)[0], slit(20.0)[0]
    jaw = Motion("jaw", [0.0, 1.0], {"Head": np.stack([closed, wide])})
    figures = asked(replace(snapshot, motions={"jaw": jaw}), brief).measures
    for ending, height_mm in (("", 1.5), ("_in_rest", 6.0), ("_in_jaw", 20.0)):
        assert figures[f"exposed_area_mm2{ending}"] == pytest.approx(30.0 * height_mm * scale(0) ** 2, rel=0.01)


def fangs():
    """Two teeth behind the slit, one twice as tall as the other."""
    left, right = box([1, -20, 94.99], [9, 20, 95]), box([-9, -20, 94.99], [-1, 0, 95])
    vertices, faces = joined(left, right)
    return vertices, faces, {"dryfit_tooth_21": np.arange(16) < 8, "dryfit_tooth_11": np.arange(16) >= 8}


def with_fangs(height_mm, **more):
    vertices, faces, areas = fangs()
    upper = Part("Upper", "upper_teeth", vertices, faces, areas=areas)
    lip = Part("Lip", "appliance", *box([30, 0, FRONT], [34, 4, FRONT + 1]))
    parts = (Part("Head", "base", *slit(height_mm)), upper, lip)
    return Snapshot("s", parts=parts, landmarks=landmarks(), **more)


def test_each_tooth_from_each_view_is_a_curve_along_the_arch():
    outcome = asked(with_fangs(6.0), Brief(views=Views(angles_deg=(-30.0, 0.0))))
    curve = outcome.curves["upper_display_by_tooth_0"]
    assert curve.x_label.endswith("right: 11, 21")
    assert curve.y == pytest.approx([3.0 * scale(0), 6.0 * scale(0)], abs=0.2)
    assert "upper_display_by_tooth_-30" in outcome.curves


def test_arch_runs_from_right_to_left():
    labels = ["tooth_11", "", "tooth_18", "tooth_21", "tooth_28", "tooth_12"]
    assert [labels[place] for place in arch_order(labels)] == [
        "tooth_18", "tooth_12", "tooth_11", "tooth_21", "tooth_28"
    ]  # fmt: skip
    assert arch_order(["tooth_31", "tooth_48", "tooth_41"]) == [1, 2, 0]


def test_norms_fall_with_age_above_and_rise_below():
    upper = [group.upper_mm for group in AGE_GROUPS]
    lower = [group.lower_mm for group in AGE_GROUPS]
    assert upper == sorted(upper, reverse=True)
    assert lower == sorted(lower)


def test_age_that_shows_as_much():
    assert age_that_shows(3.2, upper=True) == "under 30"
    assert age_that_shows(1.4, upper=True) == "30 to 39"
    assert age_that_shows(0.0, upper=True) == "60 and over"
    assert age_that_shows(6.0, upper=True) == "no age group"
    assert age_that_shows(2.6, upper=False) == "50 to 59"


def test_finding_on_a_central_incisor_says_the_age():
    figures = asked(with_fangs(1.5), FRONT_ONLY).measures
    assert figures["central_display_mm_upper"] == pytest.approx(1.5 * scale(0), abs=0.15)
    assert figures["shown_on_average_at_upper"] == "30 to 39"
    tall = asked(with_fangs(8.1), FRONT_ONLY)
    assert "no age group shows as much on average" in tall.findings[0].message
    assert "people of" in asked(with_fangs(4.0), FRONT_ONLY).findings[0].message


def test_fangs_that_are_meant_to_show_are_accepted_in_writing():
    meant = Acceptance("coverage", "Upper", "", "fangs of the third warden, approved in the sketch")
    open_report = drain(run_checks(with_fangs(8.1), FRONT_ONLY, ("coverage",)))
    report = drain(run_checks(with_fangs(8.1, acceptances=(meant,)), FRONT_ONLY, ("coverage",)))
    assert open_report.check("coverage").status == "fail"
    assert report.check("coverage").status == "pass"
    assert all(finding.exception == meant.reason for finding in report.check("coverage").findings)
    assert report.check("coverage").measures["display_height_mm"] > 8.0
