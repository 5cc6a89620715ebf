"""Stages and shots of one design, each made once, and finished pictures of them."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from ...geometry import Surface
from ...model.arrays import FloatArray, IntArray
from ...model.finding import Field, Finding
from ...model.sentences import capital
from ...model.snapshot import TISSUE, Role, Snapshot
from ...performer.head_frame import HeadFrame
from .close_up import CloseUp, Following
from .coat import field_at, field_coat, plain_coat, tinted_coat
from .colour_map import field_colours
from .marks import Mark, mark, with_legend
from .name_tags import NamedPiece, name_pieces
from .normals import outward_faces
from .picture import Pixels, develop, png_bytes
from .shot import Shot, take
from .stage import Posed, Stage
from .standpoints import portraits
from .viewpoint import Viewpoint

Developing = Callable[[], "Picture"]
"""A picture that was shot and waits to be developed; safe to call in another thread."""
Poser = Callable[[str, float], Posed]
"""(motion, t) -> vertices of the parts that move."""
Labelled = Sequence[tuple[str, Finding]]
"""Findings with the labels that mark them."""
SMALL_SCALE = 0.4
"""Pictures are this much smaller where no compiled kernel casts the rays."""
SHOTS_KEPT = 6
"""A shot takes about 25 MB; checks that follow each other may share one."""
MOVED_MM = 0.001
ON_SKIN_MM = 0.03
"""What stands off the bare skin by less is the skin itself: half of the thinnest edge that can be cast."""
NEAREST = 6
"""Vertices that carry a mark from the pose of its finding to the pose of a picture."""
LIFT_MM = 1.5
"""A finding is seen when a place this far off it toward the viewer is."""


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
        What it shows, for those who cannot see it.
    caption
        The same, shorter, to stand beneath it.
    png
        The file.
    size
        Width and height in pixels.
    small
        Whether it was kept small for want of the compiled kernel.
    """

    name: str
    check: str
    words: str
    caption: str
    png: bytes
    size: tuple[int, int]
    small: bool = False

    @property
    def large(self) -> bool:
        """Whether the page shows it large."""
        return self.name.endswith(("-worst", "-pair"))


@dataclass(frozen=True)
class Setting:
    """What stands on stage: a pose, appliances shown through the base, and whether skin is taken away."""

    motion: str = ""
    t: float = 0.0
    shown_through: tuple[str, ...] = ()
    skinless: bool = False

    @property
    def words(self) -> str:
        """The setting in words."""
        pose = "at rest"
        if self.motion == "jaw":
            pose = "mouth closed" if self.t == 0 else "mouth open" if self.t == 1 else _part_open(self.t)
        elif self.motion:
            pose = f"{self.motion.replace('_', ' ')} at {100 * self.t:.0f} %"
        return f"{pose}, skin taken away" if self.skinless else pose


def _part_open(t: float) -> str:
    return f"jaw {100 * t:.0f} % open" if t > 0 else "jaw pressed past closed"


