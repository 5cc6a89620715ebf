"""The figure that decided: its unit is the one that its measure's name carries, on every surface."""

import pytest

from dryfit.checks.deciding import deciding_figure
from dryfit.checks.registry import CHECKS
from dryfit.model.measure_units import unit_of


def passing(measure, value, limit):
    """A check's answer that passes by one judged figure, in the layout of the JSON Schema."""
    bound = {"value": limit, "at_least": False, "limit": ""}
    return {"id": "any", "status": "pass", "findings": [], "measures": {measure: value}, "judged": {measure: bound}}


@pytest.mark.parametrize(
    ("measure", "unit"),
    [("glue_load_g_cm2", "g_cm2"), ("glue_line_j_m2", "j_m2"), ("moment_n_cm", "n_cm"), ("mass_g", "g"),
     ("piece_mass_g.Chin", "g"), ("glued_area_cm2", "cm2"), ("exposed_fraction", "fraction"), ("min_interior_mm", "mm")],
)  # fmt: skip
def test_a_figure_carries_the_whole_unit_of_its_measure(measure, unit):
    """A load on glue is no weight: g/cm² is not g."""
    assert deciding_figure(passing(measure, 0.5, 1.0)).unit == unit


def test_every_figure_that_leads_and_is_judged_says_its_unit():
    """Shares and ratios alone go without one."""
    bare = [
        figure.measure for check in CHECKS for figure in check.leading if figure.limit and not unit_of(figure.measure)
    ]
    assert all("share" in measure for measure in bare), bare


BOUNDS = {
    "near its most": (0.9, 1.0, False), "far from its most": (0.3, 1.0, False), "near its least": (1.2, 1.0, True),
    "far from its least": (5.0, 1.0, True), "at a most of nothing": (0.0, 0.0, False),
    "nothing of a least of nothing": (0.0, 0.0, True),
}  # fmt: skip


def tightest(*names):
    """Of figures that are all within their bounds, the one that decided."""
    result = passing("any", 0.0, 1.0)
    result["measures"] = {name.replace(" ", "_"): BOUNDS[name][0] for name in names}
    result["judged"] = {
        name.replace(" ", "_"): {"value": BOUNDS[name][1], "at_least": BOUNDS[name][2], "limit": ""} for name in names
    }
    return deciding_figure(result).measure.replace("_", " ")


@pytest.mark.parametrize(
    ("tight", "loose"),
    [("near its most", "far from its most"), ("near its least", "far from its least"),
     ("near its most", "far from its least"), ("near its least", "far from its most"),
     ("far from its most", "at a most of nothing"), ("near its most", "at a most of nothing"),
     ("nothing of a least of nothing", "near its most")],
)  # fmt: skip
def test_the_figure_that_uses_most_of_its_limit_decided(tight, loose):
    assert tightest(tight, loose) == tightest(loose, tight) == tight


def test_a_figure_that_leads_decides_before_others_that_are_nearer_their_limit():
    check = next(each for each in CHECKS if each.id == "additive")
    leading = check.leading[0].measure
    result = passing(leading, 0.1, 1.0)
    result["measures"]["beside"] = 0.9
    result["judged"]["beside"] = {"value": 1.0, "at_least": False, "limit": ""}
    assert deciding_figure(result, check).measure == leading
    assert deciding_figure(result).measure == "beside"
