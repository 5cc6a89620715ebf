"""Creases of a soft solid, both ways alike: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "creases of a soft solid, both ways alike",
    Kind.PAPER,
    "Hong, Zhao, Suo 2009, Formation of creases on the surfaces of elastomers and gels, Applied Physics Letters "
    "95:111901",
    (
        CheckValue(
            "strain",
            "a quarter where both stretches are the same",
            Seen.RECALLED,
            "tests/checks/fit/test_strain.py::test_a_piece_creases_by_both_stretches_and_its_make",
        ),
    ),
)
