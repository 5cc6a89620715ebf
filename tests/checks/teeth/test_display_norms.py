"""Published means of tooth display at rest, and what share of the people measured a limit calls too much.

Sources: da Motta et al. 2010, Aust Orthod J 26:27-32 (n = 240, abstract); Scientific World Journal 2013, 806203, table
2 (Turks of 20-27 years); J Bagh Coll Dent 2009, 21(1) (people of 16-70 years).
"""

from statistics import NormalDist

import pytest

from dryfit.checks.teeth.norms import NORMS, means_by_age, norm_for, norms_for
from dryfit.model.limits import Limits


def test_upper_teeth_show_less_and_lower_teeth_more_with_age():
    upper, lower = ([mean for _, mean in means_by_age(row)] for row in (True, False))
    assert upper[0] - upper[-1] > 1.5 and lower[-1] - lower[0] > 1.5


def test_no_default_calls_a_sixth_of_a_measured_group_too_much():
    """At 3.5 mm it was 44 of 100 Turkish women, at 5.0 mm 17 of them failed."""
    limits = Limits()
    for norm in NORMS:
        if norm.scatter_mm is not None:
            people = NormalDist(norm.mean_mm, norm.scatter_mm)
            assert 1.0 - people.cdf(limits.tooth_display_review_mm) < 0.16
            assert 1.0 - people.cdf(limits.tooth_display_mm) < 0.025
    turks = NormalDist(3.2, 1.9)
    assert [round(1.0 - turks.cdf(mm), 2) for mm in (3.5, 5.0)] == [0.44, 0.17]


@pytest.mark.parametrize(
    ("age", "sex", "upper", "mean_mm", "who"),
    [
        (14, "woman", True, 4.45, "girls of 12-15"),
        (14, "man", True, 3.35, "boys of 12-15"),
        (25, "woman", True, 3.2, "Turkish women"),
        (25, "", True, 3.2, "Turkish women"),
        (25, "man", True, 2.7, "Turkish men"),
        (40, "man", True, 1.38, "men of 16-70"),
        (62, "", True, 1.32, "women from 51"),
        (62, "", False, 3.05, "men from 51"),
        (62, "woman", False, 2.22, "women from 51"),
    ],
)
def test_a_performer_is_held_against_people_of_the_same_age_and_sex(age, sex, upper, mean_mm, who):
    norm = norm_for(age, sex, upper)
    assert norm.mean_mm == mean_mm and who in norm.people and norm.people.count("20") >= 1


@pytest.mark.parametrize(("age", "upper"), [(8, True), (8, False), (30, False), (17, False)])
def test_where_nobody_measured_there_is_no_norm(age, upper):
    assert norm_for(age, "", upper) is None


@pytest.mark.parametrize("age", [0, -3, float("nan")])
def test_no_age_is_refused(age):
    with pytest.raises(ValueError, match="over zero"):
        norms_for(age, "", True)


@pytest.mark.parametrize("sex", ["woman", "man"])
def test_each_age_from_twelve_on_has_one_norm_of_upper_teeth_and_they_change_at_these_ages(sex):
    held = [norms_for(age, sex, True) for age in range(1, 125)]
    assert [len(norms) for norms in held] == [0] * 11 + [1] * 108 + [0] * 5
    means = [norms[0].mean_mm for norms in held if norms]
    changes = [12 + at for at, (one, other) in enumerate(zip([None, *means], means)) if one != other]  # noqa: B905
    assert changes == [12, 16, 20, 28, 51]


@pytest.mark.parametrize("sex", ["woman", "man"])
def test_lower_teeth_were_measured_of_the_youngest_and_the_oldest(sex):
    assert [age for age in range(1, 125) if norms_for(age, sex, False)] == [*range(12, 16), *range(51, 120)]
