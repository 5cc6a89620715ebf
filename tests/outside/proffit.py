"""Lips at rest: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "lips at rest",
    Kind.HANDBOOK,
    "Proffit, Contemporary Orthodontics",
    (
        CheckValue(
            "closure",
            "lips 0 to 3 mm apart at rest are competent",
            Seen.RECALLED,
            "tests/checks/closure/test_axis_and_reach.py::"
            "test_lips_reach_with_ease_up_to_3_mm_and_as_far_as_the_performer_reaches",
        ),
    ),
)
