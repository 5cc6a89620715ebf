"""Published means of tooth display at rest: two independent series tell the same story.

Series: Vig & Brundo 1978 (the table in use) and da Motta et al. 2010, Aust Orthod J 26(1):27-32 (n = 240).
"""

import numpy as np
import pytest

from dryfit.checks.teeth.norms import NORMS, norm_at

DA_MOTTA_UPPER = {"12-15": (4.45, 3.35), "51+": (1.32, 0.57)}
DA_MOTTA_LOWER = {"12-15": (0.47, 0.61), "51+": (2.22, 3.05)}
"""Women, men, mm."""


def test_upper_teeth_show_less_and_lower_teeth_more_with_every_age():
    assert (np.diff([norm.upper_mm for norm in NORMS]) < 0).all()
    assert (np.diff([norm.lower_mm for norm in NORMS]) > 0).all()
    for series, sign in ((DA_MOTTA_UPPER, -1), (DA_MOTTA_LOWER, 1)):
        assert sign * (np.mean(series["51+"]) - np.mean(series["12-15"])) > 1.5


def test_the_other_series_agrees_within_a_millimetre():
    for ages, years in (("12-15", 14), ("51+", 55)):
        assert norm_at(years).upper_mm == pytest.approx(np.mean(DA_MOTTA_UPPER[ages]), abs=1.0)
        assert norm_at(years).lower_mm == pytest.approx(np.mean(DA_MOTTA_LOWER[ages]), abs=0.3)


@pytest.mark.parametrize(("age", "words"), [(4, "up to 29"), (29.9, "up to 29"), (30, "30 to 39"), (60, "60 and over")])
def test_an_age_belongs_to_one_group(age, words):
    assert norm_at(age).ages == words


@pytest.mark.parametrize("age", [0, -3, float("nan")])
def test_no_age_is_refused(age):
    with pytest.raises(ValueError, match="over zero"):
        norm_at(age)
