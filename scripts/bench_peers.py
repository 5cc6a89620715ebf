"""The geometry kernel against libigl, FCPW, Open3D, Embree (through embreex) and Blender's mathutils, side by side.

Every job is given to every library in turn, several rounds of it, so that whatever else the machine does hits
all alike; only the ratios are to be trusted. Slow libraries get one part in ten or fifty of the queries and are
scaled up: the queries are independent. A library that isn't installed is left out.

Libraries differ in how many threads they use, so each cell has seconds elapsed, processor seconds and the threads that
were seen at work; rays are asked once more with every library held to one thread.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

import dryfit
from dryfit.geometry import Surface

ROOT = Path(__file__).resolve().parent.parent
HEAD = ROOT / "demo.blend-generator" / "data" / "makehuman_head_cc0.npz"
RESULTS = Path(__file__).resolve().parent / "bench_results"
READING = RESULTS / "peers_reading.md"
"""What is to be said of the figures; it closes the report."""
EYE = np.array([40.0, 30.0, 900.0])
RUN = 1000
"""Queries in a row that a slow library gets before some are left out."""
Array = np.ndarray[Any, Any]


# ---- the surfaces ------------------------------------------------------------------------------------------------


def synthetic_scan(face_count: int) -> tuple[Array, Array]:
    """Return a bumpy head-sized ellipsoid."""
    rows = max(8, int((face_count / 4) ** 0.5))
    down, round_ = np.meshgrid(np.linspace(0.05, np.pi - 0.05, rows), np.arange(2 * rows) * np.pi / rows, indexing="ij")
    ball = np.stack([np.sin(down) * np.cos(round_), np.cos(down), np.sin(down) * np.sin(round_)], axis=-1)
    bumps = 1 + 0.06 * np.sin(7 * down) * np.cos(9 * round_) + 0.002 * np.sin(90 * down) * np.sin(110 * round_)
    vertices = (ball * bumps[..., None] * [75, 110, 95]).reshape(-1, 3)
    cell = np.arange(rows - 1)[:, None] * 2 * rows + np.arange(2 * rows)
    right = np.arange(rows - 1)[:, None] * 2 * rows + (np.arange(2 * rows) + 1) % (2 * rows)
    a, b, c, d = cell.ravel(), right.ravel(), right.ravel() + 2 * rows, cell.ravel() + 2 * rows
    return vertices, np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])


def real_head(face_count: int) -> tuple[Array, Array]:
    """Return the CC0 head, cut finer until it has about as many faces."""
    with np.load(HEAD) as stored:
        quads, vertices = stored["F"].astype(np.int64), stored["V_mm"].astype(np.float64)
    second = quads[quads[:, 3] >= 0][:, [0, 2, 3]]
    faces = np.concatenate([quads[:, :3], second])
    vertices = vertices - vertices[faces].mean(axis=(0, 1))
    while len(faces) * 2.5 < face_count:
        vertices, faces = cut_in_four(vertices, faces)
    return vertices, faces


def cut_in_four(vertices: Array, faces: Array) -> tuple[Array, Array]:
    """Return every triangle cut at the middles of its sides."""
    sides = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    unique, which = np.unique(sides, axis=0, return_inverse=True)
    ab, bc, ca = (which.reshape(3, -1) + len(vertices)).astype(faces.dtype)
    a, b, c = faces.T
    parts = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
    return np.concatenate([vertices, vertices[unique].mean(axis=1)]), np.concatenate([np.stack(p, 1) for p in parts])


# ---- the libraries -----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Peer:
    """One library: how to build, and what it can be asked. Missing abilities are None."""

    name: str
    module: str
    build: Callable[[Array, Array], Any]
    closest: Callable[[Any, Array], Any] | None = None
    first: Callable[[Any, Array, Array], Any] | None = None
    blocked: Callable[[Any, Array, Array], Any] | None = None
    refit: Callable[[Any, Array], Any] | None = None
    first_alone: Callable[[Any, Array, Array], Any] | None = None
    blocked_alone: Callable[[Any, Array, Array], Any] | None = None
    """Rays on one thread."""
    thin: int = 1
    """Ask only every so many points."""
    thin_rays: int = 1

    def installed(self) -> bool:
        """Whether the library imports."""
        try:
            importlib.import_module(self.module)
        except (ImportError, OSError):
            return False
        return True


def dryfit_surface(vertices: Array, faces: Array) -> Surface:
    """Build Dryfit's tree, with what only closest points need and what is otherwise left until they are asked for."""
    surface = Surface(vertices, faces)
    surface._tree._lean()
    return surface


