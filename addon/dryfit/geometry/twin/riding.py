"""Points that ride a skin as it is posed, in numpy.

Matrices are kept entry by entry, ``(3, 3, k)``: whole rows of numbers are what numpy is quick at.
"""

import numpy as np

from ...model.arrays import BoolArray, FloatArray, IntArray
from ..engine import BoundPlaces, RestSkin
from ..rows import points_at

POLAR_STEPS = 12
SINGULAR = 1e-9
"""Deformations with a smaller determinant are taken to have squashed the skin flat."""
POLAR_PRECISION = 5e-7
"""Newton's iteration doubles the digits, so after a last step this small 1e-13 is left."""
CHUNK = 4096
"""Matrices worked on at a time, so that what is in between stays in the processor's cache."""


def carry(skin: RestSkin, bound: BoundPlaces, vertices: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Return where bound points are on posed vertices, ``(k, 3)``, and whose turn was not found, ``(k,)``."""
    turned = nearest_turns(gradients_at(skin, bound, vertices))
    return put(skin, bound, vertices, turned), ~proper(turned)


def put(skin: RestSkin, bound: BoundPlaces, vertices: FloatArray, turned: FloatArray) -> FloatArray:
    """Return where bound points are on posed vertices, ``(k, 3)``, their offsets turned by ``(3, 3, k)``."""
    offset = bound.offset.T
    moved = turned[:, 0] * offset[0]
    moved += turned[:, 1] * offset[1]
    moved += turned[:, 2] * offset[2]
    return points_at(bound.weights, vertices, skin.faces[bound.face]) + moved.T


def gradients_at(skin: RestSkin, bound: BoundPlaces, vertices: FloatArray) -> FloatArray:
    """Return the deformation gradient at bound places, entry by entry, ``(3, 3, k)``."""
    gradients = _vertex_gradients(skin, vertices)
    return points_at(bound.weights, gradients, skin.faces[bound.face]).T.reshape(3, 3, -1)


def _vertex_gradients(skin: RestSkin, vertices: FloatArray) -> FloatArray:
    """Return the mean deformation gradient round each vertex, ``(n, 9)``, row by row."""
    frames, count = edge_frames(vertices, skin.faces), len(vertices)
    corners = [np.ascontiguousarray(column) for column in skin.faces.T]
    gradient = np.empty((count, 9))
    for row, column in np.ndindex(3, 3):
        per_face = _dot(frames[row], skin.inverse[:, column])
        sums = sum(np.bincount(corner, weights=per_face, minlength=count) for corner in corners)
        gradient[:, 3 * row + column] = sums * skin.share
    gradient[skin.alone] = np.eye(3).ravel()
    return gradient


def nearest_turns(matrices: FloatArray) -> FloatArray:
    """Return what Newton's iteration makes of matrices ``(3, 3, k)``: their polar factors, but of a singular one."""
    turned = np.empty_like(matrices)
    for start in range(0, matrices.shape[2], CHUNK):
        turned[:, :, start : start + CHUNK] = _newton_polar(matrices[:, :, start : start + CHUNK])
    return turned


def edge_frames(vertices_mm: FloatArray, faces: IntArray) -> FloatArray:
    """Return two edges and the normal of each triangle as columns, ``(3, 3, m)``.

    The normal is scaled to the square root of twice the area, so that a frame scales with its triangle.
    """
    across = vertices_mm.T
    start = across[:, faces[:, 0]]
    one, other = across[:, faces[:, 1]] - start, across[:, faces[:, 2]] - start
    normal = _cross(one, other)
    length = np.sqrt(_dot(normal, normal))
    return np.stack([one, other, normal / np.sqrt(np.where(length > 0.0, length, 1.0))], axis=1)


def _newton_polar(matrices: FloatArray) -> FloatArray:
    turned = matrices
    for _ in range(POLAR_STEPS):
        step = inverse_transposes(turned)
        step -= turned
        step *= 0.5
        turned = turned + step
        if not max(np.nanmax(step, initial=0.0), -np.nanmin(step, initial=0.0)) > POLAR_PRECISION:
            break
    return turned


def proper(matrices: FloatArray) -> BoolArray:
    """Tell which matrices ``(3, 3, k)`` are rotations, to rounding; ``(k,)``."""
    a, b, c = matrices
    good = _dot(a, _cross(b, c)) > 0.0
    for one, other, wanted in ((a, a, 1.0), (b, b, 1.0), (c, c, 1.0), (a, b, 0.0), (b, c, 0.0), (c, a, 0.0)):
        good &= np.abs(_dot(one, other) - wanted) < 1e-12
    return good


def inverse_transposes(matrices: FloatArray, least: float = SINGULAR) -> FloatArray:
    """Return the inverse transpose of each matrix, ``(3, 3, k)``; nan where its determinant is ``least`` or less."""
    a, b, c = matrices
    cofactors = np.empty(matrices.shape)
    for row, (one, other) in enumerate(((b, c), (c, a), (a, b))):
        _cross(one, other, cofactors[row])
    determinant = _dot(a, cofactors[0])
    determinant[~(np.abs(determinant) > least)] = np.nan
    cofactors /= determinant
    return cofactors


def _dot(one: FloatArray, other: FloatArray) -> FloatArray:
    """Return inner products of vectors kept entry by entry, ``(k,)``."""
    return np.asarray(one[0] * other[0] + one[1] * other[1] + one[2] * other[2])


def _cross(one: FloatArray, other: FloatArray, into: FloatArray | None = None) -> FloatArray:
    """Return cross products of vectors kept entry by entry, ``(3, k)``: numpy's own takes several times as long."""
    product = np.empty(one.shape) if into is None else into
    for axis in range(3):
        ahead, back = (axis + 1) % 3, (axis + 2) % 3
        np.multiply(one[ahead], other[back], out=product[axis])
        product[axis] -= one[back] * other[ahead]
    return product


def rotations_by_svd(matrices: FloatArray) -> FloatArray:
    """Return the rotation nearest to each matrix, ``(k, 3, 3)``, also of one that is singular or mirrors."""
    left, _, right = np.linalg.svd(matrices)
    mirror = np.sign(np.linalg.det(left @ right))
    left[:, :, 2] *= mirror[:, None]
    return np.asarray(left @ right)
