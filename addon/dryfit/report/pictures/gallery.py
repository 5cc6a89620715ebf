"""Which pictures one report gets, taken one after the other."""

from collections import Counter, deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace

import numpy as np

from ...checks.check import Check, MouthPictures
from ...checks.registry import CHECKS
from ...model.arrays import FloatArray
from ...model.finding import Field, Finding, Severity, Status
from ...model.report import CheckResult, Report
from ...model.snapshot import TISSUE, Snapshot
from ...model.stamp import stamp_of
from ..closing_steps import closing_steps, meeting_names, step_names
from .close_up import Following
from .faults import WORN_APART_MM, fault_pictures, faults, numbered, stop_of, stop_t
from .limit_lines import limits_judged
from .stage import Posed
from .standpoints import LARGE_SIZE, SMALL_MM, close_portraits, close_view, closing_view, is_seen, mouth_views
from .studio import Developing, Labelled, Picture, Poser, Setting, Studio
from .viewpoint import Viewpoint

MARKS_A_CHECK = 6
"""The worst so many findings of a check are marked."""
DARKROOMS = 2
"""Pictures are lit and packed this many at a time while the next one is shot."""
PAIR = "pair"
"""The field that tells the two pieces apart that stop the jaw."""
PAIR_MM, NEAR_MM = 30.0, 3.0
QUIET_SHARE = 0.5
"""So much of the scale is used by what passes."""


def photograph(
    report: Report,
    snapshot: Snapshot,
    posed: Poser,
    labels: Mapping[str, Labelled],
    following: Following | None = None,
    checks: Sequence[Check] = CHECKS,
) -> Iterator[Picture]:
    """Take every picture of a report, the design as worn first.

    Parameters
    ----------
    report, snapshot
        What was measured, and on what.
    posed
        Where parts are in a pose.
    labels
        Check id -> its findings with the labels that mark them.
    following
        Where some vertices are in a pose; cut out of whole poses when None.
    checks
        The checks that there are, which say what else is to be seen of each.
    """
    facts = stamp_of(report.to_dict(), len(checks)).facts()
    studio = Studio(snapshot, posed, f"dryfit {report.dryfit}", facts, following)
    exposed = _exposures(report, studio, labels, {check.id: check.mouth_pictures for check in checks})
    waiting: deque[Future[Picture]] = deque()
    with ThreadPoolExecutor(DARKROOMS) as darkroom:
        for developing in exposed:
            waiting.append(darkroom.submit(developing))
            if len(waiting) > 2 * DARKROOMS:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()


def _exposures(
    report: Report, studio: Studio, labels: Mapping[str, Labelled], mouths: Mapping[str, MouthPictures]
) -> Iterator[Developing]:
    marked = {name: _worth_marking(found) for name, found in labels.items()}
    wrong = faults(report)
    yield from fault_pictures(studio, wrong, stop_of(report))
    worn = _worn_setting(studio, stop_of(report))
    yield from _as_worn(studio, worn, numbered(studio, wrong, worn, WORN_APART_MM))
    for result in report.checks:
        if result.status == Status.NOT_CHECKED:
            continue
        found = marked.get(result.id, [])
        yield from _fields(studio, result, found)
        yield from _mouth(studio, result, found, mouths.get(result.id, MouthPictures.NONE))
        yield from _closing(studio, result)
        yield from _meeting(studio, result)
        yield from _worst(studio, result, found)


def _worth_marking(findings: Labelled) -> list[tuple[str, Finding]]:
    return [entry for entry in findings if entry[1].severity != Severity.INFO][:MARKS_A_CHECK]


def _worn_setting(studio: Studio, stop: float | None) -> Setting:
    """Return how the design is worn: at rest, or as far shut as the jaw gets where something stops it."""
    return Setting() if stop is None or not studio.posed("jaw", stop) else Setting("jaw", stop)


def _as_worn(studio: Studio, worn: Setting, findings: Labelled) -> Iterator[Developing]:
    front, *others = studio.portraits
    large = replace(front, name="front-large", size=LARGE_SIZE, lettering=1.0)
    yield studio.plain("worn-front", "", worn, large, findings, hidden=True)
    for view in others:
        yield studio.plain(f"worn-{view.name}", "", worn, view, findings)
    if studio.posed("jaw", 1.0):
        yield studio.plain(f"worn-{front.name}-open", "", Setting("jaw", 1.0), front)


