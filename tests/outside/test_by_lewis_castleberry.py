"""How far an elastomer for faces stretches, held against silicone on a sheet of known stretch."""

import numpy as np
import pytest
from citation import CheckValue, Kind, Seen, Source

import dryfit
from dryfit.model.snapshot import Motion, Part, Snapshot
from shapes import sheet

SOURCE = Source(
    "elastomers for facial prostheses",
    Kind.PAPER,
    "Lewis, Castleberry 1980, Journal of Prosthetic Dentistry 43:426-432",
    (
        CheckValue("strain", "elongation of 400 to 800 %", Seen.RECALLED,
                   "test_silicone_stretched_by_half_uses_what_its_elongation_says"),
    ),
)  # fmt: skip


def test_silicone_stretched_by_half_uses_what_its_elongation_says():
    """Half its length over 4.0 to 8.0: the check reckons with the lower end."""
    base, faces = sheet(120.0, 48)
    piece, piece_faces = sheet(40.0, 20, lambda x, y: 0.5 + 0 * x)
    moved = Motion("smile", [0.0, 1.0], {"Scan": np.stack([base, base * [1.5, 1.0, 1.0]])})
    parts = (Part("Scan", "base", base, faces), Part("Piece", "appliance", piece, piece_faces, "silicone"))
    found = dryfit.check(Snapshot("sheet", parts=parts, motions={"smile": moved}), only=["strain"]).check("strain")
    assert found.measures["bulk_strain_share"] == pytest.approx(0.5 / 4.0, rel=1e-6)
    assert 0.5 / 8.0 <= found.measures["bulk_strain_share"] <= 0.5 / 4.0 * (1 + 1e-9)