class Studio:
    """One snapshot under lights.

    Parameters
    ----------
    snapshot
        The design.
    posed
        Where its parts are in a pose.
    software
        The name written into each picture.
    facts
        What each picture says of the design: see ``model.stamp``.
    following
        Where some vertices are at any t, where that costs less than whole poses.
    """

    def __init__(
        self,
        snapshot: Snapshot,
        posed: Poser,
        software: str,
        facts: Mapping[str, str] = MappingProxyType({}),
        following: Following | None = None,
    ) -> None:
        self.snapshot = snapshot
        self._poser = posed
        self._following = following or self._taken_from_whole
        self._posed: dict[tuple[str, float], Posed] = {}
        self.software = software
        self.facts = facts
        self._outward = worn_faces(snapshot)
        self.frame = HeadFrame.from_landmarks(snapshot.landmarks)
        self._stages: dict[Setting, Stage] = {}
        self._shots: dict[tuple[Setting, str, bytes], Shot] = {}
        worn = [part.vertices_mm for part in snapshot.parts if part is not snapshot.base]
        self.portraits = portraits(snapshot.base, worn, snapshot.landmarks, self.frame)

    def posed(self, motion: str, t: float) -> Posed:
        """Return the vertices of the parts that move, worked out once."""
        if (motion, t) not in self._posed:
            self._posed[motion, t] = self._poser(motion, t)
        return self._posed[motion, t]

    def stage(self, setting: Setting) -> Stage:
        """Return the parts as the setting says, set up once."""
        if setting not in self._stages:
            self._stages[setting] = self._set_up(setting)
        return self._stages[setting]

    def _set_up(self, setting: Setting) -> Stage:
        if setting.shown_through:
            plain = Setting(setting.motion, setting.t, (), setting.skinless)
            return self.stage(plain).showing_through(setting.shown_through)
        parts = self.snapshot.parts
        if setting.skinless:
            parts = tuple(part for part in parts if part.role not in TISSUE)
        posed = self.posed(setting.motion, setting.t) if setting.motion else {}
        if setting.motion and not any(map(self._has_moved, posed, posed.values())):
            return self.stage(replace(setting, motion="", t=0.0))
        return Stage(parts, posed, self._outward)

    def _has_moved(self, part_name: str, vertices_mm: FloatArray) -> bool:
        return not np.allclose(vertices_mm, self.snapshot.part(part_name).vertices_mm, rtol=0.0, atol=MOVED_MM)

    def close_up(self, motion: str, ends: Sequence[float], view: Viewpoint) -> CloseUp:
        """Return what a view shows of a motion between some poses, ready to be posed."""
        parts = [replace(part, faces=self._outward[part.name]) for part in self.snapshot.parts]
        return CloseUp(parts, [{}, *(self.posed(motion, t) for t in ends)], motion, self._following, view)

    def _taken_from_whole(self, motion: str, ids: Mapping[str, IntArray]) -> Callable[[float], Posed]:
        return lambda t: {name: at[ids[name]] for name, at in self.posed(motion, t).items() if name in ids}

    def shot(self, setting: Setting, view: Viewpoint) -> tuple[Stage, Shot]:
        """Return a stage and what is seen of it, cast once for each view."""
        stage = self.stage(setting)
        if self.small(stage):
            view = view.resized(SMALL_SCALE)
        key = setting, view.name, view.centre_mm.tobytes()
        if key not in self._shots:
            _ = stage.openness
            while len(self._shots) >= SHOTS_KEPT:
                self._shots.pop(next(iter(self._shots)))
            self._shots[key] = take(stage, view)
        return stage, self._shots[key]

    @staticmethod
    def small(stage: Stage) -> bool:
        """Tell whether pictures are kept small because no compiled kernel runs here."""
        return stage.surface.engine.name.startswith("numpy")

    def plain(
        self, name: str, check: str, setting: Setting, view: Viewpoint, findings: Labelled = (), hidden: bool = False
    ) -> Developing:
        """Shoot the parts in their own colours, findings marked; hidden ones too where asked for."""
        stage, shot = self.shot(setting, view)
        marks = marks_on(stage, shot.viewpoint, self.carried(findings, setting), hidden)
        caption = capital(f"{view.words}, {setting.words}")

        def picture() -> Picture:
            pixels = mark(develop(stage, shot, plain_coat(stage, shot, self.frame.front)), marks, view.lettering)
            words = f"{capital(self.snapshot.name)}: {caption}"
            return self._picture(Picture(name, check, words, caption, b"", (0, 0), self.small(stage)), pixels)

        return picture

    def fault(
        self, name: str, setting: Setting, view: Viewpoint, tinted: Sequence[Field], findings: Labelled, words: str,
        raking: bool = False,
    ) -> Developing:  # fmt: skip
        """Shoot what is wrong: the parts in their own colours, what is to change in one strong colour, outlined."""
        stage, shot = self.shot(setting, view)
        tinted = [field for field in tinted if field.part in {part.name for part in stage.parts}]
        marks = marks_on(stage, shot.viewpoint, self.carried(findings, setting), True)
        caption = f"{capital(words)}. {capital(setting.words)}; what is to change is marked."

        def picture() -> Picture:
            coat = tinted_coat(stage, shot, self.frame.front, tinted)
            pixels = mark(develop(stage, shot, coat, tinted, raking), marks, view.lettering)
            return self._picture(Picture(name, "", caption, caption, b"", (0, 0), self.small(stage)), pixels)

        return picture

    def drop_mm(self, setting: Setting) -> float:
        """Return how far the base's fastest place has dropped, mm: how much taller the mouth is than at rest."""
        base = self.snapshot.base
        moved = self.posed(setting.motion, setting.t).get(base.name) if setting.motion else None
        if moved is None:
            return 0.0
        return float(np.clip(((base.vertices_mm - moved) @ self.frame.up).max(), 0.0, 60.0))

    def step(self, name: str, check: str, stage: Stage, view: Viewpoint, caption: str) -> Developing:
        """Shoot one pose of a close-up in its own colours."""
        small = self.small(stage)
        shot = take(stage, view.resized(SMALL_SCALE) if small else view)

        def picture() -> Picture:
            pixels = develop(stage, shot, plain_coat(stage, shot, self.frame.front))
            words = f"{capital(self.snapshot.name)}, {view.words}, {caption}"
            return self._picture(Picture(name, check, words, caption, b"", (0, 0), small), pixels)

        return picture

    def named(
        self, name: str, check: str, setting: Setting, view: Viewpoint, fields: Sequence[Field], names: tuple[str, str]
    ) -> Developing:
        """Shoot two pieces painted apart, low and high on the scale of their fields, each with its name beside it."""
        stage, shot = self.shot(setting, view)
        fields = [field for field in fields if field.part in {part.name for part in stage.parts}]
        caption = capital(f"{names[0]} and {names[1]}, {setting.words}")

        def picture() -> Picture:
            pixels = develop(stage, shot, field_coat(stage, shot, fields))
            pixels = name_pieces(pixels, list(pieces_shown(stage, shot, fields, names)), view.lettering)
            return self._picture(Picture(name, check, caption, caption, b"", (0, 0), self.small(stage)), pixels)

        return picture

    def painted(
        self, name: str, check: str, setting: Setting, view: Viewpoint, fields: Sequence[Field],
        findings: Labelled = (), hidden: bool = False, lines: Sequence[Field] = (),
    ) -> Developing:  # fmt: skip
        """Shoot clay with fields painted, findings marked, the limits of ``lines`` drawn, and the scale beneath."""
        stage, shot = self.shot(setting, view)
        marks = marks_on(stage, shot.viewpoint, self.carried(findings, setting), hidden)
        caption = capital(f"{view.words}, {setting.words}")

        def picture() -> Picture:
            pixels = mark(develop(stage, shot, field_coat(stage, shot, fields), lines), marks, view.lettering)
            limit = lines[0].limit if lines else np.nan
            pixels = with_legend(pixels, replace(fields[0], limit=limit), view.lettering)
            words = f"{fields[0].label}. {caption}"
            return self._picture(Picture(name, check, words, caption, b"", (0, 0), self.small(stage)), pixels)

        return picture

    def carried(self, findings: Labelled, setting: Setting) -> list[tuple[str, Finding]]:
        """Return findings with the place each has in the pose of a picture."""
        return [(label, self.carried_one(finding, setting)) for label, finding in findings]

    def carried_one(self, finding: Finding, setting: Setting) -> Finding:
        """Return a finding where what it is on stands in the pose of a picture: shifted as the skin nearest to it."""
        known = [part for part in self.snapshot.parts if part.name == finding.object]
        same = (finding.motion, finding.t) == (setting.motion, setting.t)
        if same or not known or not np.isfinite(finding.at_mm).all():
            return finding
        before, after = (
            np.asarray(self._standing(motion, t).get(finding.object, known[0].vertices_mm))
            for motion, t in ((finding.motion, finding.t), (setting.motion, setting.t))
        )
        far = ((before - finding.at_mm) ** 2).sum(axis=1)
        near = np.argpartition(far, min(NEAREST, len(far)) - 1)[:NEAREST]
        x, y, z = np.asarray(finding.at_mm) + (after[near] - before[near]).mean(axis=0)
        place = replace(finding.place, at_mm=(x, y, z), motion=setting.motion, t=setting.t)
        return replace(finding, place=place)

    def _standing(self, motion: str, t: float) -> Posed:
        return self.posed(motion, t) if motion else {}

    def _picture(self, blank: Picture, pixels: Pixels) -> Picture:
        height, width = pixels.shape[:2]
        return replace(blank, png=png_bytes(pixels, blank.words, self.software, self.facts), size=(width, height))


