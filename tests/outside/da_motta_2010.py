"""Teeth shown at rest, by age: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "teeth shown at rest, by age",
    Kind.PAPER,
    "da Motta, de Souza, Bolognese, Guerra, Mucha 2010, Australian Orthodontic Journal 26(1):27-32 (n = 240, abstract)",
    (
        CheckValue(
            "coverage",
            "upper incisors: girls of 12-15 4.45, boys 3.35; from 51 years women 1.32, men 0.57 mm",
            Seen.READ,
            "tests/checks/teeth/test_display_norms.py::test_a_performer_is_held_against_people_of_the_same_age_and_sex",
        ),
        CheckValue(
            "coverage",
            "less of the upper and more of the lower teeth with age",
            Seen.READ,
            "tests/checks/teeth/test_display_norms.py::test_upper_teeth_show_less_and_lower_teeth_more_with_age",
        ),
    ),
)
