"""Time Live on a million vertices: print what one stroke over 20,000 of them costs, ours alone.

    python3 scripts/bench_live.py [--vertices N] [--stroke K]
    python3 scripts/bench_live.py --window sid [--vertices N] [--radius PIXELS] [--strokes COUNT]

Without ``--window`` it measures ``checks.following`` with the compiled kernel, without Blender. With it, strokes are
drawn by mouse events in the Sculpt Mode of a real Blender that ``blender_window.py setup`` made (sid: Debian's trixie
ships Blender without brushes), and each step of a refresh is printed as wall / processor milliseconds.
"""

import argparse
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "addon"))
import numpy as np

from dryfit.geometry import Surface
from dryfit.geometry.following import Following

ROOT = Path(__file__).resolve().parent.parent


def dome(steps: int, width_mm: float, lift_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """Return a gently domed sheet of ``steps`` x ``steps`` vertices, ``lift_mm`` high at its middle."""
    line = np.linspace(-width_mm / 2, width_mm / 2, steps)
    x, y = (grid.ravel() for grid in np.meshgrid(line, line, indexing="ij"))
    index = np.arange(steps * steps).reshape(steps, steps)
    a, b, c, d = (part.ravel() for part in (index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]))
    faces = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    return np.stack([x, y, lift_mm - (x**2 + y**2) / 200.0], axis=1), faces


def in_window(given: argparse.Namespace) -> str:
    """Sculpt in a real window and return what it printed."""
    import blender_window as window

    place = window.place_for(given.window)
    for each in ("addon/dryfit", "tests/window/driving.py"):
        window.share(place, ROOT / each, each.removeprefix("tests/window/"))
    script = window.share(place, ROOT / "tests/window/live_bench.py")
    numbers = [str(each) for each in (given.vertices, given.radius, given.strokes)]
    blender = ["--factory-startup", "--enable-event-simulate", "--python", script, "--", *numbers]
    return window.run(place, blender, seconds=900)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--vertices", type=int, default=1_000_000)
    parser.add_argument("--stroke", type=int, default=20_000)
    parser.add_argument("--window", choices=("sid", "trixie"))
    parser.add_argument("--radius", type=int, default=100)
    parser.add_argument("--strokes", type=int, default=5)
    given = parser.parse_args()
    if given.window:
        print(in_window(given))
        return 0
    base = Surface(*dome(320, 120.0, 0.0))
    points, faces = dome(int(given.vertices**0.5), 90.0, 2.0)
    started = time.perf_counter()
    following = Following(base, points, faces, np.arange(len(faces)), 0.2)
    print(f"start: {time.perf_counter() - started:.1f} s for {len(points)} vertices over {len(base.faces)} triangles")
    random, times, ours = np.random.default_rng(1), [], []
    last = points.astype(np.float32).ravel()
    for _ in range(10):
        centre = points[random.integers(len(points))]
        near = np.argsort(((points - centre) ** 2).sum(axis=1))[: given.stroke]
        now = last.copy().reshape(-1, 3)
        now[near, 2] -= 0.5
        begun, used = time.perf_counter(), time.process_time()
        moved = np.unique(np.flatnonzero(now.ravel() != last) // 3)
        following.follow(moved, now[moved].astype(np.float64))
        times.append(time.perf_counter() - begun)
        ours.append(time.process_time() - used)
        last = now.ravel()
    median, worst = 1000 * statistics.median(times), 1000 * max(times)
    print(f"stroke of {given.stroke}: median {median:.0f} ms, worst {worst:.0f} ms")
    print(f"processor time: median {1000 * statistics.median(ours):.0f} ms")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
