"""The JSON Schema that every written report obeys, and the two rules it cannot state."""

import importlib
import importlib.util
import json
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from typing import Any

from ..model.errors import DryfitError
from ..model.finding import Status, worst


class InvalidReport(DryfitError):
    """A report that does not have the layout of ``dryfit.report/1``."""

    def __init__(self, where: str, why: str) -> None:
        super().__init__(f"The report is not a dryfit.report/1: at {where or 'the top'}: {why}")


@cache
def report_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) that ships with the package. Do not change the returned value."""
    text = resources.files(__package__).joinpath("schema.json").read_text(encoding="utf-8")
    schema: dict[str, Any] = json.loads(text)
    return schema


def validate(report: Mapping[str, Any]) -> bool:
    """Hold a report against the schema and against the rules a schema cannot state.

    Parameters
    ----------
    report
        What ``Report.to_dict`` returns, or what ``json.load`` read.

    Returns
    -------
    bool
        False where the ``jsonschema`` package is missing, so that only the extra rules were applied.

    Raises
    ------
    InvalidReport
        Naming the place and what is wrong with it.
    """
    jsonschema = importlib.import_module("jsonschema") if importlib.util.find_spec("jsonschema") else None
    if jsonschema is not None:
        errors = jsonschema.Draft202012Validator(report_schema()).iter_errors(report)
        first = jsonschema.exceptions.best_match(errors)
        if first is not None:
            raise InvalidReport(first.json_path.removeprefix("$").lstrip("."), first.message)
    for where, why in _contradictions(report):
        raise InvalidReport(where, why)
    return jsonschema is not None


def _contradictions(report: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    verdict = worst([Status(check["status"]) for check in report["checks"]])
    if report["verdict"] != verdict:
        yield "verdict", f"it says '{report['verdict']}', but the worst check is '{verdict}'"
    for check in report["checks"]:
        for name, curve in check["curves"].items():
            if len(curve["x"]) != len(curve["y"]):
                yield f"{check['id']}.curves.{name}", f"{len(curve['x'])} x values for {len(curve['y'])} y values"
