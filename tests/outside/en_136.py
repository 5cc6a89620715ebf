"""Full-face masks: check values that tests elsewhere hold the checks to."""

from citation import CheckValue, Kind, Seen, Source

SOURCE = Source(
    "full-face masks",
    Kind.STANDARD,
    "EN 136:1998, Respiratory protective devices, Full face masks, clause 7.14",
    (
        CheckValue(
            "sightline",
            "an effective field of 70 % of the natural one, of both eyes together",
            Seen.RECALLED,
            "tests/checks/eyes/test_sightline.py::test_a_reference_for_both_eyes_is_held_against_both",
        ),
    ),
)
