"""Things worn: a thin clean piece on the cheek that nothing is wrong with, and a block that stops a jaw."""

import numpy as np

from dryfit.demo_door import demo_module
from dryfit.model.snapshot import Part

CHEEK_RADIUS_MM = 15.0
THICK_MM = 1.6
RIM_MM = 0.05
SLOPE = 0.16


def cheek_piece(head, material="silicone"):
    """Return an open skin on the left cheek, 0.05 mm at its rim and 1.6 mm thick inside."""
    pieces = demo_module("pieces")
    middle = cheek_mm(head)
    ground = pieces.outer_ground(head.vertices_mm, head.faces, head.outer)
    skin = pieces.carve(
        ground,
        lambda points: CHEEK_RADIUS_MM * head.size - np.linalg.norm(points - middle, axis=1),
        lambda points, from_rim, nearest: np.minimum(RIM_MM + SLOPE * from_rim, THICK_MM),
    )
    return Part("Cheek", "appliance", *skin.open_skin(), material)


def cheek_mm(head):
    """Return the place on the skin the piece is about, ``(3,)``: on the cheek bone, away from lids and mouth."""
    marks = head.landmarks()
    wanted = 0.5 * marks["exocanthion_left"] + 0.5 * marks["tragion_left"] + [4.0, 0.0, -14.0 * head.size]
    outside = np.flatnonzero(head.outer)
    return head.vertices_mm[outside[np.linalg.norm(head.vertices_mm[outside] - wanted, axis=1).argmin()]]


def block(low, high, steps=1):
    """Return a closed box facing outward, corners ``low`` and ``high`` ``(3,)``, mm, its sides cut ``steps`` times."""
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], float)
    quads = np.array([[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]])
    grid = np.linspace(0.0, 1.0, steps + 1)
    vertices, faces = [], []
    for a, b, c, d in quads:
        start = sum(map(len, vertices))
        right, up = np.meshgrid(grid, grid, indexing="ij")
        place = (
            corners[a] * ((1 - right) * (1 - up))[..., None] + corners[b] * (right * (1 - up))[..., None]
            + corners[c] * (right * up)[..., None] + corners[d] * ((1 - right) * up)[..., None]
        )  # fmt: skip
        vertices.append(place.reshape(-1, 3))
        at = start + np.arange((steps + 1) ** 2).reshape(steps + 1, steps + 1)
        p, q, r, s = at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]
        faces += [np.stack([p, q, r], -1).reshape(-1, 3), np.stack([p, r, s], -1).reshape(-1, 3)]
    joined, number = np.unique(np.round(np.concatenate(vertices), 9), axis=0, return_inverse=True)
    return np.asarray(low) + joined * (np.asarray(high) - np.asarray(low)), number.reshape(-1)[np.concatenate(faces)]
