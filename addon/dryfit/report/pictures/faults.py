"""The picture of a fault: each cause once, in the pose in which it is one, what is to change marked on it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ...checks.cause_words import saying_of
from ...checks.causes import MOUTH, WALL, Cause, causes
from ...geometry import distance_along
from ...model.arrays import BoolArray, FloatArray
from ...model.finding import Field, Finding
from ...model.report import CheckResult, Report
from ...model.snapshot import Part, Role
from .standpoints import close_view, mouth_views
from .studio import Developing, Setting, Studio
from .viewpoint import Viewpoint

MOST = 4
"""So many causes get a picture; each gets its number in the overview."""
NAME = "fault-"
APART_MM, WORN_APART_MM = 15.0, 45.0
"""Marks of one number that lie nearer together are one mark, close and in the overview."""
MARK_MM = 1.5
"""What lies this near to a marked vertex is marked with it, so that a rim is wide enough to be seen."""
MOUTH_SHARE = 0.75
"""A mouth is shown this much closer than in other pictures of it."""


@dataclass(frozen=True)
class Fault:
    """A cause with its findings themselves: number, from 1, words, and which checks it is told by."""

    number: int
    cause: Cause
    found: tuple[Finding, ...]
    words: str

    @property
    def name(self) -> str:
        """Name of its picture."""
        return f"{NAME}{self.number}"

    @property
    def leading(self) -> Finding:
        """The finding that tells it best: where a mouth is stopped, the one that says so."""
        at_stop = [f for told, f in zip(self.cause.findings, self.found, strict=True) if told.check == "closure"]
        return next(iter(at_stop), self.found[self.cause.findings.index(self.cause.leading)])


def faults(report: Report) -> list[Fault]:
    """Return what counts against a design, numbered as the page's steps are."""
    layout = report.to_dict()
    known = {name: finding for check in report.checks for name, finding in check.numbered()}
    return [
        Fault(number, cause, tuple(known[told.id] for told in cause.findings), saying_of(cause, layout).wrong)
        for number, cause in enumerate(causes(layout), start=1)
    ]


def numbered(studio: Studio, found: Sequence[Fault], setting: Setting, apart_mm: float) -> list[tuple[str, Finding]]:
    """Return the findings to mark in a pose, each with the number of its cause; those at one place once."""
    marked: list[tuple[str, Finding]] = []
    for fault in found:
        places: list[FloatArray] = []
        for finding in (fault.leading, *fault.found):
            at = np.array(studio.carried_one(finding, setting).at_mm)
            if np.isfinite(at).all() and all(np.linalg.norm(at - other) > apart_mm for other in places):
                places.append(at)
                marked.append((str(fault.number), finding))
    return marked


def fault_pictures(studio: Studio, found: Sequence[Fault], stop_t: float | None) -> Iterator[Developing]:
    """Shoot each of the foremost causes.

    Parameters
    ----------
    studio
        The design under lights.
    found
        What counts against it.
    stop_t
        Where the jaw stops short of closing, or None.
    """
    for fault in found[:MOST]:
        finding = fault.leading
        part = next((part for part in studio.snapshot.parts if part.name == finding.object), None)
        if part is None or not np.isfinite(finding.at_mm).all():
            continue
        setting = _setting(fault, part, stop_t, studio)
        marks = numbered(studio, [fault], setting, APART_MM)
        view = _view(fault, studio, setting, part)
        raking = any(told.check == "edge" for told in fault.cause.findings)
        yield studio.fault(fault.name, setting, view, _tinted(fault, studio), marks, fault.words, raking=raking)


def stop_of(report: Report) -> float | None:
    """Return where the jaw stops short of closing, or None where it closes or nobody knows."""
    closure = next((result for result in report.checks if result.id == "closure"), None)
    return None if closure is None else stop_t(closure)


def stop_t(result: CheckResult) -> float | None:
    """Return where the jaw stops short of closing, or None where it closes or nobody knows."""
    stop = result.measures.get("stop_t", result.measures.get("contact_t"))
    if result.measures.get("closes") != 0 or not isinstance(stop, int | float) or not np.isfinite(stop):
        return None
    return round(float(stop), 4)


