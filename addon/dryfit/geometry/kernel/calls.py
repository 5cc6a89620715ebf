"""Typed calls into the compiled kernel, large ones spread over the processor's cores.

Everything here expects arrays checked by ``checked_arrays``: C-contiguous, of the right type, finite, indices in range.
ctypes lets other Python threads run while the kernel works.
"""

from __future__ import annotations

import ctypes
import os
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import numpy.typing as npt

from ..checked_arrays import Bytes, Flags, Floats, Ints, Signs
from ..engine import BoundPlaces, Nearest, RayHits, RestSkin, Tree, WeldedSkin

CHUNK = 8192
"""Queries a thread takes at a time."""
UNSORTED = 16
"""Queries that are asked as they come: sorting them costs more."""
_OF_THREAD = threading.local()

_ADDRESS, _COUNT, _WHOLE, _REAL = ctypes.c_void_p, ctypes.c_int64, ctypes.c_int32, ctypes.c_double
_SIGNATURES: dict[str, tuple[Any, str]] = {
    "build": (_ADDRESS, "aan"),
    "refit": (None, "aa"),
    "lean": (_WHOLE, "a"),
    "release": (None, "a"),
    "order": (_WHOLE, "anaaa"),
    "closest": (None, "anaaaaaaa"),
    "rays": (None, "anaaaanwaaa"),
    "crossings": (_COUNT, "aannaan"),
    "moments": (_WHOLE, "aa"),
    "winding": (None, "anaaa"),
    "weld": (_WHOLE, "ana"),
    "neighbours": (_WHOLE, "anna"),
    "orient": (_WHOLE, "aanaaa"),
    "vertex_normals": (None, "aanaa"),
    "sides": (None, "aaaaaanaaaadda"),
    "march": (_WHOLE, "anaanaandaa"),
    "carry": (_WHOLE, "ananaaaaaanaa"),
    "lay_flat": (None, "aanaaa"),
}
_LETTERS = {"a": _ADDRESS, "n": _COUNT, "w": _WHOLE, "d": _REAL}


def _address(array: npt.NDArray[Any]) -> int:
    return int(array.ctypes.data)


def _enough(status: int) -> int:
    if status < 0:
        raise MemoryError("the geometry kernel ran out of memory")
    return status


def use_threads(count: int) -> None:
    """Let large queries of the calling thread use so many threads from now on: others keep the other cores busy."""
    _OF_THREAD.count = max(count, 1)


def thread_count() -> int:
    """Return how many threads large queries of the calling thread use.

    What it was told to; else ``DRYFIT_THREADS``, else the cores this process may use.
    """
    told: int = getattr(_OF_THREAD, "count", 0)
    return told or usable_cores()


def usable_cores() -> int:
    """Return how many threads this process uses: ``DRYFIT_THREADS``, else the cores it may use."""
    chosen = os.environ.get("DRYFIT_THREADS", "")
    if chosen.isdigit() and int(chosen) > 0:
        return int(chosen)
    usable = getattr(os, "sched_getaffinity", None)
    return len(usable(0)) if usable else os.cpu_count() or 1


def _spread(work: Callable[[int, int], Any], count: int, chunk: int = CHUNK) -> list[Any]:
    """Call work(start, stop) over chunks of range(count), on every core where there is enough to do."""
    if count <= chunk:
        return [work(0, count)] if count else []
    starts = range(0, count, chunk)
    done: list[Any] = [None] * len(starts)
    turns = iter(range(len(starts)))

    def take_turns() -> None:
        for turn in turns:
            done[turn] = work(starts[turn], min(starts[turn] + chunk, count))

    others = min(thread_count(), len(starts)) - 1
    if others < 1:
        take_turns()
        return done
    # This thread works too: starting one costs as much as thousands of queries.
    with ThreadPoolExecutor(others) as pool:
        running = [pool.submit(take_turns) for _ in range(others)]
        take_turns()
    for each in running:
        each.result()
    return done


