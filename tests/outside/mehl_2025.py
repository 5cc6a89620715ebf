"""Centre of the whole opening: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "centre of the whole opening",
    Kind.PAPER,
    "Mehl, Woodford, Robinson, Abduo, Lee, Ackland 2025, Clinical Oral Investigations, doi 10.1007/s00784-025-06619-4",
    (
        CheckValue(
            "closure",
            "centre of rotation 32.4 (SD 7.4) mm below and 0.2 (SD 10.8) mm behind the condyle's",
            Seen.READ,
            "tests/performer/motion/test_published_jaw.py::test_the_whole_opening_turns_about_where_it_was_measured",
        ),
    ),
)
