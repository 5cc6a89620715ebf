"""Ways of the jaw forward and to the sides: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "ways of the jaw forward and to the sides",
    Kind.PAPER,
    "Hirsch, John, Lautenschlaeger, List 2006, European Journal of Oral Sciences 114(6):465-470 (n = 1,011, 10-17 "
    "years)",
    (
        CheckValue(
            "interference",
            "8.2 mm forward, 10.6 left, 10.2 right",
            Seen.READ,
            "tests/performer/motion/test_excursions.py::test_incisors_go_as_far_as_was_measured",
        ),
    ),
)
