"""What speaks against a proposal, just short of the distance from which it does and just beyond it."""

from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.model.finding import Severity
from dryfit.performer.landmarks import proposal
from dryfit.performer.landmarks.read_off import MOST_OFF_MARGIN_MM, Reading

LITTLE = 1e-3


@pytest.mark.parametrize(
    ("off_mm", "doubted"), [(0.0, False), (MOST_OFF_MARGIN_MM - LITTLE, False), (MOST_OFF_MARGIN_MM + LITTLE, True)]
)
def test_edges_of_lips_that_are_seen_elsewhere(off_mm, doubted):
    seen = {"stomion_superius": np.array([off_mm, 0.0, 0.0]), "stomion_inferius": np.zeros(3)}
    reading = SimpleNamespace(
        laying=SimpleNamespace(hidden_open_mm=0.0, seen=seen), carried={name: np.zeros(3) for name in seen}
    )
    found = list(Reading.doubts(reading))
    assert bool(found) == doubted
    for doubt in found:
        assert doubt.severity == "review" and doubt.names == tuple(seen) and doubt.value_mm == off_mm
        assert "has stomion_superius" in doubt.message


@pytest.mark.parametrize(("severity", "kept"), [(Severity.INFO, False), (Severity.REVIEW, True), (Severity.FAIL, True)])
def test_what_is_only_a_note_on_landmarks_is_no_doubt_of_a_proposal(severity, kept, monkeypatch):
    doubt = SimpleNamespace(severity=severity, names=("gnathion",), value_mm=40.0)
    monkeypatch.setattr(proposal, "landmark_doubts", lambda points, scan: [doubt])
    reading = SimpleNamespace(
        points=lambda: ({}, ()), scan=None, doubts=lambda: iter(()), pose=None, laying=SimpleNamespace(aperture=None),
        confidence=lambda points, doubted_mm: doubted_mm,
    )  # fmt: skip
    read = proposal._read(reading, [SimpleNamespace(misfit_mm=1.0)])
    assert read.doubts == ((doubt,) if kept else ())
    assert read.confidence == ({"gnathion": 40.0} if kept else {})
