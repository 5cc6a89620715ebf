"""Cut a triangle mesh along the zero line of a value on its vertices, and split chosen triangles.

Both hand back a *recipe*: each new vertex lies on an edge between two old ones. Any value on the old
vertices (positions, shape displacements, weights) is carried over by the same recipe.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Recipe:
    """A mesh made from an old one.

    Attributes
    ----------
    ends
        ``(n, 2)`` the two old vertices each new one lies between; twice the same for a kept one.
    share
        ``(n,)`` how far toward the second, 0 to 1.
    faces
        ``(m, 3)`` triangles over the new vertices.
    """

    ends: IntArray
    share: FloatArray
    faces: IntArray

    def carry(self, values: FloatArray) -> FloatArray:
        """Return old values ``(k,)`` or ``(k, c)`` on the new vertices."""
        share = self.share.reshape(-1, *[1] * (values.ndim - 1))
        carried: FloatArray = values[self.ends[:, 0]] * (1.0 - share) + values[self.ends[:, 1]] * share
        return carried

    def compact(self) -> "Recipe":
        """Return the recipe without the vertices that no face uses."""
        used, faces = np.unique(self.faces, return_inverse=True)
        return Recipe(self.ends[used], self.share[used], faces.reshape(-1, 3))


def cut(faces: IntArray, field: FloatArray, keep_outside: bool = False) -> Recipe:
    """Cut where ``field`` crosses zero and keep the positive side.

    Parameters
    ----------
    faces
        ``(m, 3)``.
    field
        ``(n,)``.
    keep_outside
        Keep the other side too, so that the zero line becomes edges of the mesh.
    """
    field = np.where(field == 0.0, 1e-9, field)
    inside = field > 0.0
    count = inside[faces].sum(axis=1)
    crossed = faces[(count == 1) | (count == 2)]
    pairs = np.sort(np.concatenate([crossed[:, [0, 1]], crossed[:, [1, 2]], crossed[:, [2, 0]]]), axis=1)
    pairs = np.unique(pairs[inside[pairs[:, 0]] != inside[pairs[:, 1]]], axis=0)
    share = field[pairs[:, 0]] / (field[pairs[:, 0]] - field[pairs[:, 1]])
    number = {(int(a), int(b)): len(field) + place for place, (a, b) in enumerate(pairs)}
    made = [faces[count == 3]]
    if keep_outside:
        made.append(faces[count == 0])
    for triangle in crossed:
        kept, left = _split_by_line(triangle, inside, number)
        made.append(np.array(kept + (left if keep_outside else []), np.int64))
    everyone = np.arange(len(field))
    ends = np.concatenate([np.stack([everyone, everyone], axis=1), pairs])
    recipe = Recipe(ends, np.concatenate([np.zeros(len(field)), share]), np.concatenate(made))
    return recipe.compact()


def _split_by_line(
    triangle: IntArray, inside: BoolArray, number: dict[tuple[int, int], int]
) -> tuple[list[list[int]], list[list[int]]]:
    """Return the triangles inside and outside of one crossed triangle."""
    corners = [int(corner) for corner in triangle]
    majority = sum(bool(inside[corner]) for corner in corners) == 2
    turn = next(place for place, corner in enumerate(corners) if bool(inside[corner]) != majority)
    alone, after, before = (corners[(turn + step) % 3] for step in range(3))
    first = number[min(alone, after), max(alone, after)]
    second = number[min(alone, before), max(alone, before)]
    tip = [[alone, first, second]]
    rest = [[first, after, before], [first, before, second]]
    return (rest, tip) if majority else (tip, rest)


def split(faces: IntArray, chosen: BoolArray, count: int) -> Recipe:
    """Split the chosen triangles in four; their neighbours are split so that no gap opens.

    Parameters
    ----------
    faces
        ``(m, 3)``.
    chosen
        ``(m,)``.
    count
        How many old vertices there are.
    """
    edges = np.stack([faces, np.roll(faces, -1, axis=1)], axis=-1)
    keys = np.sort(edges, axis=-1) @ np.array([count, 1])
    marked = np.unique(keys[chosen])
    place = np.minimum(np.searchsorted(marked, keys), len(marked) - 1)
    middle = np.where(marked[place] == keys, count + place, -1)
    made = [faces[(middle < 0).all(axis=1)]]
    for turn in range(3):
        corner, mid = np.roll(faces, -turn, axis=1), np.roll(middle, -turn, axis=1)
        made.extend(_split_pattern(corner, mid, turn))
    everyone = np.arange(count)
    ends = np.concatenate([np.stack([everyone, everyone], axis=1), np.stack([marked // count, marked % count], axis=1)])
    share = np.concatenate([np.zeros(count), np.full(len(marked), 0.5)])
    return Recipe(ends, share, np.concatenate(made)).compact()


def _split_pattern(corner: IntArray, mid: IntArray, turn: int) -> list[IntArray]:
    """Return the parts of the triangles whose split edges start at corner 0 in this turn."""
    a, b, c = corner.T
    ab, bc, ca = mid.T
    one = (ab >= 0) & (bc < 0) & (ca < 0)
    two = (ab >= 0) & (bc >= 0) & (ca < 0)
    three = (ab >= 0) & (bc >= 0) & (ca >= 0) & (turn == 0)
    parts = [
        (one, (a, ab, c)), (one, (ab, b, c)),
        (two, (ab, b, bc)), (two, (a, ab, bc)), (two, (a, bc, c)),
        (three, (a, ab, ca)), (three, (ab, b, bc)), (three, (ca, bc, c)), (three, (ab, bc, ca)),
    ]  # fmt: skip
    return [np.stack(columns, axis=1)[pattern] for pattern, columns in parts]
