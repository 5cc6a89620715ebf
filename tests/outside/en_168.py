"""Eye protector ellipses: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "eye protector ellipses",
    Kind.STANDARD,
    "EN 166:2001, clause 7.1.1, with EN 168:2001, clauses 17 and 18, as tabulated in Health and Technology 2020, "
    "article 429, table 1, doi 10.1007/s12553-020-00429-2",
    (
        CheckValue(
            "sightline",
            "an ellipse 22.0 mm wide and 20.0 mm high, 25 mm before the eye, 3 mm outward (half of 6), 0.7 mm low",
            Seen.QUOTED,
            "tests/checks/eyes/test_sightline.py::test_an_elliptic_window_of_the_standard_leaves_the_ellipse_free",
        ),
        CheckValue(
            "sightline",
            "its half angles, atan(11/25) and atan(10/25): 23.7 and 21.8 degrees",
            Seen.QUOTED,
            "tests/checks/eyes/test_sightline.py::test_the_ellipse_has_the_half_angles_of_the_standard",
        ),
    ),
)
