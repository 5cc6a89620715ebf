"""What a batch leaves beside its page: ``batch.json`` for scripts and ``batch.csv`` for spreadsheets.

Both are written variant by variant from each one's ``row.json``, so that a batch of any size takes the same memory.
"""

import csv
import io
import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from ..model.version import VERSION
from .row import Row, kept_row
from .safe_cell import safe_cell

SCHEMA = "dryfit.batch/1"


def batch_json(rows: Sequence[Row], complete: bool, out: Path) -> Iterator[bytes]:
    """Yield ``batch.json``, a line for each variant; what each cost stands apart from the compared body.

    Parameters
    ----------
    rows
        The variants, in the order of their files.
    complete
        False where the batch was stopped half way.
    out
        The batch's output, where the variants' folders lie.
    """
    head = {"schema": SCHEMA, "dryfit": VERSION, "complete": complete}
    yield (_plain(head)[:-1] + ',\n"variants": [').encode()
    for number, row in enumerate(rows):
        yield ((",\n" if number else "\n") + _plain(_whole(row, out).body())).encode()
    yield b'\n],\n"cost": {'
    for number, row in enumerate(rows):
        cost = _plain({"seconds": row.seconds, "peak_mb": row.peak_mb})
        yield f"{',' if number else ''}\n{_plain(row.source)}: {cost}".encode()
    yield b"\n}}\n"


def batch_csv(rows: Sequence[Row], out: Path) -> Iterator[bytes]:
    """Yield ``batch.csv``, a line for each variant; cells that a spreadsheet would run as formulas are quoted.

    Parameters
    ----------
    rows
        The variants, in the order of their files.
    out
        The batch's output, where the variants' folders lie.
    """
    checks = list(dict.fromkeys(check for row in rows for check in row.checks))
    measures = list(dict.fromkeys(measure for row in rows for measure in _whole(row, out).measures))
    held = any(row.against for row in rows)
    decided = [f"{check}.decided" for check in checks]
    against = ["against_approved", "change", "change_mm"] if held else []
    yield _line(["variant", "file", "verdict", "reason", *checks, *measures, *decided, *against])
    for row in rows:
        figures = _whole(row, out).measures
        cells = [row.name, row.source, row.verdict, row.reason or row.worst]
        cells += [row.checks.get(check, "") for check in checks]
        cells += [figures.get(measure, "") for measure in measures]
        cells += [_decided_words(row, check) for check in checks]
        changed = "" if row.change_mm is None else row.change_mm
        yield _line([*cells, *((row.against, row.change, changed) if held else ())])


def _decided_words(row: Row, check: str) -> str:
    """Return the figure that decided about a check of a variant, with its limit, as the page says them."""
    decided = row.decided.get(check, {})
    return " / ".join(str(decided[name]) for name in ("said", "limit") if decided.get(name))


def _whole(row: Row, out: Path) -> Row:
    """Return a row with all its figures, read back from its folder; as it is where that is gone."""
    kept = kept_row(out / row.folder) if row.folder else None
    return replace(row, measures=kept.measures, read_from=kept.read_from) if kept and kept.key == row.key else row


def _plain(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def _line(cells: Sequence[Any]) -> bytes:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerow(
        [safe_cell(cell) if isinstance(cell, str) else cell for cell in cells]
    )
    return text.getvalue().encode()
