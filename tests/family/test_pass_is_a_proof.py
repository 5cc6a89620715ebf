"""On the demonstration's designs, too, no figure stands beyond its limit, or unknown, under the word *pass*."""

import pytest

from family.marks import marked
from family.pass_rows import DESIGNS
from family.rows import ROWS


@pytest.mark.parametrize("name", [marked(ROWS[row_id], name) for name, row_id in DESIGNS.items()])
def test_under_pass_every_figure_is_within_its_limit(name):
    answer = ROWS[DESIGNS[name]].answer()
    assert answer.right, answer.measured