def dryfit_refit(surface: Surface, vertices: Array) -> None:
    """Refit Dryfit's tree, with the same."""
    surface._tree.refit(vertices)
    surface._tree._lean()


def libigl_tree(vertices: Array, faces: Array) -> Any:
    """Build libigl's tree."""
    import igl

    tree = igl.AABB()
    tree.init(vertices, faces)
    return tree, vertices, faces


def libigl_closest(built: Any, points: Array) -> Any:
    """Ask libigl."""
    tree, vertices, faces = built
    return tree.squared_distance(vertices, faces, points)


def fcpw_scene(vertices: Array, faces: Array) -> Any:
    """Build FCPW's vectorised tree."""
    import fcpw

    scene = fcpw.scene_3D()
    scene.set_object_count(1)
    scene.set_object_vertices(np.asfortranarray(vertices, np.float32), 0)
    scene.set_object_triangles(np.asfortranarray(faces, np.int32), 0)
    scene.build(fcpw.aggregate_type.bvh_surface_area, True, False)
    return scene


def fcpw_closest(scene: Any, points: Array) -> Any:
    """Ask FCPW."""
    import fcpw

    found = fcpw.interaction_3D_list()
    scene.find_closest_points(np.asfortranarray(points, np.float32), np.full(len(points), 3e38, np.float32), found)
    return found


def fcpw_refit(scene: Any, vertices: Array) -> Any:
    """Refit FCPW."""
    scene.update_object_vertices(np.asfortranarray(vertices, np.float32), 0)
    scene.refit()


def open3d_scene(vertices: Array, faces: Array) -> Any:
    """Build Open3D's scene."""
    import open3d

    scene = open3d.t.geometry.RaycastingScene()
    scene.add_triangles(vertices.astype(np.float32), faces.astype(np.uint32))
    scene.compute_closest_points(np.zeros((1, 3), np.float32))
    return scene


def packed_rays(origins: Array, directions: Array) -> Array:
    """Return rays the way Open3D takes them."""
    return np.concatenate([origins, directions], axis=1).astype(np.float32)


def embree_scene(vertices: Array, faces: Array) -> Any:
    """Build Embree's scene."""
    from embreex.mesh_construction import TriangleMesh
    from embreex.rtcore_scene import EmbreeScene

    scene = EmbreeScene()
    TriangleMesh(scene, vertices.astype(np.float32), faces.astype(np.int32))
    scene.run(np.zeros((1, 3), np.float32), np.ones((1, 3), np.float32))
    return scene


def embree_ask(query: str) -> Callable[[Any, Array, Array], Any]:
    """Return a caller of Embree's query."""

    def ask(scene: Any, origins: Array, directions: Array) -> Any:
        return scene.run(origins.astype(np.float32), directions.astype(np.float32), query=query)

    return ask


def alone(ask: Callable[..., Any]) -> Callable[..., Any]:
    """Return Dryfit's question asked on one thread."""

    def on_one(*given: Any) -> Any:
        before = os.environ.get("DRYFIT_THREADS")
        os.environ["DRYFIT_THREADS"] = "1"
        try:
            return ask(*given)
        finally:
            if before is None:
                del os.environ["DRYFIT_THREADS"]
            else:
                os.environ["DRYFIT_THREADS"] = before

    return on_one


def mathutils_tree(vertices: Array, faces: Array) -> Any:
    """Build Blender's tree."""
    import bpy  # noqa: F401
    from mathutils.bvhtree import BVHTree

    return BVHTree.FromPolygons(vertices.tolist(), faces.tolist(), all_triangles=True)


