"""Widest opening: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "widest opening",
    Kind.PAPER,
    "Normal mouth opening in adult Indian population, PMC3428458 (n = 894, 21-70 years; author line not seen)",
    (
        CheckValue(
            "closure",
            "men 51.3 (SD 8.3), women 44.3 (SD 6.7) mm between the incisal edges",
            Seen.READ,
            "tests/performer/motion/test_published_jaw.py::"
            "test_a_mandible_of_published_size_opens_as_wide_as_was_measured",
        ),
        CheckValue(
            "closure",
            "of all of them, 36 to 70 mm",
            Seen.READ,
            "tests/performer/motion/test_published_jaw.py::"
            "test_the_least_and_the_largest_mandible_open_within_what_was_measured",
        ),
    ),
)
