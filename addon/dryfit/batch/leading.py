"""A row that holds the one figure that stands for each check in the table, and no others.

A design has some six hundred figures. A batch of thousands keeps only the leading ones in memory; all of them stand in
each variant's ``row.json``.
"""

from collections.abc import Sequence
from dataclasses import replace

from ..checks.check import Check
from ..checks.registry import CHECKS
from .row import Row


def leading_row(row: Row, checks: Sequence[Check] = CHECKS) -> Row:
    """Return a row with the leading figures only, and without what it was read from."""
    leading = [(check.id, check.leading_figure) for check in checks if check.id in row.checks]
    names = [f"{check}.{figure.measure}" for check, figure in leading if figure]
    return replace(row, measures={name: row.measures[name] for name in names if name in row.measures}, read_from={})
