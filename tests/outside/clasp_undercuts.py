"""Undercut that holds: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "undercut that holds",
    Kind.HANDBOOK,
    "Textbooks of removable partial dentures: undercut gauges of 0.25, 0.50 and 0.75 mm",
    (
        CheckValue(
            "release",
            "0.25 mm of undercut hold a cast clasp, so 0.15 mm are not nothing to a rigid casting",
            Seen.RECALLED,
            "tests/checks/casting/test_release.py::test_an_overhang_that_holds_a_cast_clasp_holds_a_rigid_casting",
        ),
    ),
)
