"""Monocular field: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "monocular field",
    Kind.PAPER,
    "Roenne 1915 and Traquair 1938 (An Introduction to Clinical Perimetry), as quoted in encyclopedias",
    (
        CheckValue(
            "sightline",
            "one eye sees 60 degrees nasally, 107 temporally, 70 up, 80 down",
            Seen.QUOTED,
            "tests/checks/test_wear_on_the_head.py::test_the_bare_field_is_a_human_one",
        ),
    ),
)
