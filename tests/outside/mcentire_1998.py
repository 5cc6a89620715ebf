"""Moment on the neck, pilots: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "moment on the neck, pilots",
    Kind.PAPER,
    "McEntire, Shanahan 1998, U.S. Army Aeromedical Research Laboratory",
    (
        CheckValue(
            "load",
            "82.8 N.cm, which is 0.84 kg at 10 cm",
            Seen.RECALLED,
            "tests/checks/casting/test_load.py::test_published_limits_are_the_weights_at_the_arms_they_are_quoted_for",
        ),
    ),
)
