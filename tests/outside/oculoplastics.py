"""Height of the open eye: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "height of the open eye",
    Kind.HANDBOOK,
    "Texts on oculoplastic surgery; none of them seen",
    (
        CheckValue(
            "blink",
            "lids 8 to 11 mm apart, men from 7",
            Seen.RECALLED,
            "tests/checks/test_wear_on_the_head.py::test_the_open_lids_are_as_far_apart_as_lids_are",
        ),
    ),
)
