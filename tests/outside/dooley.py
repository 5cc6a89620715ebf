"""Shrinkage of bronze: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "shrinkage of bronze",
    Kind.HANDBOOK,
    "Dooley, Applied Science for Metal Workers",
    (
        CheckValue(
            "release",
            "5/32 inch in a foot, added to the pattern, for sand",
            Seen.READ,
            "tests/checks/casting/test_materials.py::"
            "test_what_a_pattern_of_bronze_gets_is_added_to_the_piece_and_is_for_sand",
        ),
        CheckValue(
            "release",
            "a pattern 1.013 times as large",
            Seen.READ,
            "tests/checks/casting/test_materials.py::test_pattern_factors_are_the_pattern_makers",
        ),
    ),
)
