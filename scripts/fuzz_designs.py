"""Random designs for fuzz.py: a small head with teeth, eyes and motions, and pieces on it, each broken at random.

What is held to be wrong about an answer needs no second opinion: a judged figure that is empty, unknown or beyond its
limit under *pass*, in the figures themselves, in JSON, in the text or on the page; a fault in a check; and a pass where
the way a design was made rules it out (a film, a copy of the scan, a piece under the skin, a jaw that moves nothing).
"""

from __future__ import annotations

import json
import warnings
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from functools import cache
from typing import Any

import numpy as np
from hypothesis import strategies as st

import dryfit
from dryfit.checks.registry import CHECKS
from dryfit.model.brief import Brief, HingeBrief, MotionBrief
from dryfit.model.exceptions import WrittenException
from dryfit.model.finding import Status
from dryfit.model.fingerprint import fingerprint
from dryfit.model.limits import Limits
from dryfit.model.report import Report
from dryfit.model.snapshot import Lock, Motion, Part, Role, Snapshot
from dryfit.report.schema import validate
from family import members
from fuzz_words import Wrong, bad_sentence, crashed
from mouth_shapes import box
from printed_figures import beyond_in_json, excused, page_of_pass, printed, text_of_pass, wrong
from shapes import icosphere

SIZE = np.array([75.0, 110.0, 95.0])
"""Half axes of the head, mm: left +x, up +y, front +z."""
TOWARDS = {
    "tragion_left": (1, 0.05, 0), "tragion_right": (-1, 0.05, 0), "sellion": (0, 0.25, 1), "gnathion": (0, -0.75, 0.7),
    "vertex_top": (0, 1, 0), "opisthocranion": (0, 0.2, -1), "subnasale": (0, -0.15, 1), "pronasale": (0, -0.05, 1),
    "cheilion_left": (0.33, -0.36, 0.85), "cheilion_right": (-0.33, -0.36, 0.85), "labiale_superius": (0, -0.31, 0.95),
    "labiale_inferius": (0, -0.42, 0.9), "stomion_superius": (0, -0.36, 0.93), "stomion_inferius": (0, -0.365, 0.93),
    "endocanthion_left": (0.2, 0.22, 0.93), "endocanthion_right": (-0.2, 0.22, 0.93),
    "exocanthion_left": (0.6, 0.22, 0.76), "exocanthion_right": (-0.6, 0.22, 0.76),
    "pupil_left": (0.4, 0.22, 0.87), "pupil_right": (-0.4, 0.22, 0.87),
    "alare_left": (0.22, -0.12, 0.95), "alare_right": (-0.22, -0.12, 0.95),
}  # fmt: skip
PIECES = ("cap", "film", "copy", "sunk", "floating", "box", "triangle", "plates", "closed cap", "none")
MATERIALS = ("silicone", "foam_latex", "gelatin", "bronze", "", "unobtainium")
DAMAGES = (
    *[""] * 12, "nan", "wrong index", "duplicate faces", "turned", "some turned", "holes", "slivers", "unwelded",
    "in metres", "far", "flat", "loose points", "same name",
)  # fmt: skip
MARKS = (
    *[""] * 6,
    "none",
    "some",
    "at origin",
    "all one",
    "swapped",
    "ten times",
    "in metres",
    "jittered",
    "nan",
    "far",
    "proposed",
)
MOTIONS = (
    "none",
    *["keys"] * 6,
    "still",
    *["hinge"] * 3,
    "nan",
    "wrong count",
    "wild",
    "repeated times",
    "one frame",
    "tiny",
)
EXTRAS = ("none", "teeth", "eyes", "both", "wild teeth", "eyes on one place", "hardware")


@dataclass(frozen=True)
class DesignCase:
    """What a design is made of, in words, and a seed for what is left to chance.

    ``person`` is a head of the family of heads, on which every check can pass; else a ball with a nose, which is quick.
    ``limits`` are shares of the way from each limit's least value to its most, by its number.
    """

    person: bool
    piece: str
    second: str
    damage: str
    damaged: int
    marks: str
    motions: str
    extras: str
    material: str
    limits: tuple[tuple[int, float], ...]
    accepted: tuple[str, ...]
    lock: str
    seed: int


