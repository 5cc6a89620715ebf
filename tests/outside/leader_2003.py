"""Turn and slide of a jaw: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "turn and slide of a jaw",
    Kind.PAPER,
    "Leader, Boston, Debski, Rudy 2003, Journal of Biomechanics 36(2):275-281 (two subjects)",
    (
        CheckValue(
            "closure",
            "wide open: 34.10 degrees, 21.07 mm ahead, 6.95 mm down",
            Seen.READ,
            "tests/performer/motion/test_published_jaw.py::test_the_condyle_slides_as_far_as_was_measured",
        ),
        CheckValue(
            "closure",
            "the same from shape keys that go so",
            Seen.READ,
            "tests/performer/motion/test_published_jaw.py::test_a_keyed_jaw_that_goes_as_was_measured_is_found_to",
        ),
    ),
)
