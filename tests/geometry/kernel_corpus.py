"""Ask every question of many awkward meshes; run under sanitizers by test_sanitizers.py. Needs numpy only."""

from __future__ import annotations

import numpy as np

from dryfit.geometry import NoSurface, Surface, distance_along
from dryfit.geometry.binding import RidingSkin, bind
from dryfit.geometry.kernel.calls import Compiled
from dryfit.geometry.kernel.library import load_library

LIBRARY = load_library()
assert LIBRARY is not None, "the sanitized library did not load"
LEVELS = ["base"] + (["avx2"] if LIBRARY.dryfit_has_avx2() else [])


def meshes(rng: np.random.Generator) -> list[tuple[np.ndarray, np.ndarray]]:
    """Soups, fans, stacks of equal faces, needles, grids; at scales from 1e-100 up to nearly the largest allowed."""
    found = []
    for faces in (1, 2, 7, 8, 9, 64, 65, 500):
        soup = rng.normal(size=(faces + 2, 3)), rng.integers(0, faces + 2, (faces, 3))
        found += [(soup[0] * scale, soup[1]) for scale in (1e-100, 1e-6, 1.0, 1e6, 1e49)]
        found.append((np.round(soup[0]), soup[1]))
        found.append((soup[0] + 1e9, soup[1]))
        found.append((soup[0] * [1, 1e-9, 1e-18], soup[1]))
    corners = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0.0]])
    found.append((corners, np.tile([[0, 1, 2]], (3000, 1))))
    found.append((np.vstack([corners, corners * 1e-300]), np.array([[0, 1, 2], [3, 4, 5]])))
    fan = np.stack([np.ones(200), np.arange(200), np.zeros(200)], axis=1)
    fan[0] = 0
    found.append((fan, np.stack([np.zeros(198, int), np.arange(1, 199), np.arange(2, 200)], axis=1)))
    nested = np.concatenate([corners * 0.5**i for i in range(400)])
    found.append((nested, np.arange(1200).reshape(-1, 3)))
    return found


def ask_everything(vertices: np.ndarray, faces: np.ndarray, engine: Compiled, rng: np.random.Generator) -> None:
    """Ask, and check that answers are answers."""
    surface = Surface(vertices, faces, engine=engine)
    size = float(np.abs(vertices).max())
    points = np.vstack([vertices[:200], rng.normal(size=(50, 3)) * size, rng.normal(size=(5, 3)) * size * 1e6])
    points = points[np.abs(points).max(axis=1) < 1e99]
    near = surface.closest(points)
    assert np.isfinite(near.distance_mm).all()
    assert ((near.face >= 0) & (near.face < len(faces))).all()
    surface.clearance_mm(points)
    along = np.roll(points, 1, axis=0) - points
    along[~along.any(axis=1)] = [0, 0, 1]
    hits = surface.first_hit(points, along)
    np.testing.assert_array_equal(surface.blocked(points, along), hits.face >= 0)
    surface.crossings(surface)
    surface.crossings(Surface(vertices + size / 10, faces, engine=engine))
    distance_along(vertices, faces, [0, len(vertices) - 1], limit_mm=size * 2, engine=engine)
    ride(vertices, surface, points, engine)
    surface.refit(vertices[::-1]).closest(points) if surface_left(vertices[::-1], faces) else None


def ride(vertices: np.ndarray, surface: Surface, points: np.ndarray, engine: Compiled) -> None:
    """Have points ride the surface to its mirror image, where no turn is found."""
    with np.errstate(all="ignore"):
        skin, bound = RidingSkin(vertices, surface.faces), bind(surface, points)
    for posed in (vertices, vertices * [1.0, 1.0, -1.0]):
        engine.carry(skin._rest, bound.places, np.ascontiguousarray(posed))
        engine.lay_flat(np.ascontiguousarray(posed), skin.faces)


def surface_left(vertices: np.ndarray, faces: np.ndarray) -> bool:
    """Whether some face would have an area."""
    try:
        Surface(vertices, faces)
    except NoSurface:
        return False
    return True


def main() -> None:
    measured = 0
    for seed in range(1):
        rng = np.random.default_rng(seed)
        for vertices, faces in meshes(rng):
            for level in LEVELS:
                try:
                    ask_everything(vertices, faces, Compiled(LIBRARY, level), rng)
                    measured += 1
                except NoSurface:
                    continue
    print("measured", measured)


if __name__ == "__main__":
    main()
