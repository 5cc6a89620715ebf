"""Lock the base: keep its fingerprint and its vertices on the object, so that any later change shows.

``object["dryfit_lock_fingerprint"]`` is the fingerprint as text. ``object["dryfit_lock_vertices"]`` is text in base64:
the zlib-compressed differences between one vertex and the next, in whole micrometres, as little-endian int32
in byte planes; a 100k-vertex scan takes about a megabyte. Before 0.2.0 it was bytes, which are read too; scene formats
cut those short and take them for text, and Blender cannot open a USD text file that holds some.
"""

import base64
import zlib

import numpy as np

from ..model.admission import admit_part
from ..model.arrays import FloatArray
from ..model.brief import Brief
from ..model.fingerprint import STEP_MM, fingerprint
from ..model.snapshot import Lock, Part, Role
from .blender import BlenderContext, BlenderObject, blender
from .errors import BadStoredValue
from .instances import with_instanced
from .motions import motions_here, posed_motions
from .posable_scene import posable_scene
from .posing import key_names
from .rigs import rig_faults
from .roles import Played
from .units import mm_per_unit

FINGERPRINT = "dryfit_lock_fingerprint"
VERTICES = "dryfit_lock_vertices"
INT32 = np.dtype("<i4")
BASE64 = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/=")


def stored_lock(item: BlenderObject) -> Lock | None:
    """Return the lock kept on the object, or None.

    Raises
    ------
    BadStoredValue
        When the stored vertices are damaged. What a scene format left of bytes is text beyond base64: then
        the fingerprint alone counts.
    """
    print_then = item.get(FINGERPRINT)
    if print_then in (None, ""):
        return None
    stored = item.get(VERTICES)
    if stored is None:
        return Lock(str(print_then))
    if isinstance(stored, str) and not set(stored) <= BASE64:
        return Lock(str(print_then))
    try:
        content = base64.b64decode(stored, validate=True) if isinstance(stored, str) else bytes(stored)
        return Lock(str(print_then), unpacked(content))
    except (zlib.error, ValueError, TypeError) as error:
        raise BadStoredValue(item.name, VERTICES, str(error)) from error


def lock_base(item: BlenderObject, context: BlenderContext | None = None, brief: Brief | None = None) -> Lock:
    """Keep the base as it is now, read as a check reads it, and return the lock.

    Parameters
    ----------
    item
        The object to lock, of the context's scene; whatever its role is.
    context
        ``bpy.context`` by default.
    brief
        The brief that the design is checked with: its motions tell which shape keys are at rest.

    Raises
    ------
    NoFaces, NotFiniteCoordinates, BadFaceIndex, ZeroArea
        When the object is no surface that could be measured.
    InputError
        When it cannot be read.
    """
    return store_lock(item, base_at_rest(item, context or blender().context, brief))


def base_at_rest(item: BlenderObject, context: BlenderContext, brief: Brief | None = None) -> Part:
    """Return an object as a base that may be locked, read as a check reads it; the parameters of ``lock_base``.

    Raises
    ------
    NoFaces, NotFiniteCoordinates, BadFaceIndex, ZeroArea
        When the object is no surface that could be measured.
    InputError
        When it cannot be read.
    """
    scene, played = context.scene, (Played(item.name, Role.BASE, item),)
    asked, objects = posed_motions(scene, brief or Brief()), with_instanced(scene.objects)
    faults = rig_faults(asked, objects)
    found = motions_here(asked, key_names(objects))
    motions = {name: motion for name, motion in found.items() if name not in faults}
    with posable_scene(context, played, (), motions, mm_per_unit(scene)) as posable:
        (base,) = posable.parts()
    admit_part(base)
    return base


def store_lock(item: BlenderObject, base: Part) -> Lock:
    """Keep the base as it is now on its object, and return the lock.

    An earlier lock is deleted first: bytes written over a property that is there end at their first zero byte.
    """
    unlock_base(item)
    lock = Lock(fingerprint(base.vertices_mm, base.faces), base.vertices_mm)
    item[FINGERPRINT] = lock.fingerprint
    item[VERTICES] = base64.b64encode(packed(lock.vertices_mm)).decode("ascii")
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
    vertices_mm: FloatArray = np.cumsum(differences, axis=0, dtype=np.int64) * np.float64(STEP_MM)
    return vertices_mm
