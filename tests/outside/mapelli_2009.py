"""Turn and slide, shares: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "turn and slide, shares",
    Kind.PAPER,
    "Mapelli, Galante, Lovecchio, Sforza, Ferrario 2009, Clinical Anatomy, doi 10.1002/ca.20756 (12 men, 14 women)",
    (
        CheckValue(
            "closure",
            "more turn than slide in every part of the opening, never nearly all",
            Seen.READ,
            "tests/performer/motion/test_published_jaw.py::test_it_slides_from_the_first_and_turns_more_than_it_slides",
        ),
    ),
)
