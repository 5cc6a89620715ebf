"""Size of a nostril: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "size of a nostril",
    Kind.HANDBOOK,
    "Texts on rhinology; none of them seen",
    (
        CheckValue(
            "airway",
            "0.6 to 1.2 cm2 each",
            Seen.RECALLED,
            "tests/checks/test_wear_on_the_head.py::test_nostrils_are_as_large_as_nostrils_are",
        ),
        CheckValue(
            "edge",
            "the rim of such a nostril: 7 to 20 mm across",
            Seen.RECALLED,
            "tests/performer/test_edge_lines.py::test_a_nostrils_rim_bounds_an_opening_as_large_as_a_nostril",
        ),
    ),
)
