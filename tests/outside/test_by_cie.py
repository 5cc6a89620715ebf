"""How wide both eyes see, on the demonstration's bare head."""

import pytest
from citation import CheckValue, Kind, Seen, Source

from demo_reports import whole_report

SOURCE = Source(
    "binocular field",
    Kind.STANDARD,
    "CIE, International Lighting Vocabulary (e-ILV), term 430: visual field",
    (
        CheckValue("sightline", "both eyes see near 190 degrees in the horizontal", Seen.READ,
                   "test_the_bare_face_sees_as_wide_as_people_do"),
    ),
)  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("name", ["01-warden-plain"])
def test_the_bare_face_sees_as_wide_as_people_do(name):
    """Eyes held straight ahead, the brow and the nose of one young head: within 15 degrees."""
    assert whole_report(name).check("sightline").measures["bare_horizontal_deg"] == pytest.approx(190.0, abs=15.0)
