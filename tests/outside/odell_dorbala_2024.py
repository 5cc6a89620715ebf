"""Half a kilogram on the head: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "half a kilogram on the head",
    Kind.PAPER,
    "Odell, Dorbala 2024, Work 77:651-658, doi 10.3233/wor-220689 (16 people)",
    (
        CheckValue(
            "load",
            "not everyone wore 500 g for two hours in comfort",
            Seen.READ,
            "tests/checks/casting/test_load.py::"
            "test_half_a_kilogram_on_the_head_is_looked_at_with_the_hours_it_is_worn",
        ),
    ),
)
