"""Random meshes for fuzz.py: solids with known insides, soups of triangles, and what is broken about both.

The truth is worked out here from the solid angles of the faces (Van Oosterom and Strackee 1983, doi
10.1109/TBME.1983.325207) and from the nearest points of all of them, one by one: nothing of the package takes part.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st

from dryfit.geometry import Surface
from dryfit.geometry.errors import GeometryError
from fuzz_words import Wrong, crashed

POINTS = 40
NEAR_SHARE = 1e-6
"""Points nearer to a face than this share of the mesh's size have no sign that rounding could not turn."""
SHAPES = ("ball", "star", "boxes", "ring", "soup", "sheet")
SOLID = ("ball", "star", "boxes", "ring")
BREAKS = ("", "inside out", "some turned", "unwelded", "doubled", "slivers", "loose points")
SPOILS = ("holes", "nan", "no faces", "wrong index", "one point", "huge", "flat")


@dataclass(frozen=True)
class MeshCase:
    """A mesh, how it is broken though its inside stays known, how it is spoilt, its scale, and a seed for all."""

    shape: str
    broken: str
    spoilt: str
    scale: float
    seed: int


def cases() -> st.SearchStrategy[MeshCase]:
    """Return the meshes to try; most are not spoilt."""
    return st.builds(
        MeshCase,
        st.sampled_from(SHAPES),
        st.sampled_from(BREAKS),
        st.one_of(st.just(""), st.sampled_from(("", *SPOILS))),
        st.sampled_from((1.0, 1.0, 1e-4, 1e4)),
        st.integers(0, 2**31),
    )


def wrong(case: MeshCase) -> Iterator[Wrong]:
    """Yield what is wrong about a mesh's answers: crashes, signs and distances."""
    chance = np.random.default_rng(case.seed)
    whole = _whole(case.shape, chance)
    points = _points(whole, chance)
    vertices, faces = _spoilt(_broken(whole, case.broken, chance), case.spoilt, chance)
    try:
        surface = Surface(vertices * case.scale, faces)
        clearance = surface.clearance_mm(points * case.scale) / case.scale
        distance = np.asarray(surface.closest(points * case.scale).distance_mm) / case.scale
        surface.winding_number(points * case.scale)
        surface.crossings(surface)
    except GeometryError:
        if not case.spoilt:
            yield Wrong("crash", "a sound mesh is refused")
        return
    except Exception as fault:
        yield crashed(fault)
        return
    yield from _far(vertices, faces, points, distance)
    if case.shape in SOLID and not case.spoilt:
        yield from _signs(whole, points, distance, clearance)


def _far(vertices: np.ndarray, faces: np.ndarray, points: np.ndarray, distance: np.ndarray) -> Iterator[Wrong]:
    truth = nearest(vertices[faces], points)
    size = np.ptp(vertices[np.unique(faces)], axis=0).max()
    off = np.abs(distance - truth).max()
    if not off <= 1e-9 * (size + np.abs(points).max() + np.abs(vertices).max()):
        yield Wrong("wrong distance", f"by {off:.3g} of {size:.3g} mm")


def _signs(
    mesh: tuple[np.ndarray, np.ndarray], points: np.ndarray, distance: np.ndarray, clearance: np.ndarray
) -> Iterator[Wrong]:
    inside = np.abs(winding(mesh[0][mesh[1]], points)) > 0.5
    clear = distance > NEAR_SHARE * np.ptp(mesh[0], axis=0).max()
    lost = clear & np.isnan(clearance)
    turned = clear & ~lost & ((clearance < 0.0) != inside)
    if lost.any() or turned.any():
        yield Wrong("wrong sign", f"{int(turned.sum())} turned, {int(lost.sum())} without one, of {len(points)}")


