"""Which pictures one report gets, taken one after the other."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..checks.head_frame import HeadFrame
from ..model.arrays import FloatArray
from ..model.finding import Field, Finding, Severity
from ..model.report import CheckResult, Report
from ..model.snapshot import Snapshot
from .coat import field_coat, plain_coat
from .marks import Mark, mark, with_legend
from .picture import develop, png_bytes
from .shot import Shot, take
from .stage import Posed, Stage
from .viewpoint import Viewpoint
from .views import SMALL_MM, close_portraits, close_view, mouth_views, portraits

Poser = Callable[[str, float], Posed]
"""(motion, t) -> vertices of the parts that move; ``("", 0)`` is rest."""
SMALL_SCALE = 0.4
"""Pictures are this much smaller where no compiled kernel casts the rays."""
MARKS_AT_MOST = 14


@dataclass(frozen=True)
class Picture:
    """One finished picture.

    Attributes
    ----------
    name
        File name without ending.
    check
        Id of the check it belongs to; ``""`` for the design as worn.
    words
        What it shows, for a caption and for those who cannot see it.
    png
        The file.
    size
        Width and height in pixels.
    """

    name: str
    check: str
    words: str
    png: bytes
    size: tuple[int, int]


@dataclass(frozen=True)
class Pose:
    """A motion's name and parameter; ``""`` is rest."""

    motion: str = ""
    t: float = 0.0

    @property
    def words(self) -> str:
        """The pose in words."""
        if not self.motion:
            return "at rest"
        if self.motion == "jaw":
            return "mouth closed" if self.t == 0 else "mouth open" if self.t == 1 else f"jaw open {self.t:.0%}"
        return f"{self.motion} at {self.t:.0%}"


def key_framed(snapshot: Snapshot) -> Poser:
    """Return a poser that knows the parts with key frames only; the others stay at rest."""

    def posed(motion: str, t: float) -> Posed:
        moving = snapshot.motions.get(motion)
        return {} if moving is None else {name: moving.vertices_at(name, t) for name in moving.frames_mm}

    return posed


class Studio:
    """Stages and shots of one snapshot, each made once."""

    def __init__(self, snapshot: Snapshot, posed: Poser, software: str) -> None:
        self.snapshot = snapshot
        self.posed = posed
        self.software = software
        self.frame = HeadFrame.from_landmarks(snapshot.landmarks)
        self._stages: dict[tuple[Pose, tuple[str, ...]], Stage] = {}
        self._shots: dict[tuple[Pose, tuple[str, ...], str], Shot] = {}
        worn = [part.vertices_mm for part in snapshot.parts if part is not snapshot.base]
        self.portraits = portraits(snapshot.base, worn, snapshot.landmarks, self.frame)

    def stage(self, pose: Pose, shown_through: Sequence[str] = ()) -> Stage:
        """Return the parts in a pose."""
        key = pose, tuple(shown_through)
        if key not in self._stages:
            if shown_through:
                self._stages[key] = self.stage(pose).showing_through(shown_through)
            else:
                posed = self.posed(pose.motion, pose.t) if pose.motion else {}
                self._stages[key] = Stage(self.snapshot.parts, posed)
        return self._stages[key]

    def shot(self, pose: Pose, view: Viewpoint, shown_through: Sequence[str] = ()) -> tuple[Stage, Shot]:
        """Return a stage and what is seen of it, cast once for each view."""
        stage = self.stage(pose, shown_through)
        if stage.surface.engine.name.startswith("numpy"):
            view = view.resized(SMALL_SCALE)
        key = pose, tuple(shown_through), view.name + str(np.round(view.centre_mm, 3))
        if key not in self._shots:
            self._shots[key] = take(stage, view)
        return stage, self._shots[key]

    def plain(self, name: str, check: str, pose: Pose, view: Viewpoint, findings: "Labelled" = ()) -> Picture:
        """Return the parts in their own colours, findings marked."""
        stage, shot = self.shot(pose, view)
        pixels = develop(stage, shot, plain_coat(stage, shot, self.frame.front))
        pixels = mark(pixels, _marks(stage, shot.viewpoint, findings))
        return self._picture(name, check, f"{view.words}, {pose.words}", pixels)

    def painted(
        self, name: str, check: str, pose: Pose, view: Viewpoint, fields: Sequence[Field], findings: "Labelled"
    ) -> Picture:
        """Return clay with fields painted, findings marked, and the scale beneath."""
        through = [field.part for field in fields]
        stage, shot = self.shot(pose, view, through)
        pixels = develop(stage, shot, field_coat(stage, shot, fields), fields)
        pixels = mark(pixels, _marks(stage, shot.viewpoint, findings))
        words = f"{fields[0].label}: {view.words}, {pose.words}"
        return self._picture(name, check, words, with_legend(pixels, fields[0]))

    def _picture(self, name: str, check: str, words: str, pixels: np.ndarray[tuple[int, ...], np.dtype[np.uint8]]) -> Picture:
        words = words[:1].upper() + words[1:]
        height, width = pixels.shape[:2]
        return Picture(name, check, words, png_bytes(pixels, words, self.software), (width, height))


Labelled = Sequence[tuple[str, Finding]]
"""Findings with the labels that mark them."""


