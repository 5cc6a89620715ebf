"""The family of heads: every row is right, or is known to be wrong and stays so until the code is mended."""

import pytest

from family.rows import ROWS
from family.wrong_today import WRONG


def marked(row):
    known = [pytest.mark.xfail(strict=True, reason=WRONG[row.id])] if row.id in WRONG else []
    return pytest.param(row, id=row.id, marks=[*known, *([pytest.mark.slow] if row.slow else [])])


@pytest.mark.parametrize("row", [marked(row) for row in ROWS.values()])
def test_the_family_of_heads(row):
    answer = row.answer()
    assert answer.right, f"{row.asks}: {answer.measured}, true is {answer.truth}"


def test_what_is_listed_as_wrong_is_asked():
    assert not set(WRONG) - set(ROWS)