PEERS = [
    Peer(
        "dryfit", "dryfit.geometry", dryfit_surface, lambda s, p: s._tree.closest(p), lambda s, o, d: s.first_hit(o, d),
        lambda s, o, d: s.blocked(o, d), dryfit_refit,
        alone(lambda s, o, d: s.first_hit(o, d)), alone(lambda s, o, d: s.blocked(o, d)),
    ),
    Peer("libigl", "igl", libigl_tree, libigl_closest, thin=10),
    Peer("FCPW", "fcpw", fcpw_scene, fcpw_closest, refit=fcpw_refit, thin=10),
    Peer(
        "Open3D", "open3d", open3d_scene, lambda s, p: s.compute_closest_points(p.astype(np.float32)),
        lambda s, o, d: s.cast_rays(packed_rays(o, d)), lambda s, o, d: s.test_occlusions(packed_rays(o, d)), None,
        lambda s, o, d: s.cast_rays(packed_rays(o, d), nthreads=1),
        lambda s, o, d: s.test_occlusions(packed_rays(o, d), nthreads=1), thin=10,
    ),
    Peer(
        "Embree", "embreex", embree_scene, None, embree_ask("INTERSECT"), embree_ask("OCCLUDED"), None,
        embree_ask("INTERSECT"), embree_ask("OCCLUDED"),
    ),
    Peer(
        "mathutils", "bpy", mathutils_tree, lambda t, p: [t.find_nearest(x) for x in p.tolist()],
        lambda t, o, d: [t.ray_cast(*x) for x in zip(o.tolist(), d.tolist(), strict=True)],
        lambda t, o, d: [t.ray_cast(*x) for x in zip(o.tolist(), d.tolist(), strict=True)], thin=50, thin_rays=50,
    ),
]  # fmt: skip


# ---- the jobs ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Job:
    """One kind of question, with its queries."""

    name: str
    ability: str
    queries: tuple[Array, ...]

    def share(self, thin: int) -> tuple[Array, ...]:
        """Return one part in thin of the queries, in runs from everywhere: coherent ones stay coherent."""
        chosen = np.arange(len(self.queries[0])) // RUN % thin == 0
        return tuple(np.ascontiguousarray(q[chosen]) for q in self.queries)


def jobs(vertices: Array, faces: Array, count: int, seed: int = 0) -> Iterator[Job]:
    """Yield the jobs on one surface."""
    rng = np.random.default_rng(seed)
    corners = vertices[faces[rng.integers(0, len(faces), count)]]
    on = np.einsum("ki,kij->kj", rng.dirichlet([1, 1, 1], count), corners)
    yield Job("closest, random", "closest", (on + rng.normal(size=(count, 3)) * 3,))
    used = np.unique(faces)
    yield Job("closest, coherent", "closest", (np.ascontiguousarray(vertices[used] * 1.01),))
    eyes = on * 1.001
    yield Job("rays, visibility", "blocked", (eyes, EYE - eyes))
    yield Job("visibility, one thread each", "blocked_alone", (eyes, EYE - eyes))
    side = int(count**0.5)
    x, y = np.meshgrid(np.linspace(-110, 110, side), np.linspace(-130, 130, side))
    grid = np.stack([x.ravel(), y.ravel(), np.zeros(side * side)], axis=1)
    yield Job("rays, primary", "first", (np.tile(EYE, (side * side, 1)), grid - EYE))
    yield Job("primary, one thread each", "first_alone", (np.tile(EYE, (side * side, 1)), grid - EYE))


def seconds(work: Callable[[], Any]) -> tuple[float, float]:
    """Return how long a call takes, and the processor time it costs on all cores."""
    start, spent = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - start, time.process_time() - spent


def task_seconds() -> dict[str, float]:
    """Return the processor seconds of every thread of this process so far, by thread (Linux)."""
    spent = {}
    for task in Path("/proc/self/task").iterdir():
        try:
            spent[task.name] = int((task / "schedstat").read_text().split()[0]) / 1e9
        except OSError:  # it ended meanwhile
            continue
    return spent


@contextmanager
def counted_threads(found: list[int]) -> Iterator[None]:
    """Put into found how many threads work meanwhile, at most at one time.

    A thread works that takes a fiftieth of the processor time or more. Threads that come and go are seen by looking
    every few milliseconds, from a thread of its own, which is left out.
    """
    seen, done = [task_seconds()], threading.Event()

    def look() -> None:
        while not done.wait(0.002):
            seen.append(task_seconds())

    watcher = threading.Thread(target=look)
    watcher.start()
    try:
        yield
    finally:
        done.set()
        watcher.join()
        seen.append(task_seconds())
        last = {task: value for moment in seen for task, value in moment.items() if task != str(watcher.native_id)}
        spent = {task: value - seen[0].get(task, 0.0) for task, value in last.items()}
        workers = {task for task, value in spent.items() if value > sum(spent.values()) / 50}
        found.append(max(len(workers & {*moment}) for moment in seen))


