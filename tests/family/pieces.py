"""Things worn: a thin clean piece on the cheek that nothing is wrong with, and a block that stops a jaw."""

import numpy as np

from dryfit.demo_door import demo_module
from dryfit.model.snapshot import Part

CHEEK_RADIUS_MM = 15.0
THICK_MM = 1.6
RIM_MM = 0.05
SLOPE = 0.14


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


def chin_piece(head, rim_mm=RIM_MM, material="silicone"):
    """Return an open skin under the chin, ``rim_mm`` thick at its rim."""
    pieces = demo_module("pieces")
    marks = head.landmarks()
    middle = marks["gnathion"] + [0.0, 24.0 * head.size, -6.0 * head.size]
    outside = np.flatnonzero(head.outer)
    middle = head.vertices_mm[outside[np.linalg.norm(head.vertices_mm[outside] - middle, axis=1).argmin()]]
    skin = pieces.carve(
        pieces.outer_ground(head.vertices_mm, head.faces, head.outer),
        lambda points: CHEEK_RADIUS_MM * head.size - np.linalg.norm(points - middle, axis=1),
        lambda points, from_rim, nearest: np.minimum(rim_mm + SLOPE * from_rim, THICK_MM),
    )
    return Part("Throat", "appliance", *skin.open_skin(), material)


MASK_MM = 0.8
MOUTH_HOLE_MM, NOSTRIL_HOLE_MM, EYE_HOLE_MM = 6.0, 5.0, 17.0
NOSTRIL_MM = np.array([8.0, 0.0, 3.0])
"""From subnasale to a nostril, on the mean head."""
MASK_BEFORE_MM = 18.0


def mask(head, thick_mm=MASK_MM):
    """Return an even open skin over the whole face with holes for mouth, nostrils and eyes; all its rims are thick."""
    pieces = demo_module("pieces")
    marks = head.landmarks()
    ground = pieces.outer_ground(head.vertices_mm, head.faces, head.outer)
    holes = [(marks["subnasale"] + NOSTRIL_MM * [side, 1, 1] * head.size, NOSTRIL_HOLE_MM) for side in (1, -1)]
    for side in ("left", "right"):
        holes.append((0.5 * (marks[f"exocanthion_{side}"] + marks[f"endocanthion_{side}"]), EYE_HOLE_MM))
    ears = 0.5 * (marks["tragion_left"] + marks["tragion_right"])
    margins = head.vertices_mm[head.margin_mm.min(axis=1) < 0.8]

    def field(points):
        inside = ears[1] - MASK_BEFORE_MM * head.size - points[:, 1]
        inside = np.minimum(inside, points[:, 2] - marks["gnathion"][2] + 5.0)
        inside = np.minimum(inside, marks["sellion"][2] + 45.0 * head.size - points[:, 2])
        for middle, radius in holes:
            inside = np.minimum(inside, np.linalg.norm(points - middle, axis=1) - radius * head.size)
        near = np.array([np.linalg.norm(margins - point, axis=1).min() for point in points])
        return np.minimum(inside, near - MOUTH_HOLE_MM * head.size)

    skin = pieces.carve(ground, field, lambda points, from_rim, nearest: np.full(len(points), thick_mm), edge_mm=3.0)
    return Part("Mask", "appliance", *skin.open_skin(), "silicone")


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