def photograph(report: Report, snapshot: Snapshot, posed: Poser, labels: dict[str, Labelled]) -> Iterator[Picture]:
    """Take every picture of a report, the design as worn first.

    Parameters
    ----------
    report, snapshot
        What was measured, and on what.
    posed
        Where parts are in a pose.
    labels
        Check id -> its findings with the labels that mark them.
    """
    studio = Studio(snapshot, posed, f"dryfit {report.dryfit}")
    everything = [entry for found in labels.values() for entry in found if _worth_marking(entry[1])]
    yield from _as_worn(studio, everything[:MARKS_AT_MOST])
    for result in report.checks:
        found = labels.get(result.id, ())[:MARKS_AT_MOST]
        yield from _fields(studio, result, found)
        yield from _mouth(studio, result, found)
        yield from _worst(studio, result, found)


def _as_worn(studio: Studio, findings: Labelled) -> Iterator[Picture]:
    rest = Pose()
    for view in studio.portraits:
        yield studio.plain(f"worn-{view.name}", "", rest, view, findings)
    if "jaw" in studio.snapshot.motions or studio.posed("jaw", 1.0):
        for view in studio.portraits[:2]:
            yield studio.plain(f"worn-{view.name}-open", "", Pose("jaw", 1.0), view)


def _fields(studio: Studio, result: CheckResult, findings: Labelled) -> Iterator[Picture]:
    for fields in field_groups(result.fields):
        pose = Pose(fields[0].motion, fields[0].t)
        stage = studio.stage(pose, [field.part for field in fields])
        held = np.concatenate([stage.vertices_of(field.part) for field in fields])
        size_mm = float(np.linalg.norm(np.ptp(held, axis=0)))
        views = close_portraits(held, studio.frame) if size_mm < SMALL_MM else studio.portraits[:3]
        for view in views:
            yield studio.painted(f"{result.id}-{fields[0].name}-{view.name}", result.id, pose, view, fields, findings)


def field_groups(fields: Iterable[Field]) -> list[list[Field]]:
    """Return fields of one name and pose together, all on one scale."""
    groups: dict[tuple[str, str, float], list[Field]] = {}
    for field in fields:
        groups.setdefault((field.name, field.motion, field.t), []).append(field)
    return [
        [replace(field, low=min(f.low for f in group), high=max(f.high for f in group)) for field in group]
        for group in groups.values()
    ]


def _mouth(studio: Studio, result: CheckResult, findings: Labelled) -> Iterator[Picture]:
    if result.id not in ("closure", "coverage"):
        return
    for name, pose in _mouth_poses(result):
        drop_mm = 0.0 if pose.t == 0 else _drop_mm(studio, pose)
        for view in mouth_views(studio.snapshot.landmarks, studio.frame, drop_mm):
            marked = findings if pose.t < 1 else ()
            yield studio.plain(f"{result.id}-{name}-{view.name}", result.id, pose, view, marked)


def _mouth_poses(result: CheckResult) -> list[tuple[str, Pose]]:
    if result.id == "coverage":
        return [("rest", Pose())]
    stop = result.measures.get("contact_t")
    stopped = isinstance(stop, int | float) and np.isfinite(stop) and result.measures.get("closes") == 0
    shut = ("stopped", Pose("jaw", round(float(stop), 4))) if stopped and stop is not None else ("closed", Pose("jaw", 0.0))
    return [shut, ("open", Pose("jaw", 1.0))]


def _drop_mm(studio: Studio, pose: Pose) -> float:
    """Return how far the base's lowest moving place has dropped: how much taller the mouth is."""
    base = studio.snapshot.base
    moved = studio.posed(pose.motion, pose.t).get(base.name)
    if moved is None:
        return 0.0
    return float(np.clip(((base.vertices_mm - moved) @ studio.frame.up).max(), 0.0, 60.0))


def _worst(studio: Studio, result: CheckResult, findings: Labelled) -> Iterator[Picture]:
    if not findings or not np.isfinite(findings[0][1].at_mm).all():
        return
    worst = findings[0][1]
    fields = next((group for group in field_groups(result.fields) if worst.object in [f.part for f in group]), [])
    pose = Pose(fields[0].motion, fields[0].t) if fields else Pose()
    through = [field.part for field in fields]
    stage = studio.stage(pose, through)
    view = close_view(stage, np.array(worst.at_mm), _extent_mm(studio, worst), studio.frame)
    near = [entry for entry in findings if np.linalg.norm(np.subtract(entry[1].at_mm, worst.at_mm)) < view.height_mm / 2]
    if fields:
        yield studio.painted(f"{result.id}-worst", result.id, pose, view, fields, near)
    else:
        yield studio.plain(f"{result.id}-worst", result.id, pose, view, near)


def _extent_mm(studio: Studio, finding: Finding) -> float:
    """Return the size of what a finding marks, mm; 0 where it marks a point."""
    if not len(finding.elements):
        return 0.0
    try:
        part = studio.snapshot.part(finding.object)
    except KeyError:
        return 0.0
    corners = finding.elements if finding.kind == "vertices" else part.faces[finding.elements].reshape(-1)
    return float(np.linalg.norm(np.ptp(part.vertices_mm[corners], axis=0)))


def _marks(stage: Stage, view: Viewpoint, findings: Labelled) -> list[Mark]:
    marks = []
    width, height = view.size
    for label, finding in findings:
        place = np.array(finding.at_mm)
        if not np.isfinite(place).all():
            continue
        at = view.project(place)[0]
        if 0 <= at[0] < width and 0 <= at[1] < height:
            marks.append(Mark(label, at, hidden=not _shows(stage, view, place, finding)))
    return marks


def _shows(stage: Stage, view: Viewpoint, place: FloatArray, finding: Finding) -> bool:
    lift_mm = 9.0 if finding.object in stage.shown_through else 1.5
    return bool(stage.sees(place, view.toward, lift_mm)[0])


def _worth_marking(finding: Finding) -> bool:
    return finding.severity != Severity.INFO
