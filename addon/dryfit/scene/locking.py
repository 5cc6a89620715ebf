"""Lock the base: keep its fingerprint and its vertices on the object, so that any later change shows.

``object["dryfit_lock_fingerprint"]`` is the fingerprint as text. ``object["dryfit_lock_vertices"]`` is bytes:
the zlib-compressed differences between one vertex and the next, in whole micrometres, as little-endian int32 in
byte planes; a 100k-vertex scan takes well under a megabyte.
"""

import zlib

import numpy as np

from ..model.arrays import FloatArray
from ..model.fingerprint import STEP_MM, fingerprint
from ..model.snapshot import Lock, Part
from .blender import BlenderObject
from .errors import BadStoredValue

FINGERPRINT = "dryfit_lock_fingerprint"
VERTICES = "dryfit_lock_vertices"
INT32 = np.dtype("<i4")


def stored_lock(item: BlenderObject) -> Lock | None:
    """Return the lock kept on the object, or None.

    Raises
    ------
    BadStoredValue
        When the stored vertices are damaged.
    """
    print_then = item.get(FINGERPRINT)
    if print_then in (None, ""):
        return None
    packed = item.get(VERTICES)
    if packed is None:
        return Lock(str(print_then))
    try:
        return Lock(str(print_then), unpacked(bytes(packed)))
    except (zlib.error, ValueError, TypeError) as error:
        raise BadStoredValue(item.name, VERTICES, str(error)) from error


def store_lock(item: BlenderObject, base: Part) -> Lock:
    """Keep the base as it is now on its object, and return the lock."""
    lock = Lock(fingerprint(base.vertices_mm, base.faces), base.vertices_mm)
    item[FINGERPRINT] = lock.fingerprint
    item[VERTICES] = packed(lock.vertices_mm)
    return lock


def unlock_base(item: BlenderObject) -> None:
    """Forget the lock of an object; nothing happens to one that has none."""
    for name in (FINGERPRINT, VERTICES):
        if name in item:
            del item[name]


def packed(vertices_mm: FloatArray) -> bytes:
    """Return vertices ``(n, 3)``, mm, as compressed bytes, rounded to 1 µm."""
    steps = np.round(vertices_mm / STEP_MM).astype(INT32)
    differences = np.diff(steps, axis=0, prepend=np.zeros((1, 3), INT32)).astype(INT32)
    planes = np.ascontiguousarray(differences).view(np.uint8).reshape(-1, INT32.itemsize).T
    return zlib.compress(planes.tobytes(), 6)


def unpacked(stored: bytes) -> FloatArray:
    """Return the vertices ``(n, 3)``, mm, that ``packed`` made into bytes.

    Raises
    ------
    zlib.error, ValueError
        When the bytes are damaged.
    """
    planes = np.frombuffer(zlib.decompress(stored), np.uint8).reshape(INT32.itemsize, -1)
    differences = np.ascontiguousarray(planes.T).view(INT32).reshape(-1, 3)
    vertices_mm: FloatArray = np.cumsum(differences, axis=0, dtype=np.int64) * STEP_MM
    return vertices_mm
