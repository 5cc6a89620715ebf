"""Lips at rest: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "lips at rest",
    Kind.PAPER,
    "Arnett, Bergman 1993, Facial keys to orthodontic diagnosis and treatment planning, American Journal of "
    "Orthodontics and Dentofacial Orthopedics 103",
    (
        CheckValue(
            "closure",
            "normal rest is 1 to 5 mm: no proof that more is out of reach",
            Seen.RECALLED,
            "tests/checks/closure/test_axis_and_reach.py::"
            "test_lips_reach_with_ease_up_to_3_mm_and_as_far_as_the_performer_reaches",
        ),
    ),
)
