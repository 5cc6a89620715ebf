"""Is the base still the one that was locked? If not: what moved, where, which way and how far."""

from collections.abc import Iterator

import numpy as np

from ...geometry.areas import areas_mm2
from ...geometry.rows import row_all, row_any
from ...geometry.topology import connected, grouped, mesh_edges
from ...model.arrays import IntArray
from ...model.brief import Brief
from ...model.finding import Field, Finding, Outcome, Place, Severity, not_checked
from ...model.progress import Job, Progress
from ...performer.fitting import Fitting
from ...performer.head_frame import HeadFrame
from ...performer.lock import Held, LockState
from ..check import Check, LeadingFigure

MOST_PATCHES = 20


def base_lock(fitting: Fitting, brief: Brief) -> Job[Outcome]:
    """Report where the base left its locked shape."""
    yield Progress(0, 1, "fingerprint of the base")
    state = fitting.lock_state
    if state.held == Held.UNLOCKED:
        return not_checked(
            "The base isn't locked, so nobody can tell whether it changed. Lock it (sidebar, or: dryfit lock FILE) "
            "once the scan is approved."
        )
    if state.held == Held.HELD:
        return Outcome(measures={"moved_vertices": 0, "max_change_mm": 0.0, "moved_area_mm2": 0.0, "patch_count": 0})
    if not state.kept:
        return Outcome(measures={"moved_vertices": float("nan"), "max_change_mm": float("nan")},
                       findings=(_unknown_change(state, fitting),))  # fmt: skip
    patches = _patches(state, brief.limits.base_moved_mm)
    return Outcome(
        measures=_measures(state, patches, brief.limits.base_moved_mm),
        findings=tuple(_findings(state, patches, fitting, brief.limits.base_moved_mm)),
        fields=(_field(state, brief.limits.base_moved_mm),) if state.by_vertex else (),
    )


def _patches(state: LockState, least_mm: float) -> list[IntArray]:
    """Return groups of vertices that moved and hang together, the furthest moved first."""
    moved = state.moved_mm > least_mm
    if not state.by_vertex:
        return [np.flatnonzero(moved)] if moved.any() else []
    ends = mesh_edges(state.snapshot.base.faces).ends
    label = connected(len(moved), ends[row_all(moved[ends])])
    own = np.flatnonzero(moved)
    groups = [own[group] for group in grouped(label[own])]
    return sorted(groups, key=lambda group: -float(state.moved_mm[group].max()))


def _measures(state: LockState, patches: list[IntArray], least_mm: float) -> dict[str, float | str]:
    return {
        "moved_vertices": int((state.moved_mm > least_mm).sum()),
        "max_change_mm": state.max_change_mm,
        "moved_area_mm2": _area_mm2(state, least_mm) if state.by_vertex else float("nan"),
        "patch_count": len(patches),
    }


def _area_mm2(state: LockState, least_mm: float) -> float:
    """Return the area of faces that have a moved corner."""
    base = state.snapshot.base
    touched = row_any((state.moved_mm > least_mm)[base.faces])
    return float(areas_mm2(base.vertices_mm[base.faces[touched]]).sum())


def _findings(state: LockState, patches: list[IntArray], fitting: Fitting, least_mm: float) -> Iterator[Finding]:
    if not patches:
        yield _same_shape(state, fitting, least_mm)
    elif state.as_a_whole is not None:
        yield _moved_whole(state, fitting, least_mm)
    elif not state.by_vertex:
        yield _another_mesh(state, patches[0], fitting, least_mm)
    else:
        for patch in patches[:MOST_PATCHES]:
            yield _moved(state, patch, fitting, least_mm)
        if len(patches) > MOST_PATCHES:
            yield _and_more(state, patches[MOST_PATCHES:], fitting, least_mm)


WHOLE_BASE = "whole base"
RESTORE = "restore the locked base, or lock it again once the change is agreed"


def _place(state: LockState, fitting: Fitting, vertex: int, region: str | None = None) -> Place:
    return fitting.place(state.snapshot.base.name, state.locked_mm[vertex], region)


def _finding(
    state: LockState,
    severity: Severity,
    message: str,
    place: Place,
    worst: int,
    limit_mm: float,
    patch: IntArray | None = None,
) -> Finding:
    return Finding(
        severity=severity,
        message=message,
        place=place,
        value=float(state.moved_mm[worst]),
        limit=limit_mm,
        fix=RESTORE,
        elements=patch if patch is not None and state.by_vertex else np.zeros(0, np.int64),
    )


def _worst(state: LockState, patch: IntArray) -> int:
    return int(patch[state.moved_mm[patch].argmax()])


def _moved(state: LockState, patch: IntArray, fitting: Fitting, least_mm: float) -> Finding:
    worst = _worst(state, patch)
    place = _place(state, fitting, worst)
    words = (
        f"The {place.region} of {state.snapshot.base.name} moved {state.moved_mm[worst]:.2f} mm {_way(state, worst)} "
        f"since the base was locked: {len(patch)} vertices (limit {least_mm:g} mm)."
    )
    return _finding(state, Severity.FAIL, words, place, worst, least_mm, patch)


