"""Keep a report in the file, so that no result is lost by saving and opening again.

``scene["dryfit_report"]`` is the report as JSON, readable without Dryfit. ``scene["dryfit_fields"]`` describes the
painted values as JSON; ``scene["dryfit_arrays"]`` holds them (zlib-compressed float32) and the elements of each
finding (zlib-compressed int32) under their names.
"""

import json
import math
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

import numpy as np

from ..checks.headline import headline
from ..model.arrays import FloatArray, IntArray
from ..model.errors import InputError
from ..model.finding import Field, Severity
from ..model.report import BESIDE_JSON, CheckResult, Report
from ..scene.roles import played_roles
from .brief_beside import brief_beside
from .finding_columns import fill_row
from .quiet_pick import pick_quietly
from .still_true.check_rows import show_rows
from .still_true.design_prints import MEASURED_FROM, design_prints, measured_from, note_measured
from .still_true.outdated import cause_words, counted_verdict, in_order, outdated_checks

REPORT = "dryfit_report"
FIELDS = "dryfit_fields"
ARRAYS = "dryfit_arrays"
QUICK = 1


@dataclass(frozen=True)
class StoredField:
    """What is known of a painted field without its values; see ``model.finding.Field``.

    ``key`` names its values in the scene, ``count`` is their number.
    """

    key: str
    check: str
    name: str
    part: str
    unit: str
    label: str
    low: float
    high: float
    limit: float | None
    diverging: bool
    motion: str
    t: float
    count: int


def store_report(scene: Any, report: Report, prints: Mapping[str, str] | None = None) -> None:
    """Keep the report in the scene, in place of an earlier one; checks that were not run again keep their result.

    Those count as ``not_checked`` where the scene is another one since; so do checks that were never run.

    Parameters
    ----------
    prints
        What the report was measured from, taken when the scene was read; None takes the scene as it is now.

    Raises
    ------
    InputError, OSError
        When ``prints`` is None and the scene cannot be read.
    """
    earlier = stored_report(scene)
    kept = {check["id"]: check for check in earlier.get("checks", [])}
    run = {check.id for check in report.checks}
    values = report.to_dict()
    values["checks"] = [*in_order({**kept, **{check["id"]: check for check in values["checks"]}}).values()]
    now = design_prints(scene) if prints is None else prints
    store_values(scene, values)
    _store_arrays(scene, report, run)
    note_measured(scene, run, now)
    list_parts(scene)
    outdated = outdated_checks(scene, [check["id"] for check in values["checks"]], now)
    show_rows(scene, values, {check: cause_words(changed) for check, changed in outdated.items()})
    scene.dryfit.measured_on = datetime.now().strftime("%Y-%m-%d %H:%M")
    list_findings(scene, values, _beside_json(report))


def store_values(scene: Any, values: dict[str, Any]) -> None:
    """Keep a report in the layout of the JSON Schema; its verdict counts every check that there is."""
    values["verdict"] = str(counted_verdict({check["id"]: check["status"] for check in values["checks"]}))
    values["headline"] = headline(values)
    scene[REPORT] = json.dumps(values, ensure_ascii=False, allow_nan=False)


def _beside_json(report: Report) -> dict[str, dict[str, Any]]:
    """Return what the report's JSON does not hold of its findings, by their ids."""
    return {name: _of_beside(finding) for check in report.checks for name, finding in check.numbered()}


def _of_beside(finding: Any) -> dict[str, Any]:
    return {name: getattr(finding, name) for name in BESIDE_JSON}


def stored_report(scene: Any) -> dict[str, Any]:
    """Return the report kept in the scene in the layout of the JSON Schema, or an empty dict."""
    try:
        values = json.loads(scene.get(REPORT) or "{}")
    except (TypeError, ValueError):
        return {}
    return values if isinstance(values, dict) else {}


def forget_report(scene: Any) -> None:
    """Remove the report, its fields and its list from the scene."""
    for name in (REPORT, FIELDS, ARRAYS, MEASURED_FROM):
        if name in scene:
            del scene[name]
    bench = scene.dryfit
    bench.findings.clear()
    bench.checks.clear()
    bench.parts.clear()
    bench.picked, bench.verdict, bench.headline, bench.measured_on, bench.stale = -1, "", "", "", False


def _store_arrays(scene: Any, report: Report, run: set[str]) -> None:
    fields = [entry for entry in stored_fields(scene) if entry.check not in run]
    packed = dict(scene[ARRAYS]) if ARRAYS in scene else {}
    packed = {name: value for name, value in packed.items() if not _belongs(name, run)}
    for check in report.checks:
        packed.update(_packed_elements(check))
        for place, each in enumerate(check.fields):
            key = f"{check.id}/{place}"
            fields.append(_described(key, check.id, each))
            packed[key] = _packed(each.values)
    scene[ARRAYS] = packed
    scene[FIELDS] = json.dumps([asdict(entry) for entry in fields], allow_nan=False)


