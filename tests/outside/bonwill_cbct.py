"""Bonwill's triangle: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "Bonwill's triangle",
    Kind.PAPER,
    "Morphometric study by cone-beam tomography, n = 120, PubMed 26734666",
    (
        CheckValue(
            "closure",
            "arm 103.3, base 99.6 mm, condyles 34.3 mm over the occlusal plane: an opening of 53.07 mm by 34.10 "
            "degrees of turn alone",
            Seen.READ,
            "tests/performer/motion/test_published_jaw.py::"
            "test_a_mandible_of_published_size_opens_as_wide_as_was_measured",
        ),
    ),
)