@dataclass
class Timing:
    """Seconds by job and library over the rounds, elapsed and of processor time; and threads seen at work."""

    taken: dict[str, dict[str, list[tuple[float, float]]]] = field(default_factory=dict)
    threads: dict[str, dict[str, int]] = field(default_factory=dict)

    def note(self, job: str, peer: str, cost: tuple[float, float], scale: float = 1.0) -> None:
        """Add one measurement."""
        self.taken.setdefault(job, {}).setdefault(peer, []).append((cost[0] * scale, cost[1] * scale))

    def take(self, job: str, peer: str, work: Callable[[], Any], scale: float, warming: bool) -> None:
        """Do a job: for its cost or, in the round that warms up, to see who works at it."""
        if not warming:
            self.note(job, peer, seconds(work), scale)
            return
        found: list[int] = []
        with counted_threads(found):
            work()
        self.threads.setdefault(job, {})[peer] = found[0]

    def median(self, job: str, peer: str, kind: int = 0) -> float | None:
        """Return the median elapsed (kind 0) or processor (1) seconds; None where it can't do that."""
        costs = self.taken[job].get(peer)
        return statistics.median(cost[kind] for cost in costs) if costs else None

    def ratio(self, job: str, peer: str, kind: int = 0) -> float | None:
        """Return how many times Dryfit's seconds a library takes."""
        value, own = self.median(job, peer, kind), self.median(job, "dryfit", kind)
        return value / own if value is not None and own else None


def measure(vertices: Array, faces: Array, count: int, rounds: int, peers: list[Peer]) -> Timing:
    """Time every job with every library, interleaved, after one round that warms up."""
    timing, built = Timing(), dict[str, Any]()
    moved = np.ascontiguousarray(vertices * [1.01, 0.99, 1.0])
    for number in range(rounds + 1):
        warming = number == 0
        for peer in peers:
            built.pop(peer.name, None)
            timing.take("build", peer.name, lambda: built.update({peer.name: peer.build(vertices, faces)}), 1, warming)  # noqa: B023
        for job in jobs(vertices, faces, count):
            for peer in peers:
                ask = getattr(peer, job.ability)
                if ask:
                    some = job.share(peer.thin if job.ability == "closest" else peer.thin_rays)
                    scale = len(job.queries[0]) / len(some[0])
                    timing.take(job.name, peer.name, lambda: ask(built[peer.name], *some), scale, warming)  # noqa: B023
        for peer in peers:
            if peer.refit:
                timing.take("refit", peer.name, lambda: peer.refit(built[peer.name], moved), 1, warming)  # noqa: B023
        print("round done", file=sys.stderr)
    return timing


def peak_memory(peer: str, scan: str, face_count: int) -> float:
    """Return the megabytes a build adds to a fresh process at its peak, inputs not counted; nan where that fails."""
    code = f"import bench_peers as b; b.report_memory({peer!r}, {scan!r}, {face_count})"
    paths = [str(Path(__file__).resolve().parent), str(Path(dryfit.__file__).resolve().parents[1])]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(paths)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=False)
    if done.returncode:
        print(f"memory of {peer} on the {scan} not measured: {done.stderr.strip()[-500:]}", file=sys.stderr)
        return float("nan")
    return float(done.stdout.splitlines()[-1])


def report_memory(name: str, scan: str, face_count: int) -> None:
    """Build once and print how far the peak rose, MB."""
    peer = next(p for p in PEERS if p.name == name)
    peer.build(*synthetic_scan(2000))
    vertices, faces = SCANS[scan](face_count)
    Path("/proc/self/clear_refs").write_text("5")
    before = resident_peak()
    kept = peer.build(vertices, faces)
    print(resident_peak() - before if kept else 0, flush=True)


def resident_peak() -> float:
    """Return the most memory this process has held since it last reset that, MB (Linux)."""
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1e3


SCANS: dict[str, Callable[[int], tuple[Array, Array]]] = {"synthetic scan": synthetic_scan, "real head": real_head}


# ---- the report --------------------------------------------------------------------------------------------------