def _fields(studio: Studio, result: CheckResult, findings: Labelled) -> Iterator[Developing]:
    for fields in field_groups(field for field in result.fields if field.name != PAIR and field.decided):
        setting = _setting(fields)
        lines = limits_judged(fields, result.findings, studio.snapshot)
        stage = studio.stage(setting)
        held = np.concatenate([stage.vertices_of(field.part)[np.isfinite(field.values)] for field in fields])
        if not len(held):
            continue
        if float(np.linalg.norm(np.ptp(held, axis=0))) < SMALL_MM:
            views = close_portraits(held, studio.frame)
        else:
            views = _two_portraits(studio, findings)
        if result.status == Status.PASS:
            fields, views = quiet(fields), views[:1]
        for view in views[:2]:
            name = f"{result.id}-{fields[0].name}-{view.name}"
            yield studio.painted(name, result.id, setting, view, fields, findings, lines=lines)


def quiet(fields: Sequence[Field]) -> list[Field]:
    """Return fields on a longer scale, so that what passes is never painted as bright as what does not.

    One without a limit has no such brightness, and a share ends at the whole.
    """
    return [
        replace(field, high=field.low + (field.high - field.low) / QUIET_SHARE)
        if np.isfinite(field.limit) and not field.diverging else field
        for field in fields
    ]  # fmt: skip


def _setting(fields: list[Field]) -> Setting:
    """Return the pose the fields were measured in; rest where they do not agree."""
    poses = {(field.motion, field.t) for field in fields}
    motion, t = poses.pop() if len(poses) == 1 else ("", 0.0)
    return Setting(motion, t, tuple(field.part for field in fields))


def _two_portraits(studio: Studio, findings: Labelled) -> list[Viewpoint]:
    """Return the front and the three-quarter view of the side where most findings lie."""
    middle = studio.portraits[0].centre_mm
    sides = [np.sign((np.array(found.at_mm) - middle) @ studio.frame.left) for _, found in findings]
    return [studio.portraits[0], studio.portraits[2 if np.nansum(sides) < 0 else 1]]


def field_groups(fields: Iterable[Field]) -> list[list[Field]]:
    """Return fields of one name together, all on one scale; a part's second field of that name starts a group."""
    groups: dict[tuple[str, int], list[Field]] = {}
    seen: Counter[tuple[str, str]] = Counter()
    for field in fields:
        groups.setdefault((field.name, seen[field.name, field.part]), []).append(field)
        seen[field.name, field.part] += 1
    return [
        [replace(field, low=min(f.low for f in group), high=max(f.high for f in group)) for field in group]
        for group in groups.values()
    ]


def _mouth(studio: Studio, result: CheckResult, findings: Labelled, wanted: MouthPictures) -> Iterator[Developing]:
    for name, setting in _mouth_settings(result, wanted):
        if setting.motion and not studio.posed(setting.motion, setting.t):
            continue
        views = mouth_views(studio.snapshot.landmarks, studio.frame, studio.drop_mm(setting))
        for view in views[: 1 if result.fields else 2]:
            marked = findings if setting.t < 1 else ()
            yield studio.plain(f"{result.id}-{name}-{view.name}", result.id, setting, view, marked)


def _mouth_settings(result: CheckResult, wanted: MouthPictures) -> list[tuple[str, Setting]]:
    if wanted == MouthPictures.NONE:
        return []
    if wanted == MouthPictures.AT_REST:
        return [] if result.fields else [("rest", Setting())]
    stop = stop_t(result)
    shut = ("closed", Setting("jaw", 0.0)) if stop is None else ("stopped", Setting("jaw", stop))
    return [shut] if closing_steps(result) else [shut, ("open", Setting("jaw", 1.0))]


def _closing(studio: Studio, result: CheckResult) -> Iterator[Developing]:
    """Yield the steps of the closing, all from one side: that of what stops it, else the left."""
    steps = closing_steps(result)
    if not steps or not studio.posed("jaw", 1.0):
        return
    drop_mm = studio.drop_mm(Setting("jaw", 1.0))
    view = closing_view(studio.snapshot.landmarks, studio.frame, drop_mm, _side_mm(studio, result))
    if view is None:
        return
    close_up = studio.close_up("jaw", (1.0, steps[-1].t), view)
    for name, step in zip(step_names(steps), steps, strict=True):
        yield studio.step(name, result.id, close_up.stage(step.t), view, step.words)