def cases() -> st.SearchStrategy[DesignCase]:
    """Return the designs to try: on the ball anything goes with anything, on a person most of a design is sound."""
    return st.sampled_from([False] * 7 + [True]).flatmap(lambda person: _cases(person, 6 if person else 0))


def _cases(person: bool, sound: int) -> st.SearchStrategy[DesignCase]:
    """Return designs on one wearer; the sound choice of each kind stands ``sound`` more times in its list."""
    share = st.one_of(st.sampled_from((0.0, 1.0)), st.floats(0.0, 1.0))
    among = {
        "piece": [*["cap"] * sound, *PIECES],
        "second": ["none"] * (6 + 4 * sound) + [*PIECES],
        "damage": [""] * 2 * sound + [*DAMAGES],
        "marks": [""] * 2 * sound + [*MARKS],
        "motions": ["keys"] * 3 * sound + [*MOTIONS],
        "extras": ["both"] * 2 * sound + [*EXTRAS],
        "material": ["silicone"] * sound + [*MATERIALS],
        "lock": ["held"] * sound + ["none", "held", "moved", "other", "word"],
    }
    return st.builds(
        DesignCase,
        person=st.just(person),
        **{name: st.sampled_from(words) for name, words in among.items()},
        damaged=st.integers(0, 5),
        limits=st.lists(st.tuples(st.integers(0, len(fields(Limits)) - 1), share), max_size=1 if sound else 4).map(
            tuple
        ),
        accepted=st.lists(st.sampled_from([check.id for check in CHECKS]), max_size=1).map(tuple),
        seed=st.integers(0, 2**31),
    )


def wrong_design(case: DesignCase, page: bool = False) -> Iterator[Wrong]:
    """Yield what is wrong about how a design is measured; ``page`` asks the page as well, which takes longer."""
    try:
        snapshot, brief = built(case)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            report = dryfit.check(snapshot, brief)
    except dryfit.DryfitError as error:
        if words := bad_sentence(str(error)):
            yield Wrong("bad word", words)
        return
    except Exception as fault:
        yield crashed(fault)
        return
    yield from wrong_report(report)
    yield from _ruled_out(case, report)
    try:
        yield from _said_silent(report, page)
    except Exception as fault:
        yield crashed(fault)


def wrong_report(report: Report) -> Iterator[Wrong]:
    """Yield the faults in a report's checks, and what passes without being proven."""
    for check in report.checks:
        if check.fault:
            yield Wrong("crash", f"in {check.id}: {check.reason}")
    yield from _silent(report)


def _silent(report: Report) -> Iterator[Wrong]:
    """Yield passes that stand on a figure that is none, beyond its limit, or on no figure at all."""
    for check in (each for each in report.checks if each.status == Status.PASS):
        if not check.measures:
            yield Wrong("silent pass", f"{check.id} passes without a figure")
        for measure, bound in check.judged.items():
            value = check.measures.get(measure, float("nan"))
            known = not isinstance(value, str) and not np.isnan(value)
            if not known or (not bound.holds(float(value)) and not any(each.exception for each in check.findings)):
                yield Wrong("silent pass", f"{check.id} passes with {measure} = {value}, limit {bound.value}")
        for finding in check.findings:
            if finding.severity != "info" and not finding.exception:
                yield Wrong("silent pass", f"{check.id} passes with: {finding.message}")


def _ruled_out(case: DesignCase, report: Report) -> Iterator[Wrong]:
    """Yield passes that cannot be, by the way the design was made."""
    loose = dict(case.limits) or case.accepted or case.damage or case.second != "none"
    impossible = {
        "film": ("thickness",),
        "copy": ("additive", "thickness"),
        "sunk": ("additive",),
        "triangle": ("thickness",),
    }.get(case.piece, ())
    names = [] if loose else [*impossible]
    hinged = case.motions == "none" and case.person  # whose landmarks are enough for a jaw on the usual hinge
    if case.motions in ("still", "none", "tiny") and not hinged:
        names.append("closure")
    if case.marks in ("none", "at origin", "all one", "in metres"):
        names += ["closure", "blink", "sightline", "airway"]
    for check in report.checks:
        if check.id in names and check.status == Status.PASS:
            yield Wrong("silent pass", f"{check.id} passes on {case.piece}, motions {case.motions}, marks {case.marks}")