def store_fields(
    scene: Any,
    owner: str,
    fields: Iterable[tuple[StoredField, FloatArray]],
    beside: Mapping[str, FloatArray | IntArray],
) -> None:
    """Keep fields that no check yields, in place of earlier ones of the same owner, which names them as a check would.

    Parameters
    ----------
    fields
        Each with its values ``(n,)``.
    beside
        Other arrays, flat, by their keys.
    """
    packed = dict(scene[ARRAYS]) if ARRAYS in scene else {}
    packed = {key: value for key, value in packed.items() if not _belongs(key, {owner})}
    entries = [entry for entry in stored_fields(scene) if entry.check != owner]
    for entry, values in fields:
        entries.append(entry)
        packed[entry.key] = _packed(values)
    scene[ARRAYS] = packed | {key: _packed(values) for key, values in beside.items()}
    scene[FIELDS] = json.dumps([asdict(entry) for entry in entries], allow_nan=False)


def stored_array(scene: Any, key: str) -> FloatArray:
    """Return one of the arrays that the scene keeps, flat; empty where it does not."""
    packed = scene[ARRAYS].get(key) if ARRAYS in scene else None
    return np.zeros(0) if packed is None else np.frombuffer(zlib.decompress(bytes(packed)), "<f4").astype(np.float64)


def _packed(values: FloatArray | IntArray) -> bytes:
    return zlib.compress(np.asarray(values, "<f4").tobytes(), QUICK)


def _belongs(key: str, checks: set[str]) -> bool:
    return key.partition("/")[0] in checks


def _packed_elements(check: CheckResult) -> dict[str, bytes]:
    return {
        f"{check.id}/{name}": zlib.compress(np.asarray(finding.elements, "<i4").tobytes(), QUICK)
        for name, finding in check.numbered()
        if len(finding.elements)
    }


def _described(key: str, check: str, each: Field) -> StoredField:
    limit = each.limit if math.isfinite(each.limit) else None
    return StoredField(
        key, check, each.name, each.part, each.unit, each.label, each.low, each.high, limit,
        each.diverging, each.motion, each.t, len(each.values),
    )  # fmt: skip


def stored_fields(scene: Any) -> tuple[StoredField, ...]:
    """Return the painted fields kept in the scene."""
    try:
        return tuple(StoredField(**entry) for entry in json.loads(scene.get(FIELDS) or "[]"))
    except (TypeError, ValueError):
        return ()


def field_values(scene: Any, entry: StoredField) -> FloatArray:
    """Return a field's values ``(n,)``; nan where not measured.

    Raises
    ------
    KeyError
        When the scene does not hold them.
    """
    return np.frombuffer(zlib.decompress(bytes(scene[ARRAYS][entry.key])), "<f4").astype(np.float64)


def finding_elements(scene: Any, check: str, name: str) -> IntArray:
    """Return the element indices of one finding; empty where it has none."""
    packed = scene[ARRAYS].get(f"{check}/{name}") if ARRAYS in scene else None
    if packed is None:
        return np.zeros(0, np.int64)
    return np.frombuffer(zlib.decompress(bytes(packed)), "<i4").astype(np.int64)


def list_findings(scene: Any, values: Mapping[str, Any], beside: Mapping[str, Mapping[str, Any]]) -> None:
    """Fill the scene's list of findings, worst first, accepted ones last; the pick stays on the same finding."""
    bench = scene.dryfit
    before = bench.findings[bench.picked].name if 0 <= bench.picked < len(bench.findings) else ""
    known = {item.name: _of_beside(item) for item in bench.findings} | dict(beside)
    objects = {each.name: each.subject for each in bench.parts}
    bench.findings.clear()
    for check, entry in sorted(_entries(values), key=_list_order):
        fill_row(bench.findings.add(), check, entry, known.get(entry["id"], {}), objects.get(entry["object"]))
    with pick_quietly():
        bench.picked = next((place for place, item in enumerate(bench.findings) if item.name == before), -1)


def list_parts(scene: Any) -> None:
    """Note which object each part is, so that it is found again under another name.

    A name under which a check that was not run again measured a part is kept beside the one it has now.
    """
    parts = scene.dryfit.parts
    try:
        found = {each.name: each.object for each in played_roles(scene.objects, brief_beside())}
    except (InputError, OSError):
        found = {}
    mentioned = {name for prints in measured_from(scene).values() for name in prints}
    earlier = {each.name: each.subject for each in parts if each.subject is not None and each.name in mentioned}
    parts.clear()
    for name, subject in {**earlier, **found}.items():
        item = parts.add()
        item.name, item.subject = name, subject


def _entries(values: Mapping[str, Any]) -> Iterable[tuple[str, dict[str, Any]]]:
    return [(check["id"], entry) for check in values["checks"] for entry in check["findings"]]


def _list_order(pair: tuple[str, dict[str, Any]]) -> tuple[bool, int]:
    return pair[1]["exception"] is not None, Severity(pair[1]["severity"]).rank
