"""A lip gathered from several parts is taken apart again into what each part gave."""

import numpy as np

from dryfit.model.snapshot import Part
from dryfit.performer.mouth.lip_skin import LipSkin, marked

LIP = LipSkin(
    parts=("Scan", "Muzzle"), vertex_ids=(np.array([4, 5, 6, 9]), np.array([0, 1, 2])),
    face_ids=(np.array([2, 7]), np.array([5])), faces=np.array([[0, 1, 2], [1, 2, 3], [4, 5, 6]]),
    posed=(lambda t: np.full((4, 3), t), lambda t: np.full((3, 3), 10.0 + t)),
)  # fmt: skip


def test_each_piece_has_its_own_vertices_triangles_and_poses():
    scan, muzzle = LIP.pieces
    assert (scan.parts, muzzle.parts) == (("Scan",), ("Muzzle",))
    assert (scan.faces.tolist(), muzzle.faces.tolist()) == ([[0, 1, 2], [1, 2, 3]], [[0, 1, 2]])
    assert (scan.vertex_ids[0].tolist(), muzzle.vertex_ids[0].tolist()) == ([4, 5, 6, 9], [0, 1, 2])
    assert (scan.face_ids[0].tolist(), muzzle.face_ids[0].tolist()) == ([2, 7], [5])
    assert (scan.vertices(0.5) == 0.5).all() and (muzzle.vertices(0.5) == 10.5).all()
    assert LIP.vertices(0.0).shape == (7, 3)


def test_a_triangle_is_its_parts():
    assert [LIP.owner(face) for face in range(3)] == ["Scan", "Scan", "Muzzle"]


def test_a_triangle_is_marked_where_all_its_corners_are_for_more_than_half():
    weights = np.array([1.0, 0.51, 0.51, 0.5, 0.0])
    part = Part("Scan", "base", np.eye(5, 3), np.array([[0, 1, 2], [1, 2, 3], [2, 3, 4]]), areas={"lip": weights})
    assert marked(part, "lip").tolist() == [True, False, False]
    assert marked(part, "other").tolist() == [False] * 3