def _said_silent(report: Report, page: bool) -> Iterator[Wrong]:
    """Yield figures that JSON, text or page print under *pass* though they are beyond their limits or unknown."""
    said = json.loads(report.to_json(), parse_constant=_no_number)
    validate(said)
    if excused(report):
        return
    for stated, check in zip(said["checks"], CHECKS, strict=True):
        if stated["status"] == "pass":
            yield from (Wrong("silent pass", f"JSON: {check.id}: {each}") for each in beyond_in_json(stated))
            shown = printed(text_of_pass(report, check))
            yield from (Wrong("silent pass", f"text: {check.id}: {each}") for each in shown if wrong(*each))
    for each in printed(page_of_pass(report, CHECKS)) if page else ():
        if wrong(*each):
            yield Wrong("silent pass", f"page: {each}")


def _no_number(word: str) -> float:
    raise ValueError(f"JSON holds {word}")


@dataclass(frozen=True)
class Wearer:
    """Who wears a design: skin, normals, landmarks, own teeth and eyes, and the ways skin and lower teeth go."""

    skin: np.ndarray
    faces: np.ndarray
    marks: dict[str, np.ndarray]
    teeth: tuple[Part, ...]
    eyes: tuple[Part, ...]
    opening: dict[str, np.ndarray]
    blinking: np.ndarray

    @property
    def normals(self) -> np.ndarray:
        """Unit normals of the skin's vertices."""
        a, b, c = self.skin[self.faces].transpose(1, 0, 2)
        found = np.zeros_like(self.skin)
        for corner in self.faces.T:
            np.add.at(found, corner, np.cross(b - a, c - a))
        return found / (np.linalg.norm(found, axis=1, keepdims=True) + 1e-300)


@cache
def ball() -> Wearer:
    """Return a ball with a nose."""
    head, faces = icosphere(3, 1.0)
    head = _bumped(head) * SIZE
    marks = {}
    for name, towards in TOWARDS.items():
        way = np.array(towards, float) * SIZE
        marks[name] = head[(head @ (way / np.linalg.norm(way)) / np.linalg.norm(head, axis=1)).argmax()]
    upper = Part("Upper", Role.UPPER_TEETH, *box([-20.0, -38.0, 60.0], [20.0, -30.0, 78.0]))
    lower = Part("Lower", Role.LOWER_TEETH, *box([-18.0, -48.0, 58.0], [18.0, -38.2, 76.0]))
    globe, globe_faces = icosphere(2, 12.0)
    eyes = tuple(
        Part(f"Eye {side}", f"eye_{side}", globe + np.array([sign * 30.0, 24.0, 62.0]), globe_faces, own=True)
        for side, sign in (("left", 1.0), ("right", -1.0))
    )
    low = (head[:, 1:2] < -38.0) & (head[:, 2:] > 0.0)
    opening = {"Head": low * [0.0, -25.0, -7.5], "Lower": np.tile([0.0, -25.0, -7.5], (len(lower.vertices_mm), 1))}
    lids = (np.abs(head[:, 1:2] - 27.0) < 10.0) & (head[:, 2:] > 50.0)
    return Wearer(head, faces, marks, (upper, lower), eyes, opening, lids * [0.0, -6.0, 1.0])


@cache
def person() -> Wearer:
    """Return the mean head of the family, with lips, lids, lining and rooted teeth."""
    member = members.keyed()
    snapshot, jaw = member.snapshot, member.snapshot.motions["jaw"]
    opening = {name: posed[-1] - posed[0] for name, posed in jaw.frames_mm.items()}
    teeth = tuple(part for part in snapshot.parts if part.name in ("Upper", "Lower"))
    eyes = tuple(replace(part, own=True) for part in snapshot.parts if part.name.startswith("Eye"))
    lids = member.head.shaped("eyeBlinkLeft", "eyeBlinkRight")
    return Wearer(snapshot.base.vertices_mm, snapshot.base.faces, dict(snapshot.landmarks), teeth, eyes, opening, lids)