def winding(corners: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Return how often faces ``(m, 3, 3)`` go round each point ``(k, 3)``."""
    a, b, c = (corners[None, :, corner] - points[:, None] for corner in range(3))
    la, lb, lc = (np.linalg.norm(side, axis=2) for side in (a, b, c))
    over = np.einsum("kmi,kmi->km", a, np.cross(b, c))
    under = (
        la * lb * lc
        + np.einsum("kmi,kmi->km", a, b) * lc
        + np.einsum("kmi,kmi->km", b, c) * la
        + np.einsum("kmi,kmi->km", c, a) * lb
    )
    return np.arctan2(over, under).sum(axis=1) / (2.0 * np.pi)


def nearest(corners: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Return how far each point ``(k, 3)`` is from the nearest of the faces ``(m, 3, 3)``."""
    least = np.full(len(points), np.inf)
    for start in range(3):
        a, side = corners[None, :, start], (corners[:, (start + 1) % 3] - corners[:, start])[None]
        long = (side**2).sum(axis=2)
        share = np.einsum("kmi,kmi->km", points[:, None] - a, np.broadcast_to(side, (len(points), *side.shape[1:])))
        share = np.clip(share / np.where(long > 0.0, long, 1.0), 0.0, 1.0)
        least = np.minimum(least, np.linalg.norm(points[:, None] - a - share[..., None] * side, axis=2).min(axis=1))
    a, u, v = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    normal = np.cross(u, v)
    size = (normal**2).sum(axis=1)
    flat = size <= 1e-18 * ((u**2).sum(axis=1) * (v**2).sum(axis=1) + 1e-300)
    size = np.where(flat, 1.0, size)
    w = points[:, None] - a
    second = np.einsum("kmi,mi->km", np.cross(u[None], w), normal) / size
    first = np.einsum("kmi,mi->km", np.cross(w, v[None]), normal) / size
    above = (first >= 0) & (second >= 0) & (first + second <= 1) & ~flat
    height = np.abs(np.einsum("kmi,mi->km", w, normal)) / np.sqrt(size)
    return np.minimum(least, np.where(above, height, np.inf).min(axis=1))


def _points(mesh: tuple[np.ndarray, np.ndarray], chance: np.random.Generator) -> np.ndarray:
    """Return points all about a mesh, and some near to it."""
    vertices, faces = mesh
    low, size = vertices.min(axis=0), np.ptp(vertices, axis=0).max()
    about = low + chance.uniform(-0.3, 1.3, (POINTS // 2, 3)) * np.ptp(vertices, axis=0)
    on = vertices[faces[chance.integers(len(faces), size=POINTS // 2)]]
    on = np.einsum("kc,kci->ki", chance.dirichlet((1, 1, 1), len(on)), on)
    return np.concatenate([about, on + chance.normal(size=on.shape) * size * 10.0 ** chance.uniform(-5, -1)])


def _whole(shape: str, chance: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    from shapes import icosphere, sheet, torus

    if shape == "ring":
        vertices, faces = torus(60.0, float(chance.uniform(5.0, 50.0)), 24, 12)
    elif shape == "boxes":
        vertices, faces = _boxes(chance)
    elif shape == "sheet":
        vertices, faces = sheet(100.0, 10, lambda x, y: chance.normal(size=x.shape) * 2.0)
    elif shape == "soup":
        vertices, faces = chance.uniform(-50, 50, (30, 3)), chance.integers(30, size=(60, 3))
    else:
        vertices, faces = icosphere(2, 50.0)
        if shape == "star":
            vertices = vertices * chance.uniform(0.4, 1.6, (len(vertices), 1))
    turn, _ = np.linalg.qr(chance.normal(size=(3, 3)))
    turn *= np.sign(np.linalg.det(turn))
    return vertices @ turn.T + chance.uniform(-100, 100, 3), faces


def _boxes(chance: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    from mouth_shapes import box, joined

    places = [np.array([150.0 * number, 0.0, 0.0]) for number in range(chance.integers(1, 4))]
    return joined(*(box(place, place + chance.uniform(0.5, 100.0, 3)) for place in places))


def _broken(
    mesh: tuple[np.ndarray, np.ndarray], how: str, chance: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Return a mesh that is drawn in another way, though what it bounds stays what it was."""
    vertices, faces = mesh
    if how == "inside out":
        return vertices, faces[:, ::-1]
    if how == "some turned":
        turned = chance.random(len(faces)) < 0.1
        return vertices, np.where(turned[:, None], faces[:, ::-1], faces)
    if how == "unwelded":
        return vertices[faces].reshape(-1, 3), np.arange(3 * len(faces)).reshape(-1, 3)
    if how == "doubled":
        return vertices, np.concatenate([faces, faces[::3], faces[::7, ::-1]])
    if how == "slivers":
        some = faces[::5]
        return vertices, np.concatenate([faces, some[:, [0, 1, 1]], some[:, [2, 2, 2]]])
    if how == "loose points":
        return np.concatenate([vertices, chance.uniform(-1e4, 1e4, (5, 3))]), faces
    return mesh


def _spoilt(
    mesh: tuple[np.ndarray, np.ndarray], how: str, chance: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Return a mesh that is no surface any more, or hardly one."""
    vertices, faces = mesh[0].copy(), mesh[1].copy()
    if how == "holes":
        return vertices, faces[chance.random(len(faces)) < 0.7]
    if how == "nan":
        vertices[chance.integers(len(vertices))] = chance.choice([np.nan, np.inf, -np.inf])
    elif how == "no faces":
        return vertices, faces[:0]
    elif how == "wrong index":
        faces[chance.integers(len(faces)), 0] = chance.choice([-1, len(vertices), 2**31 - 1])
    elif how == "one point":
        return np.repeat(vertices[:1], len(vertices), axis=0), faces
    elif how == "huge":
        vertices[chance.integers(len(vertices))] *= 10.0 ** chance.integers(2, 6)
    elif how == "flat":
        vertices[:, 2] = 0.0
    return vertices, faces
