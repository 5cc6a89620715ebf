"""Which rows of the family are asked when."""

import os

import pytest

WHOLE = "DRYFIT_WHOLE_FAMILY"
"""Set to ask the slow rows too: a quarter of an hour on two cores, so they are asked before a release."""


def marked(row, shown=None):
    """Return a row as a test's parameter, or what it is shown as, marked slow where it is."""
    left_out = pytest.mark.skipif(WHOLE not in os.environ, reason=f"a slow row of the family: set {WHOLE} to ask it")
    return pytest.param(shown or row, id=shown or row.id, marks=[pytest.mark.slow, left_out] if row.slow else [])
