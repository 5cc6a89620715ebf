"""Creases along one way: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "creases along one way",
    Kind.PAPER,
    "arXiv 1704.01531 (2017), on creases in neo-Hookean solids",
    (
        CheckValue(
            "strain",
            "a neo-Hookean solid creases at 44 % along one way",
            Seen.READ,
            "tests/checks/fit/test_strain.py::test_a_piece_creases_by_both_stretches_and_its_make",
        ),
    ),
)
