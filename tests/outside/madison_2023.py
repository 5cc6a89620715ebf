"""Moment on the neck: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "moment on the neck",
    Kind.PAPER,
    "Madison et al. 2023, Military Medicine 188(S6):520-528 (n = 21, preliminary)",
    (
        CheckValue(
            "load",
            "134 N.cm about the atlanto-occipital joint, which is 1.37 kg at 10 cm",
            Seen.READ,
            "tests/checks/casting/test_load.py::test_published_limits_are_the_weights_at_the_arms_they_are_quoted_for",
        ),
    ),
)
