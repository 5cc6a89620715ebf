"""Stretch of facial skin: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "stretch of facial skin",
    Kind.PAPER,
    "Hsu, Wes, Tahiri, Cornman-Homonoff, Percec 2014, Plastic and Reconstructive Surgery Global Open 2(9):e211",
    (
        CheckValue(
            "strain",
            "round the mouth, lips pursed: 33.8 % under 40 years, 58.4 % over (n = 13)",
            Seen.READ,
            "tests/checks/test_wear_on_the_head.py::test_perioral_strain_is_what_was_measured_on_faces",
        ),
        CheckValue(
            "strain",
            "they measured lengthening, nothing of skin that shortens",
            Seen.READ,
            "tests/checks/fit/test_strain.py::test_an_edge_on_skin_that_shortens_has_a_limit_of_its_own",
        ),
    ),
)
