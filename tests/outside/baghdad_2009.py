"""Teeth shown at rest, all ages: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "teeth shown at rest, all ages",
    Kind.PAPER,
    "Journal of Baghdad College of Dentistry 2009, 21(1) (people of 16-70 years)",
    (
        CheckValue(
            "coverage",
            "women 2.68 (SD 1.80), men 1.38 (SD 1.41) mm",
            Seen.READ,
            "tests/checks/teeth/test_display_norms.py::test_a_performer_is_held_against_people_of_the_same_age_and_sex",
        ),
    ),
)
