"""View factor of two discs: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "view factor of two discs",
    Kind.HANDBOOK,
    "Howell, A Catalog of Radiation Heat Transfer Configuration Factors, C-41",
    (
        CheckValue(
            "airway",
            "what a disc takes of a coaxial disc's sky, in closed form",
            Seen.RECALLED,
            "tests/checks/breath/test_airway.py::test_a_disc_before_the_nostril_takes_its_view_factor",
        ),
    ),
)
