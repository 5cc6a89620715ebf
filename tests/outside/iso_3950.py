"""Numbers of teeth: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "numbers of teeth",
    Kind.STANDARD,
    "ISO 3950:2016, Dentistry, Designation system for teeth and areas of the oral cavity",
    (
        CheckValue(
            "coverage",
            "first digit the quadrant, 1 the upper right; second digit counted from the midline",
            Seen.RECALLED,
            "tests/performer/test_tooth_names.py::test_names",
        ),
    ),
)
