"""Teeth shown at rest, adults: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "teeth shown at rest, adults",
    Kind.PAPER,
    "Scientific World Journal 2013, article 806203, table 2 (Turks of 20-27 years)",
    (
        CheckValue(
            "coverage",
            "women 3.2 (SD 1.9), men 2.7 (SD 1.8) mm: 44 of 100 women over 3.5, 17 over 5.0",
            Seen.READ,
            "tests/checks/teeth/test_display_norms.py::test_no_default_calls_a_sixth_of_a_measured_group_too_much",
        ),
    ),
)
