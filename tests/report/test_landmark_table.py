"""Proposed landmarks on paper: the table says what contradicts what, and the brief's table carries the mark."""

import numpy as np
import pytest

from dryfit.model.brief_reading import parse_brief
from dryfit.model.errors import UnwritableOutput
from dryfit.model.finding import Severity
from dryfit.performer.landmarks.confidence import Confidence
from dryfit.performer.landmarks.doubt import Doubt
from dryfit.performer.landmarks.mouth_aperture import MouthAperture
from dryfit.performer.landmarks.proposal import Proposal
from dryfit.report.landmark_table import landmarks_toml, proposal_table, write_landmarks

POINTS = {"tragion_left": np.array([70.0, -4.0, 12.5]), "stomion_inferius": np.array([0.0, -101.0, -61.25])}


@pytest.fixture
def proposal():
    doubt = Doubt(Severity.REVIEW, ("stomion_inferius",), "it lies on the other lip.", np.zeros(3), 12.0, 5.0, "look")
    return Proposal(
        POINTS,
        {
            "tragion_left": Confidence("tragion_left"),
            "stomion_inferius": Confidence("stomion_inferius", doubted_mm=12.0),
        },
        doubts=(doubt,),
        aperture=MouthAperture(np.zeros(3), np.zeros(3), 23.0),
    )


def test_the_table_says_that_the_mouth_is_open_and_what_contradicts_what(proposal):
    text = proposal_table(proposal, "Scan", {})
    assert "found 23.0 mm open" in text
    assert "Proposals contradict each other: it lies on the other lip." in text
    assert "stomion_inferius" in text.split("look at")[-1]


def test_a_brief_gets_every_point_with_the_mark_that_nobody_confirmed_it(proposal):
    text = landmarks_toml(proposal)
    assert "take a name out once you have looked at it" in text
    brief = parse_brief(text)
    assert brief.landmarks == {name: tuple(point) for name, point in POINTS.items()}
    assert brief.proposed == pytest.approx(proposal.bound_mm, abs=0.06)
    looked_at = "\n".join(line for line in text.splitlines() if not line.startswith("tragion_left = 4"))
    assert set(parse_brief(looked_at).proposed) == {"stomion_inferius"}


def test_it_is_added_to_a_brief_without_landmarks_and_never_twice(proposal, tmp_path):
    out = tmp_path / "brief.toml"
    out.write_text("[limits]\nadditive_tolerance_mm = 0.3\n", encoding="utf8")
    write_landmarks(proposal, out)
    brief = parse_brief(out.read_text(encoding="utf8"))
    assert brief.limits.additive_tolerance_mm == 0.3 and set(brief.proposed) == set(POINTS)
    with pytest.raises(UnwritableOutput, match="already has"):
        write_landmarks(proposal, out)