def fault_scene(before: Studio, fault: Fault, stop: float | None, after: Studio) -> tuple[Setting, Viewpoint]:
    """Return pose and view that show a fault once it is mended: as before, a mouth where its jaw stops now.

    Parameters
    ----------
    before, after
        The design as it is, and mended.
    fault
        What was wrong.
    stop
        Where the jaw stops short of closing after the mend, or None.
    """
    part = before.snapshot.part(fault.leading.object)
    if _in_mouth(fault, part):
        setting = Setting("jaw", 0.0 if stop is None else stop)
        return setting, _view(fault, after, setting, part)
    setting = _setting(fault, part, None, before)
    return setting, _view(fault, before, setting, part)


def _in_mouth(fault: Fault, part: Part) -> bool:
    teeth = part.role in (Role.UPPER_TEETH, Role.LOWER_TEETH)
    return teeth and any(told.check in MOUTH for told in fault.cause.findings)


def _setting(fault: Fault, part: Part, stop_t: float | None, studio: Studio) -> Setting:
    """Return the pose in which the fault is to be seen: where the mouth stops, else that of the leading finding."""
    finding = fault.leading
    if _in_mouth(fault, part) and stop_t is not None and studio.posed("jaw", stop_t):
        return Setting("jaw", stop_t)
    through = (part.name,) if any(told.check in WALL for told in fault.cause.findings) else ()
    moved = bool(finding.motion) and bool(studio.posed(finding.motion, finding.t))
    return Setting(finding.motion if moved else "", finding.t if moved else 0.0, through)


def _view(fault: Fault, studio: Studio, setting: Setting, part: Part) -> Viewpoint:
    if _in_mouth(fault, part):
        drop_mm = studio.drop_mm(setting)
        for view in mouth_views(studio.snapshot.landmarks, studio.frame, drop_mm)[:1]:
            return replace(view, name=f"fault-{fault.number}", height_mm=view.height_mm * MOUTH_SHARE)
    carried = studio.carried([("", finding) for finding in fault.found if finding.object == part.name], setting)
    places = np.array([finding.at_mm for _, finding in carried])
    corners = [places, *(_marked_mm(finding, part) for finding in fault.found if finding.object == part.name)]
    low, high = np.concatenate(corners).min(axis=0), np.concatenate(corners).max(axis=0)
    view = close_view(studio.stage(setting), (low + high) / 2.0, float(np.linalg.norm(high - low)), studio.frame)
    return replace(view, name=f"fault-{fault.number}")


def _marked_mm(finding: Finding, part: Part) -> FloatArray:
    if not len(finding.elements):
        return part.vertices_mm[:: max(1, len(part.vertices_mm) // 64)] if finding.unit == "g" else np.zeros((0, 3))
    corners = finding.elements if finding.kind == "vertices" else part.faces[finding.elements].reshape(-1)
    return part.vertices_mm[corners]


def _tinted(fault: Fault, studio: Studio) -> list[Field]:
    """Return what is to change as fields of 1 where it is and 0 where not, one for each part that has any."""
    marked: dict[str, BoolArray] = {}
    parts: Mapping[str, Part] = {part.name: part for part in studio.snapshot.parts}
    for finding in fault.found:
        part = parts.get(finding.object)
        if part is None or part.role == Role.BASE:
            continue
        inside = marked.setdefault(part.name, np.zeros(len(part.vertices_mm), bool))
        if len(finding.elements):
            inside |= _near(part, finding)
        elif finding.unit == "g":
            inside[:] = True
    return [
        Field("marked", name, inside.astype(float), "", "to change", 0.0, 1.0, 0.5)
        for name, inside in marked.items()
        if inside.any()
    ]


def _near(part: Part, finding: Finding) -> BoolArray:
    """Return a finding's vertices with those right beside them, ``(n,)``."""
    corners = finding.elements if finding.kind == "vertices" else np.unique(part.faces[finding.elements])
    away_mm, _ = distance_along(part.vertices_mm, part.faces, corners, MARK_MM)
    return np.asarray(away_mm <= MARK_MM)