class Compiled:
    """The compiled kernel, in the widest variant this machine runs.

    Parameters
    ----------
    library : ctypes.CDLL
        What ``load_library`` returned.
    level : {"avx2", "base"}, optional
        Force a variant.
    """

    def __init__(self, library: ctypes.CDLL, level: str | None = None) -> None:
        level = level or ("avx2" if library.dryfit_has_avx2() else "base")
        self.name = f"compiled ({level})"
        for name, (result, letters) in _SIGNATURES.items():
            function = getattr(library, f"dryfit_{level}_{name}")
            function.restype = result
            function.argtypes = [_LETTERS[letter] for letter in letters]
            setattr(self, f"c_{name}", function)

    def __getattr__(self, name: str) -> Callable[..., Any]:
        raise AttributeError(name)

    def tree(self, vertices: Floats, faces: Ints) -> CompiledTree:
        """Arrange faces in space."""
        return CompiledTree(self, vertices, faces)

    def weld(self, vertices: Floats) -> Ints:
        """Return for each vertex the first vertex at the same position."""
        label = np.empty(len(vertices), np.int32)
        _enough(self.c_weld(_address(vertices), len(vertices), _address(label)))
        return label

    def neighbours(self, faces: Ints, vertex_count: int) -> Ints:
        """Return (m, 3) sides across each side."""
        neighbour = np.empty((len(faces), 3), np.int32)
        _enough(self.c_neighbours(_address(faces), len(faces), vertex_count, _address(neighbour)))
        return neighbour

    def orient(self, faces: Ints, neighbour: Ints) -> tuple[Ints, Signs, Bytes]:
        """Return piece (m,), turn (m,), seam (pieces,)."""
        piece, turn = np.empty(len(faces), np.int32), np.empty(len(faces), np.int8)
        seam = np.empty(len(faces), np.uint8)
        arrays = (_address(piece), _address(turn), _address(seam))
        pieces = _enough(self.c_orient(_address(faces), _address(neighbour), len(faces), *arrays))
        return piece, turn, seam[:pieces].copy()

    def vertex_normals(self, vertices: Floats, faces: Ints, turn: Signs) -> Floats:
        """Return (n, 3) angle-weighted normals, not of unit length."""
        normals = np.zeros((len(vertices), 3))
        self.c_vertex_normals(_address(vertices), _address(faces), len(faces), _address(turn), _address(normals))
        return normals

    def sides(self, skin: WeldedSkin, points: Floats, near: Nearest, slant: float, touch: float) -> Signs:
        """Return 1 outside, -1 inside, 0 on the surface, 2 beyond an open border, 3 undecided."""
        side = np.empty(len(points), np.int8)
        shape = [_address(array) for array in skin]

        def work(start: int, stop: int) -> None:
            rows = (points, near.face, near.feature, near.point)
            addresses = [_address(array[start:]) for array in rows]
            self.c_sides(*shape, stop - start, *addresses, slant, touch, _address(side[start:]))

        _spread(work, len(points))
        return side

    def march(
        self, vertices: Floats, faces: Ints, neighbour: Ints, sources: Ints, start: Floats, limit: float
    ) -> tuple[Floats, Ints]:
        """Return distance (n,) and the index into sources (n,)."""
        distance, source = np.empty(len(vertices)), np.empty(len(vertices), np.int32)
        mesh = (_address(vertices), len(vertices), _address(faces), _address(neighbour), len(faces))
        seeds = (_address(sources), _address(start), len(sources), limit)
        _enough(self.c_march(*mesh, *seeds, _address(distance), _address(source)))
        return distance, source

    def carry(self, skin: RestSkin, bound: BoundPlaces, vertices: Floats) -> tuple[Floats, Flags]:
        """Return points (k, 3), and whose turn was not found (k,)."""
        count = len(bound.face)
        points, wrong = np.empty((count, 3)), np.empty(count, np.bool_)
        rest = (
            _address(skin.faces),
            len(skin.faces),
            _address(skin.inverse),
            _address(skin.share),
            _address(skin.alone),
        )
        out = (
            _address(bound.face),
            _address(bound.weights),
            _address(bound.offset),
            count,
            _address(points),
            _address(wrong),
        )
        _enough(self.c_carry(_address(vertices), len(vertices), *rest, *out))
        return points, wrong

    def lay_flat(self, vertices: Floats, faces: Ints) -> tuple[Floats, Floats, Floats]:
        """Return the first edge's length, and the third corner along and above it, (m,) each."""
        base, along, height = (np.empty(len(faces)) for _ in range(3))
        out = _address(base), _address(along), _address(height)
        self.c_lay_flat(_address(vertices), _address(faces), len(faces), *out)
        return base, along, height


