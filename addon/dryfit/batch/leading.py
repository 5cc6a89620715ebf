"""The one figure that stands for each check in the table, and a row that holds no others.

A design has some six hundred figures. A batch of thousands keeps only the leading ones in memory; all of them stand in
each variant's ``row.json``.
"""

from dataclasses import replace

from ..report.figures import KEYS, Key
from .row import Row


def leading_figure(check: str) -> Key | None:
    """Return the figure that stands for a check in the table: the first held against a limit, else the first."""
    keys = KEYS.get(check, ())
    return next((key for key in keys if key.limit), keys[0] if keys else None)


def leading_row(row: Row) -> Row:
    """Return a row with the leading figures only, and without what it was read from."""
    leading = [(check, leading_figure(check)) for check in row.checks]
    names = [f"{check}.{key.measure}" for check, key in leading if key]
    return replace(row, measures={name: row.measures[name] for name in names if name in row.measures}, read_from={})
