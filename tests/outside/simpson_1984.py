"""Arbitrary hinge axis: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "arbitrary hinge axis",
    Kind.PAPER,
    "Simpson et al. 1984, Journal of Prosthetic Dentistry (review of arbitrary axes); abstract of the IADR 2012",
    (
        CheckValue(
            "closure",
            "the hinge 12 mm before the tragus on the line to the eye's corner",
            Seen.READ,
            "tests/performer/motion/test_hinge.py::test_axis_runs_12_mm_in_front_of_each_tragion",
        ),
    ),
)
