"""The base that was indexed last, kept for the next design on it: many variants, one scan."""

import hashlib
from threading import Lock

import numpy as np

from ..geometry import Surface
from ..model.arrays import FloatArray, IntArray


class IndexedBases:
    """Keeps one base's index, with all that was worked out on it; found again by its vertices and faces to the bit.

    Safe to ask from several threads.
    """

    def __init__(self) -> None:
        self.built = 0
        self._lock = Lock()
        self._content = b""
        self._surface: Surface | None = None

    def surface(self, vertices_mm: FloatArray, faces: IntArray) -> Surface:
        """Return the indexed surface; it must not be refitted.

        Parameters
        ----------
        vertices_mm
            ``(n, 3)``, mm.
        faces
            ``(m, 3)``.

        Raises
        ------
        NoSurface, BadFaces, NotFinite
            As ``Surface``.
        """
        content = _content_of(vertices_mm, faces)
        with self._lock:
            if self._surface is None or content != self._content:
                self._surface, self._content = Surface(vertices_mm, faces), content
                self.built += 1
            return self._surface


def _content_of(vertices_mm: FloatArray, faces: IntArray) -> bytes:
    digest = hashlib.sha256(np.ascontiguousarray(vertices_mm).tobytes())
    digest.update(np.ascontiguousarray(faces).tobytes())
    return digest.digest()
