"""A base's fingerprint: the same mesh gives the same one, a vertex moved by over 1 µm another."""

import hashlib

import numpy as np

from .arrays import FloatArray, IntArray

STEP_MM = 0.001


def fingerprint(vertices_mm: FloatArray, faces: IntArray) -> str:
    """Return the SHA-256 of vertices ``(n, 3)`` rounded to 1 µm and faces ``(m, 3)``, as hex digits."""
    steps = np.round(vertices_mm / STEP_MM).astype("<i8")
    digest = hashlib.sha256(steps.tobytes())
    digest.update(np.ascontiguousarray(faces, "<i8").tobytes())
    return digest.hexdigest()
