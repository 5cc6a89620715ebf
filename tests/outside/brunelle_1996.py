"""Overbite: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "overbite",
    Kind.PAPER,
    "Brunelle, Bhat, Lipton 1996, Journal of Dental Research 75(Spec):706-713 (n over 7,000)",
    (
        CheckValue(
            "interference",
            "upper teeth overlap lower ones by 2.9 mm: so far the rows part as the jaw goes ahead",
            Seen.READ,
            "tests/performer/motion/test_excursions.py::test_teeth_part_by_the_mean_overbite_over_the_first_2_mm",
        ),
    ),
)