def table(scan: str, face_count: int, timing: Timing, memory: dict[str, float], names: list[str]) -> list[str]:
    """Return Markdown: seconds elapsed and of the processor, threads, and how many times those of Dryfit."""
    head = "| job | " + " | ".join(names) + " |"
    lines = [f"## {scan}, {face_count:,} triangles", "", head, "|---" * (len(names) + 1) + "|"]
    for job in timing.taken:
        lines.append(f"| {job} | " + " | ".join(cell(timing, job, name) for name in names) + " |")
    if memory:
        cells = [f"{memory[name] * 1e6 / face_count:.0f} B" if name in memory else "" for name in names]
        lines.append("| peak memory a triangle | " + " | ".join(cells) + " |")
    return [*lines, ""]


def cell(timing: Timing, job: str, name: str) -> str:
    """Return one library's costs of one job; nothing where it can't do it."""
    elapsed, spent = timing.median(job, name), timing.median(job, name, 1)
    if elapsed is None or spent is None:
        return ""
    text = f"{elapsed:.3f} s, {spent:.3f} s, {timing.threads[job][name]} t"
    if name == "dryfit":
        return text
    return f"{text} ({timing.ratio(job, name):.1f}x, {timing.ratio(job, name, 1):.1f}x)"


def plot(timings: dict[str, Timing], names: list[str], path: Path) -> None:
    """Draw how many times slower each library is, on a log scale."""
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(1, len(timings), figsize=(6 * len(timings), 4.2), sharey=True, squeeze=False)
    for axis, (scan, timing) in zip(axes[0], timings.items(), strict=True):
        for offset, name in enumerate(names):
            rows = [(i, timing.ratio(job, name, 1)) for i, job in enumerate(timing.taken)]
            rows = [row for row in rows if row[1]]
            places = [i + (offset - len(names) / 2) * 0.14 for i, _ in rows]
            axis.barh(places, [ratio for _, ratio in rows], height=0.13, label=name)
        axis.set_yticks(range(len(timing.taken)), list(timing.taken))
        axis.set_xscale("log")
        axis.axvline(1, color="black", linewidth=0.8)
        axis.set_title(scan)
        axis.set_xlabel("times Dryfit's processor time (shorter is faster)")
    axes[0][0].invert_yaxis()
    axes[0][-1].legend(fontsize=8)
    figure.tight_layout()
    figure.savefig(path, dpi=130)


def run(chosen: argparse.Namespace) -> int:
    """Measure, and write peers.md, peers.json and peers.png."""
    peers = [peer for peer in PEERS if peer.installed()]
    names = [peer.name for peer in peers]
    RESULTS.mkdir(exist_ok=True)
    timings: dict[str, Timing] = {}
    lines = [
        "# The geometry kernel beside other libraries",
        "",
        f"Median of {chosen.rounds} interleaved rounds after one that warms up, {chosen.queries:,} random queries; "
        f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start. Each cell: seconds elapsed, processor "
        "seconds on all cores, threads that worked (t); in brackets how many times Dryfit's the elapsed and the "
        "processor seconds are. On a machine that does other work only processor seconds mean much. In the rows "
        "`one thread each` every library is held to one thread.",
        "",
        "Made by `python scripts/bench.py peers`.",
        "",
    ]
    for scan, make in SCANS.items():
        vertices, faces = make(chosen.faces)
        faces = np.ascontiguousarray(faces, dtype=np.int64)
        timings[scan] = measure(vertices, faces, chosen.queries, chosen.rounds, peers)
        memory = {} if chosen.no_memory else {name: peak_memory(name, scan, chosen.faces) for name in names}
        lines += table(scan, len(faces), timings[scan], memory, names)
    lines.append(READING.read_text(encoding="utf-8").rstrip() + "\n")
    (RESULTS / "peers.md").write_text("\n".join(lines))
    kept = {scan: {"seconds": t.taken, "threads": t.threads} for scan, t in timings.items()}
    (RESULTS / "peers.json").write_text(json.dumps(kept, indent=1))
    plot(timings, names, RESULTS / "peers.png")
    print("\n".join(lines))
    return 0


def add_to(commands: Any) -> None:
    """Add the subcommand."""
    parser = commands.add_parser("peers", help="the geometry kernel against other libraries")
    parser.add_argument("--faces", type=int, default=1_000_000)
    parser.add_argument("--queries", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--no-memory", action="store_true", help="don't measure peak memory")
    parser.set_defaults(run=run)
