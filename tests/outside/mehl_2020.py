"""How a slide shifts the axis: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "how a slide shifts the axis",
    Kind.PAPER,
    "Mehl 2020, Computer Methods in Biomechanics and Biomedical Engineering 23(9):445-455",
    (
        CheckValue(
            "closure",
            "1 mm of slide shifts the axis that is found by about 6 mm, 2 mm by 12",
            Seen.READ,
            "tests/performer/motion/test_published_jaw.py::test_a_slide_shifts_the_apparent_axis_as_was_calculated",
        ),
    ),
)
