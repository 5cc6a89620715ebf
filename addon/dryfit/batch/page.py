"""The comparison page of a batch: every variant and check in one table, two of them side by side."""

import json
from collections.abc import Mapping, Sequence
from importlib import resources
from pathlib import Path
from typing import Any
from urllib.parse import quote

import jinja2
from markupsafe import Markup

from ..checks.registry import CHECKS
from ..report import palette
from ..report.page import SHAPES
from ..report.verdict import SAFETY
from ..report.wording import STATUS_WORDS
from .row import WORST_FIRST, Row, worst_first

VIEWS = (
    ("worn-front", "Front"),
    ("worn-three-quarter-left", "Three-quarter, performer's left"),
    ("worn-profile-left", "Profile, performer's left"),
    ("worn-front-open", "Front, mouth open"),
)
"""Pictures that every report has, and their words."""
CURVES = (("closure", "gap_by_t"), ("edge", "thickness_by_distance"))
"""Curves laid over each other on the page."""
WORDS: Mapping[str, str] = {**{str(status): word for status, word in STATUS_WORDS.items()}, "unusable": "Unusable"}
RANK: Mapping[str, int] = {word: place for place, word in enumerate((*WORST_FIRST, ""))}


def index_page(rows: Sequence[Row], out: Path, complete: bool) -> str:
    """Return the page as text; pictures and reports are linked, so the folder can be moved as a whole.

    Parameters
    ----------
    rows
        The variants.
    out
        The batch's output, where the variants' reports lie.
    complete
        False where the batch was stopped half way.
    """
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(str(resources.files(__package__).joinpath("templates"))),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    rows = worst_first(rows)
    ids = [check.id for check in CHECKS if any(check.id in row.checks for row in rows)]
    return environment.get_template("index.html").render(
        rows=[_shown(row, out, ids) for row in rows],
        checks=[check for check in CHECKS if check.id in ids],
        complete=complete,
        counts={word: sum(row.verdict == status for row in rows) for status, word in WORDS.items()},
        views=VIEWS,
        palette=palette,
        shapes={str(status): Markup(shape) for status, shape in SHAPES.items()},
        words=WORDS,
        safety=SAFETY,
        curves=_curves(rows, out),
    )


def _shown(row: Row, out: Path, ids: list[str]) -> dict[str, Any]:
    """Return what the table shows of one row: links that hold any name, and words that sort."""
    folder = quote(row.folder)
    pictures = {
        view: f"{folder}/heatmaps/{view}.png"
        for view, _ in VIEWS
        if row.folder and (out / row.folder / "heatmaps" / f"{view}.png").is_file()
    }
    linked = row.folder and (out / row.folder / "report.html").is_file()
    return {
        "row": row,
        "link": f"{folder}/report.html" if linked else "",
        "pictures": pictures,
        "rank": RANK[row.verdict],
        "cells": [(check, row.checks.get(check, ""), RANK[row.checks.get(check, "")]) for check in ids],
    }


def _curves(rows: list[Row], out: Path) -> list[dict[str, Any]]:
    """Return the curves of all reports, those of one name together, with their labels."""
    groups: dict[str, dict[str, Any]] = {}
    for row in rows:
        if not row.folder:
            continue
        for name, curve in _stored_curves(out / row.folder).items():
            group = groups.setdefault(name, {"labels": [curve["x_label"], curve["y_label"]], "lines": []})
            group["lines"].append({"file": row.source, "name": row.name, "x": curve["x"], "y": curve["y"]})
    return [{"name": name, **group} for name, group in groups.items()]


def _stored_curves(folder: Path) -> dict[str, Any]:
    try:
        checks = json.loads((folder / "report.json").read_text(encoding="utf8"))["checks"]
    except (OSError, ValueError, KeyError):
        return {}
    known = {(check["id"], name): curve for check in checks for name, curve in check["curves"].items()}
    return {name: known[check, name] for check, name in CURVES if (check, name) in known}
