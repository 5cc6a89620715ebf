"""Walls that printing bureaus take, held against even pieces of known thickness."""

import numpy as np
import pytest
from citation import CheckValue, Kind, Seen, Source

import shapes
from dryfit.checks.casting import thickness
from head_marks import outcome, severities, snapshot

SOURCE = Source(
    "walls of printed parts",
    Kind.HANDBOOK,
    "Design pages of printing services, several, which differ from each other by twice; none is a standard",
    (
        CheckValue("thickness", "vat resin: least wall 0.5 to 1.0 mm", Seen.QUOTED,
                   "test_a_wall_is_judged_within_what_bureaus_ask"),
        CheckValue("thickness", "filament: 0.8 to 1.2 mm", Seen.QUOTED,
                   "test_a_wall_is_judged_within_what_bureaus_ask"),
        CheckValue("thickness", "sintered powder: 0.7 to 0.8 mm", Seen.QUOTED,
                   "test_a_wall_is_judged_within_what_bureaus_ask"),
        CheckValue("thickness", "metal powder bed: 0.4 to 0.5 mm", Seen.QUOTED,
                   "test_a_wall_is_judged_within_what_bureaus_ask"),
    ),
)  # fmt: skip
WALLS_MM = {
    "printed_resin": (0.5, 1.0), "printed_pla": (0.8, 1.2), "printed_nylon": (0.7, 0.8), "printed_metal": (0.4, 0.5),
}  # fmt: skip


def told(material, thick_mm):
    """Severities of an even piece of 100 mm square, as far as they speak of its thin wall."""
    sheet = shapes.sheet(100.0, 50)
    piece = shapes.slab(*sheet, np.full(len(sheet[0]), thick_mm))
    found = outcome(thickness, snapshot(shapes.sheet(200.0, 40), ("Piece", "appliance", piece, material)))
    assert found.measures["min_interior_mm"] == pytest.approx(thick_mm, abs=1e-6)
    return severities(found)


@pytest.mark.parametrize("material", WALLS_MM)
def test_a_wall_is_judged_within_what_bureaus_ask(material):
    """Under the least that any of them takes it fails; over the most that any asks for nothing is said."""
    least, most = WALLS_MM[material]
    assert told(material, least - 0.05)[:1] == ["fail"]
    assert "fail" not in told(material, (least + most) / 2)
    assert told(material, most + 0.05) == []