def built(case: DesignCase) -> tuple[Snapshot, Brief]:
    """Return the design and its brief."""
    chance = np.random.default_rng(case.seed)
    wearer = person() if case.person else ball()
    parts = [Part("Head", Role.BASE, wearer.skin, wearer.faces, own=True)]
    for name, piece in (("Piece", case.piece), ("Second", case.second)):
        if piece != "none":
            parts.append(Part(name, Role.APPLIANCE, *_piece(piece, wearer, chance), material=case.material))
    parts += _extras(case.extras, wearer, chance)
    motions = _motions(case.motions, parts, wearer, chance)
    place = case.damaged % len(parts)
    parts[place] = _damaged(parts[place], case.damage, chance)
    snapshot = Snapshot(
        "fuzz", parts=tuple(parts), landmarks=_marks(case.marks, wearer.marks, chance), motions=motions,
        lock=_lock(case.lock, parts[0]),
        proposed={name: float(chance.choice([1.0, np.inf])) for name in TOWARDS} if case.marks == "proposed" else {},
    )  # fmt: skip
    return snapshot, _brief(case)


def _brief(case: DesignCase) -> Brief:
    entries = fields(Limits)
    limits = {}
    for number, share in case.limits:
        entry = entries[number]
        least, most = entry.metadata["least"], entry.metadata["most"]
        limits[entry.name] = least + share * (most - least)
    accepted = tuple(WrittenException(check, "", "", "agreed") for check in case.accepted)
    motions = {"jaw": MotionBrief(hinge=HingeBrief())} if case.motions == "hinge" else {}
    return replace(Brief(), limits=replace(Limits(), **limits), exceptions=accepted, motions=motions)


def _bumped(directions: np.ndarray) -> np.ndarray:
    """Return the head's shape: a nose in front."""
    nose = np.exp(-((directions[:, 0] / 0.15) ** 2) - ((directions[:, 1] + 0.05) / 0.2) ** 2) * (directions[:, 2] > 0)
    return directions * (1.0 + 0.15 * nose[:, None])


def _marks(how: str, marks: dict[str, np.ndarray], chance: np.random.Generator) -> dict[str, np.ndarray]:
    if how == "none":
        return {}
    if how == "some":
        return {name: point for name, point in marks.items() if chance.random() < 0.6}
    if how == "swapped":
        return {name: marks.get(name.replace("left", "right"), point) if "left" in name
                else marks.get(name.replace("right", "left"), point) for name, point in marks.items()}  # fmt: skip
    change = {
        "at origin": lambda point: 0.0 * point, "all one": lambda _: marks["sellion"],
        "ten times": lambda point: 10.0 * point,
        "in metres": lambda point: 0.001 * point, "jittered": lambda point: point + chance.normal(size=3) * 20.0,
        "far": lambda point: point + 1e5, "nan": lambda point: point if chance.random() < 0.9 else np.full(3, np.nan),
    }.get(how)  # fmt: skip
    return {name: change(point) for name, point in marks.items()} if change else marks


