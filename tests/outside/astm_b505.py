"""Density of bronzes: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "density of bronzes",
    Kind.STANDARD,
    "Data sheets of ASTM B505, UNS C90300 and UNS C90500",
    (
        CheckValue(
            "load",
            "0.318 and 0.315 lb/in3",
            Seen.READ,
            "tests/checks/casting/test_materials.py::test_bronze_density_is_the_handbook_figure_of_its_alloy",
        ),
    ),
)