def _way(state: LockState, vertex: int) -> str:
    """Return the direction a vertex went, in words: the head's main axis it went along most."""
    frame = HeadFrame.from_landmarks(state.snapshot.landmarks)
    step = state.snapshot.base.vertices_mm[vertex] - state.locked_mm[vertex]
    along = np.array([step @ frame.left, step @ frame.front, step @ frame.up])
    names = (("left", "right"), ("forward", "back"), ("up", "down"))
    axis = int(np.abs(along).argmax())
    return names[axis][0 if along[axis] > 0.0 else 1]


def _moved_whole(state: LockState, fitting: Fitting, least_mm: float) -> Finding:
    fit = state.as_a_whole
    assert fit is not None
    shift_mm = float(np.linalg.norm(fit.shift_mm))
    words = (
        f"{state.snapshot.base.name} kept its shape but was moved by {shift_mm:.2f} mm and turned by "
        f"{fit.angle_deg:.2f} degrees since it was locked: the pieces no longer sit where they were sculpted."
    )
    worst = int(state.moved_mm.argmax())
    return _finding(state, Severity.FAIL, words, _place(state, fitting, worst, WHOLE_BASE), worst, least_mm)


def _another_mesh(state: LockState, patch: IntArray, fitting: Fitting, least_mm: float) -> Finding:
    worst = _worst(state, patch)
    place = _place(state, fitting, worst)
    words = (
        f"{state.snapshot.base.name} is another mesh now ({len(state.snapshot.base.vertices_mm)} vertices, locked "
        f"with {len(state.locked_mm)}), and its surface leaves the locked points by up to "
        f"{state.moved_mm[worst]:.2f} mm at the {place.region} (limit {least_mm:g} mm)."
    )
    return _finding(state, Severity.FAIL, words, place, worst, least_mm)


def _same_shape(state: LockState, fitting: Fitting, least_mm: float) -> Finding:
    words = (
        f"{state.snapshot.base.name} is not the very mesh that was locked (faces, numbering or vertices differ), but "
        f"its surface is within {max(state.max_change_mm, 0.001):.3f} mm of it. Lock it again if the change was "
        "meant."
    )
    worst = int(state.moved_mm.argmax())
    return _finding(state, Severity.REVIEW, words, _place(state, fitting, worst, WHOLE_BASE), worst, least_mm)


def _and_more(state: LockState, rest: list[IntArray], fitting: Fitting, least_mm: float) -> Finding:
    every = np.concatenate(rest)
    words = f"{len(rest)} more places of {state.snapshot.base.name} moved, by less: {len(every)} vertices."
    worst = _worst(state, every)
    return _finding(state, Severity.FAIL, words, _place(state, fitting, worst), worst, least_mm, every)


def _unknown_change(state: LockState, fitting: Fitting) -> Finding:
    base = state.snapshot.base
    return Finding(
        severity=Severity.FAIL,
        message=(
            f"{state.snapshot.base.name} is not the base that was locked. Its lock keeps a fingerprint only, so "
            "where it changed can't be said."
        ),
        place=fitting.place(base.name, base.vertices_mm.mean(axis=0), WHOLE_BASE),
        value=float("nan"),
        fix=RESTORE,
    )


def _field(state: LockState, least_mm: float) -> Field:
    return Field(
        name="moved",
        part=state.snapshot.base.name,
        values=state.moved_mm,
        unit="mm",
        label="How far the base moved since it was locked",
        low=0.0,
        high=max(1.0, float(state.moved_mm.max())),
        limit=least_mm,
    )


CHECK = Check(
    id="base_lock",
    of_base=True,
    question="Is the base still the one that was locked?",
    measure=base_lock,
    measured=(
        ("moved_vertices", "vertices that moved further than the limit since the base was locked"),
        ("max_change_mm", "the furthest of them"),
        ("moved_area_mm2", "area of the faces they are on"),
        ("patch_count", "places that moved and hang together"),
    ),
    method=(
        "Locking keeps a SHA-256 fingerprint of the base's vertices (to 1 µm) and faces, and a compressed copy of "
        "the vertices. The same fingerprint is the same base. Else each vertex is compared with its locked place; "
        "where the mesh itself is another, each locked point with the surface as it is now. A move of the whole "
        "base is told from a change of its shape by the best rigid motion (Kabsch 1976, doi "
        "10.1107/S0567739476001873)."
    ),
    limits=("base_moved_mm",),
    blind_spots=(
        "It knows the base that was locked, not the performer: whether the scan is theirs, is recent, or was taken "
        "in a relaxed pose is not seen. Where the mesh is another, new bulges between the locked points can be "
        "missed. A base that was never locked is not checked."
    ),
    leading=(
        LeadingFigure("max_change_mm", "largest change"),
        LeadingFigure("moved_vertices", "vertices that moved"),
    ),
    painted=(("moved", "How far the base moved since it was locked"),),
)
