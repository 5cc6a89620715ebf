"""Creases in plane strain: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "creases in plane strain",
    Kind.PAPER,
    "arXiv 1904.09337 (2019), on creases in neo-Hookean solids",
    (
        CheckValue(
            "strain",
            "a neo-Hookean solid creases at 35.6 % in plane strain",
            Seen.READ,
            "tests/checks/fit/test_strain.py::test_a_piece_creases_by_both_stretches_and_its_make",
        ),
    ),
)