def worn_faces(snapshot: Snapshot) -> dict[str, IntArray]:
    """Return the faces of each part that are drawn, turned outward: of a piece, those that stand off the bare skin.

    A piece may be sculpted as a copy of the whole head; where it is the skin itself there is nothing of it to see.
    """
    faces = {part.name: outward_faces(part) for part in snapshot.parts}
    skin = Surface(snapshot.base.vertices_mm, snapshot.base.faces)
    for part in snapshot.parts:
        if part.role == Role.APPLIANCE:
            off = np.abs(skin.clearance_mm(part.vertices_mm)) > ON_SKIN_MM
            kept = faces[part.name][off[faces[part.name]].any(axis=1)]
            faces[part.name] = kept if len(kept) else faces[part.name]
    return faces


def pieces_shown(stage: Stage, shot: Shot, fields: Sequence[Field], names: tuple[str, str]) -> Iterator[NamedPiece]:
    """Yield each of two painted pieces with the pixel in its middle; one that nothing is seen of is left out."""
    width = shot.viewpoint.size[0]
    found = [field_at(stage, shot, field) for field in fields]
    for value, name in enumerate(names):
        pixels = np.concatenate([shot.pixel[samples[np.abs(values - value) < 0.25]] for samples, values in found])
        if len(pixels):
            at = np.stack([pixels % width, pixels // width], axis=1) + 0.5
            middle = at[((at - np.median(at, axis=0)) ** 2).sum(axis=1).argmin()]
            field = replace(fields[0], low=0.0, high=1.0)
            colour = np.round(field_colours(field, np.array([float(value)]))[0] * 255).astype(int)
            yield NamedPiece(name, middle, (int(colour[0]), int(colour[1]), int(colour[2])))


def marks_on(stage: Stage, view: Viewpoint, findings: Labelled, hidden: bool) -> list[Mark]:
    """Return marks for the findings inside the picture; those behind something only where asked for."""
    places = np.array([finding.at_mm for _, finding in findings]).reshape(-1, 3)
    at = view.project(places)
    inside = np.asarray((np.isfinite(at) & (at >= 0) & (at < view.size)).all(axis=1))
    through = np.array([finding.object in stage.shown_through for _, finding in findings], dtype=bool)
    lift_mm = LIFT_MM + np.where(through[inside], stage.reach_mm, 0.0)
    seen = np.zeros(len(places), dtype=bool)
    seen[inside] = stage.sees(places[inside], view.toward, lift_mm)
    return [
        Mark(label, at[place], hidden=not seen[place])
        for place, (label, _) in enumerate(findings)
        if inside[place] and (seen[place] or hidden)
    ]
