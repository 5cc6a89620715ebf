"""Measure how far each figure moves when nothing of a design changed, and keep it for comparisons.

    python scripts/measure_repeatability.py DESIGN.npz...

Each design is measured as it is and then as it would be after saving it again: vertices and faces in another order,
the whole scene moved and turned, coordinates rounded to 32 bits. The most that any figure moved is written to
addon/dryfit/batch/repeatability.json. Needs an environment with the package (scripts/test.py makes one).
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from dryfit import check, load_snapshot
from dryfit.geometry.rigid import RigidMotion, turn_about
from dryfit.model.snapshot import Lock, Motion, Part, Snapshot

OUT = Path(__file__).parent.parent / "addon" / "dryfit" / "batch" / "repeatability.json"
AXIS = np.array([0.36, 0.48, 0.8])
MOVED = turn_about(np.array([10.0, -5.0, 3.0]), AXIS, np.radians(7.0)).after(RigidMotion(np.eye(3), AXIS * 12.0))
KEPT_DIGITS = 2


def main() -> int:
    parser = argparse.ArgumentParser(description="Measure how far figures move when nothing changed.")
    parser.add_argument("designs", type=Path, nargs="+")
    designs = parser.parse_args().designs
    spread: dict[str, float] = {}
    for path in designs:
        for name, moved in spreads(load_snapshot(path)):
            spread[name] = max(spread.get(name, 0.0), moved)
            print(path.name, name, moved, flush=True)
    kept = {name: _rounded_up(moved) for name, moved in sorted(spread.items()) if moved > 1e-6}
    OUT.write_text(json.dumps({"designs": [path.stem for path in designs], "spread": kept}, indent=1) + "\n")
    return 0


def spreads(snapshot: Snapshot) -> Iterator[tuple[str, float]]:
    """Yield ``check.measure`` and how far it moved between a design and the same one saved again."""
    before, after = figures(snapshot), figures(saved_again(snapshot))
    for name in before.keys() & after.keys():
        moved = abs(after[name] - before[name])
        if np.isfinite(moved):
            yield name, moved


def figures(snapshot: Snapshot) -> dict[str, float]:
    """Return every number that the checks measure on a design."""
    checks = check(snapshot).checks
    return {
        f"{result.id}.{name}": float(value)
        for result in checks
        for name, value in result.measures.items()
        if isinstance(value, int | float)
    }


def saved_again(snapshot: Snapshot) -> Snapshot:
    """Return the same design in another place, order and rounding."""
    random = np.random.default_rng(11)
    orders = {part.name: random.permutation(len(part.vertices_mm)) for part in snapshot.parts}
    lock = snapshot.lock
    if lock is not None and len(lock.vertices_mm) == len(snapshot.base.vertices_mm):
        lock = Lock(lock.fingerprint, _moved(lock.vertices_mm, orders[snapshot.base.name]))
    return replace(
        snapshot,
        parts=tuple(_part(part, orders[part.name], random) for part in snapshot.parts),
        landmarks={name: MOVED.apply(point) for name, point in snapshot.landmarks.items()},
        motions={name: _motion(motion, orders) for name, motion in snapshot.motions.items()},
        cameras=(),
        lock=lock,
    )


def _part(part: Part, order: np.ndarray, random: np.random.Generator) -> Part:
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    faces = random.permutation(place[part.faces])
    areas = {name: weights[order] for name, weights in part.areas.items()}
    return replace(part, vertices_mm=_moved(part.vertices_mm, order), faces=faces, areas=areas)


def _motion(motion: Motion, orders: Mapping[str, np.ndarray]) -> Motion:
    frames = {name: _moved(posed, orders[name], 1) for name, posed in motion.frames_mm.items()}
    return replace(motion, frames_mm=frames)


def _moved(points_mm: np.ndarray, order: np.ndarray, axis: int = 0) -> np.ndarray:
    return MOVED.apply(np.take(points_mm, order, axis=axis)).astype(np.float32).astype(np.float64)


def _rounded_up(value: float) -> float:
    scale = 10.0 ** (np.floor(np.log10(value)) - KEPT_DIGITS + 1)
    return float(f"{np.ceil(value / scale) * scale:.9g}")


if __name__ == "__main__":
    raise SystemExit(main())
