"""Rows of the family that are wrong as the code stands, each with why. Mending the code takes them off this list."""

import pytest

WRONG = {}


def marked(row, shown=None):
    """Return a row as a test's parameter, or what it is shown as, marked slow and as known to be wrong where it is."""
    known = [pytest.mark.xfail(strict=True, reason=WRONG[row.id])] if row.id in WRONG else []
    slow = [pytest.mark.slow] if row.slow else []
    return pytest.param(shown or row, id=shown or row.id, marks=[*known, *slow])