def _piece(how: str, wearer: Wearer, chance: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    head, faces, normals = wearer.skin, wearer.faces, wearer.normals
    if how == "copy":
        return head, faces
    if how == "triangle":
        return head[faces[chance.integers(len(faces))]] + 2.0, np.array([[0, 1, 2]])
    if how == "plates":
        some = head[faces[chance.integers(len(faces), size=3)]] + 1.0
        return some.reshape(-1, 3), np.arange(9).reshape(3, 3)
    if how == "box":
        low = head[chance.integers(len(head))] - 5.0
        return box(low, low + chance.uniform(1.0, 60.0, 3))
    towards = head[chance.integers(len(head))]
    near = np.linalg.norm(head - towards, axis=1)
    wide = chance.uniform(25.0, 90.0)
    kept = faces[(near[faces] < wide).all(axis=1)]
    used, kept = np.unique(kept, return_inverse=True)
    share = np.clip(1.0 - near[used] / wide, 0.0, 1.0)
    height = {"film": 0.01 + 0.0 * share, "sunk": -3.0 + 0.0 * share, "floating": 8.0 + 0.0 * share}.get(
        how, 8.0 * share
    )
    raised, kept = head[used] + height[:, None] * normals[used], kept.reshape(-1, 3)
    if how == "closed cap":
        return np.concatenate([raised, head[used]]), np.concatenate([kept, kept[:, ::-1] + len(used)])
    return raised, kept


def _extras(how: str, wearer: Wearer, chance: np.random.Generator) -> list[Part]:
    parts: list[Part] = []
    if how in ("teeth", "both", "wild teeth"):
        shift = chance.normal(size=3) * (40.0 if how == "wild teeth" else 0.0)
        own = bool(chance.integers(2))
        parts += [replace(part, vertices_mm=part.vertices_mm + shift, own=own) for part in wearer.teeth]
    if how in ("eyes", "both"):
        parts += wearer.eyes
    if how == "eyes on one place":
        parts += [replace(part, vertices_mm=part.vertices_mm - part.vertices_mm.mean(axis=0)) for part in wearer.eyes]
    if how == "hardware":
        low = wearer.skin[chance.integers(len(wearer.skin))]
        parts.append(Part("Horn", Role.HARDWARE, *box(low, low + chance.uniform(2.0, 80.0, 3)), material="bronze"))
    return parts


def _motions(how: str, parts: list[Part], wearer: Wearer, chance: np.random.Generator) -> dict[str, Motion]:
    if how in ("none", "hinge"):
        return {}
    share = {"still": 0.0, "tiny": 1e-9, "wild": 100.0}.get(how, 1.0)
    frames: dict[str, Any] = {}
    for part in (part for part in parts if part.name in wearer.opening):
        frames[part.name] = np.stack([part.vertices_mm, part.vertices_mm + share * wearer.opening[part.name]])
    blink = np.stack([wearer.skin, wearer.skin + share * wearer.blinking])
    times = np.array([0.0, 1.0])
    if how == "nan":
        frames["Head"][1, chance.integers(len(wearer.skin))] = np.nan
    elif how == "wrong count":
        frames["Head"] = frames["Head"][:, :-1]
    elif how == "repeated times":
        times = np.array([0.5, 0.5])
    elif how == "one frame":
        frames, times = {name: each[:1] for name, each in frames.items()}, np.array([0.0])
    return {"jaw": Motion("jaw", times, frames), "blink": Motion("blink", [0.0, 1.0], {"Head": blink})}


def _damaged(part: Part, how: str, chance: np.random.Generator) -> Part:
    vertices, faces = part.vertices_mm.copy(), part.faces.copy()
    if how == "nan":
        vertices[chance.integers(len(vertices)), 0] = np.nan
    elif how == "wrong index":
        faces[0, 0] = len(vertices)
    elif how == "duplicate faces":
        faces = np.concatenate([faces, faces[::2], faces[::3, ::-1]])
    elif how == "turned":
        faces = faces[:, ::-1]
    elif how == "some turned":
        faces = np.where((chance.random(len(faces)) < 0.2)[:, None], faces[:, ::-1], faces)
    elif how == "holes":
        faces = faces[chance.random(len(faces)) < 0.8]
    elif how == "slivers":
        faces = np.concatenate([faces, faces[::4][:, [0, 1, 1]]])
    elif how == "unwelded":
        vertices, faces = vertices[faces].reshape(-1, 3), np.arange(3 * len(faces)).reshape(-1, 3)
    elif how == "in metres":
        vertices = 0.001 * vertices
    elif how == "far":
        vertices = vertices + 10.0 ** chance.integers(2, 7)
    elif how == "flat":
        vertices[:, 2] = vertices[0, 2]
    elif how == "loose points":
        vertices = np.concatenate([vertices, chance.uniform(-500, 500, (4, 3))])
    elif how == "same name":
        return replace(part, name="Head")
    return replace(part, vertices_mm=vertices, faces=faces)


def _lock(how: str, base: Part) -> Lock | None:
    if how == "none":
        return None
    if how == "word":
        return Lock("ab" * 32)
    try:
        with np.errstate(invalid="ignore"):
            print_ = fingerprint(base.vertices_mm, base.faces)
    except (ValueError, dryfit.DryfitError):
        return None
    points = base.vertices_mm
    if how == "moved":
        return Lock("cd" * 32, points + 0.5)
    return Lock("ef" * 32, points[:-3]) if how == "other" else Lock(print_, points)