class CompiledTree:
    """Faces in the kernel's tree. Holds the arrays the tree points into, and frees it."""

    def __init__(self, engine: Compiled, vertices: Floats, faces: Ints) -> None:
        self.engine, self.vertices, self.faces = engine, vertices, faces
        self._handle = engine.c_build(_address(vertices), _address(faces), len(faces))
        self._weighted: Signs | None = None
        self._leaning = False
        self._lock = threading.Lock()
        if not self._handle:
            raise MemoryError(f"no memory for a tree over {len(faces)} faces")

    def __del__(self) -> None:
        handle, self._handle = getattr(self, "_handle", None), None
        if handle:
            self.engine.c_release(handle)

    def refit(self, vertices: Floats) -> None:
        """Move the vertices."""
        self.engine.c_refit(self._handle, _address(vertices))
        self.vertices, self._weighted, self._leaning = vertices, None, False

    def _lean(self) -> None:
        """Ready the tree for closest points: most trees are asked for rays or crossings alone."""
        if self._leaning:
            return
        with self._lock:
            if not self._leaning:
                _enough(self.engine.c_lean(self._handle))
                self._leaning = True

    def _order(self, points: Floats, directions: Floats | None) -> npt.NDArray[np.uint32]:
        """Return the rows along a curve through space, each core sorting a stretch of its own."""
        if len(points) <= UNSORTED:
            return np.arange(len(points), dtype=np.uint32)
        order = np.empty(len(points), np.uint32)

        def work(start: int, stop: int) -> None:
            own = order[start:stop]
            second = _address(directions[start:]) if directions is not None else None
            _enough(self.engine.c_order(self._handle, stop - start, _address(points[start:]), second, _address(own)))
            if start:
                own += np.uint32(start)

        few = len(points) <= CHUNK
        _spread(work, len(points), CHUNK if few else max(CHUNK, -(-len(points) // thread_count())))
        return order

    def closest(self, points: Floats) -> Nearest:
        """Return the closest point of any face; the lowest face number among equals."""
        self._lean()
        k = len(points)
        near = Nearest(np.empty(k), np.empty(k, np.int32), np.empty((k, 3)), np.empty((k, 3)), np.empty(k, np.uint8))
        order, out = self._order(points, None), [_address(array) for array in near]
        first, asked = _address(order), _address(points)

        def work(start: int, stop: int) -> None:
            self.engine.c_closest(self._handle, stop - start, first + order.itemsize * start, asked, *out)

        _spread(work, k)
        return near

    def _cast(self, origins: Floats, directions: Floats, limits: Floats, any_hit: bool) -> RayHits:
        k = len(origins)
        rows = 0 if any_hit else k
        hits = RayHits(np.empty(rows), np.empty(k, np.int32), np.empty((rows, 3)))
        order, out = self._order(origins, directions), [_address(array) for array in hits]
        step = 1 if limits.strides[0] else 0
        rays = (_address(origins), _address(directions), _address(limits), step, int(any_hit))
        first = _address(order)

        def work(start: int, stop: int) -> None:
            self.engine.c_rays(self._handle, stop - start, first + order.itemsize * start, *rays, *out)

        _spread(work, k)
        return hits

    def rays(self, origins: Floats, directions: Floats, limits: Floats) -> RayHits:
        """Return the first hit of each ray within its limit; both sides of a face count."""
        return self._cast(origins, directions, limits, False)

    def blocked(self, origins: Floats, directions: Floats, limits: Floats) -> Ints:
        """Return for each ray some face it hits within its limit, -1 for none."""
        return self._cast(origins, directions, limits, True).face

    def crossings(self, other: Tree, label: Ints | None) -> Ints:
        """Return (p, 2) crossing faces; with label this tree's own, sharing no label."""
        assert isinstance(other, CompiledTree)
        target, named = other._handle, None if label is None else _address(label)

        def work(start: int, stop: int) -> Ints:
            room = 4096
            while True:
                pairs = np.empty((room, 2), np.int32)
                call = (self._handle, target, start, stop, named, _address(pairs), room)
                count = _enough(self.engine.c_crossings(*call))
                if count <= room:
                    return pairs[:count].copy()
                room = count

        found = np.concatenate([np.empty((0, 2), np.int32), *_spread(work, len(self.faces))])
        return np.ascontiguousarray(found[np.lexsort((found[:, 1], found[:, 0]))])

    def winding(self, points: Floats, turn: Signs) -> Floats:
        """Return generalized winding numbers with faces weighted by turn."""
        if not len(points):
            return np.empty(0)
        with self._lock:
            if self._weighted is not turn:
                _enough(self.engine.c_moments(self._handle, _address(turn)))
                self._weighted = turn
        order = self._order(points, None)
        sorted_points, winding = points[order], np.empty(len(points))

        def work(start: int, stop: int) -> None:
            here = (_address(sorted_points[start:]), _address(turn), _address(winding[start:]))
            self.engine.c_winding(self._handle, stop - start, *here)

        _spread(work, len(points), CHUNK // 4)
        result = np.empty(len(points))
        result[order] = winding
        return result