def _side_mm(studio: Studio, result: CheckResult) -> float:
    """Return how far left of the middle what stops the jaw lies, mm; 0 where nothing does."""
    if meeting_names(result) is None or not result.findings:
        return 0.0
    middle = studio.portraits[0].centre_mm
    return float((np.array(result.findings[0].at_mm) - middle) @ studio.frame.left)


def _meeting(studio: Studio, result: CheckResult) -> Iterator[Developing]:
    """Yield the two pieces that stop the jaw, painted and named; the skin is taken away where it hides them."""
    fields = [field for field in result.fields if field.name == PAIR]
    names = meeting_names(result)
    if not fields or names is None:
        return
    posed = studio.posed(fields[0].motion, fields[0].t)
    where = [_at(studio, posed, field)[np.isfinite(field.values)] for field in fields]
    marked = [points for points in where if len(points)]  # of two that meet, one may have no vertex near enough
    if not marked:
        return
    place = _nearest(marked[0], marked[-1]) if len(marked) > 1 else marked[0].mean(axis=0)
    setting = replace(_setting(fields), shown_through=())
    if not is_seen(studio.stage(setting), place, studio.frame) and all(_is_rigid(studio, f.part) for f in fields):
        setting = replace(setting, skinless=True)
    view = close_view(studio.stage(setting), place, PAIR_MM, studio.frame)
    yield studio.named(f"{result.id}-pair", result.id, setting, view, fields, names)


def _at(studio: Studio, posed: Posed, field: Field) -> FloatArray:
    return np.asarray(posed.get(field.part, studio.snapshot.part(field.part).vertices_mm))


def _nearest(first_mm: FloatArray, second_mm: FloatArray) -> FloatArray:
    """Return the point of the first set that lies nearest to the second, ``(3,)``."""
    low, high = second_mm.min(axis=0) - NEAR_MM, second_mm.max(axis=0) + NEAR_MM
    among = first_mm[((first_mm > low) & (first_mm < high)).all(axis=1)]
    among = among if len(among) else first_mm
    far = [float(((second_mm - point) ** 2).sum(axis=1).min()) for point in among]
    return np.asarray(among[int(np.argmin(far))])


def _worst(studio: Studio, result: CheckResult, findings: Labelled) -> Iterator[Developing]:
    """Yield the close view of the worst finding, from outside the head."""
    if not findings or not np.isfinite(findings[0][1].at_mm).all():
        return
    worst = findings[0][1]
    painted = [field for field in result.fields if field.name != PAIR and field.decided]
    fields = next((group for group in field_groups(painted) if worst.object in [f.part for f in group]), [])
    stop = stop_t(result)
    setting = _setting(fields) if fields else Setting() if stop is None else Setting("jaw", stop)
    findings = studio.carried(findings, setting)
    place = np.array(findings[0][1].at_mm)
    view = close_view(studio.stage(setting), place, _extent_mm(studio, worst), studio.frame)
    if _is_rigid(studio, worst.object) and not is_seen(studio.stage(setting), place, studio.frame):
        return
    near = [entry for entry in findings if np.linalg.norm(entry[1].at_mm - place) < view.height_mm / 2]
    name = f"{result.id}-worst"
    if fields:
        lines = limits_judged(fields, result.findings, studio.snapshot)
        yield studio.painted(name, result.id, setting, view, fields, near, hidden=True, lines=lines)
    else:
        yield studio.plain(name, result.id, setting, view, near, hidden=True)


def _is_rigid(studio: Studio, part_name: str) -> bool:
    return any(part.name == part_name and part.role not in TISSUE for part in studio.snapshot.parts)


def _extent_mm(studio: Studio, finding: Finding) -> float:
    """Return the size of what a finding marks, mm; 0 where it marks a point."""
    part = next((part for part in studio.snapshot.parts if part.name == finding.object), None)
    if part is None or not len(finding.elements):
        return 0.0
    corners = finding.elements if finding.kind == "vertices" else part.faces[finding.elements].reshape(-1)
    return float(np.linalg.norm(np.ptp(part.vertices_mm[corners], axis=0)))
