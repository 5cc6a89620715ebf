"""Pieces without keys on closed lips go with the lip they are on, not with the one they happen to be nearer to."""

from dataclasses import replace

import numpy as np
import pytest

from dryfit.demo_door import demo_module
from dryfit.geometry import Surface
from dryfit.geometry.binding import RidingSkin, bind
from dryfit.geometry.topology import mesh_edges
from dryfit.model.brief import Brief
from dryfit.model.snapshot import Part
from dryfit.performer.fitting import Fitting
from mouth_shapes import FRONT, RADIUS, hinge, joined, mouth

GAP_MM = 0.1


def edge_lengths_mm(vertices_mm, ends):
    return np.linalg.norm(vertices_mm[ends[:, 1]] - vertices_mm[ends[:, 0]], axis=1)


def patch(sign, angles_deg, thickness_mm, across=25, around=25):
    """A sheet over the lower (-1) or the upper (1) cylinder, angles counted from the line between the lips forward."""
    x = np.linspace(-12.0, 12.0, across)
    angle = np.radians(np.linspace(*angles_deg, around))
    radius, height = RADIUS + thickness_mm, RADIUS + GAP_MM / 2
    rows = np.stack([0 * angle, sign * (height - radius * np.cos(angle)), FRONT + radius * np.sin(angle)], axis=1)
    vertices = (rows[None] + np.stack([x, 0 * x, 0 * x], axis=1)[:, None]).reshape(-1, 3)
    a = (np.arange(across - 1)[:, None] * around + np.arange(around - 1)).ravel()
    return vertices, np.concatenate(
        [np.stack([a, a + around, a + 1], 1), np.stack([a + 1, a + around, a + around + 1], 1)]
    )


SHAPES = {
    "thick piece that stands over the line": ((25.0, 120.0), 2.0),
    "narrow piece, doubtful all over": ((20.0, 50.0), 0.8),
}


def posed(mesh):
    piece = Part("Piece", "appliance", *mesh)
    fitting = Fitting(mouth(piece, gap_mm=GAP_MM), hinge(25.0))
    poses = fitting.poses("jaw")
    return poses.vertices("Piece", 1.0), poses.bones.jaw(1.0), fitting


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("sign", [-1.0, 1.0])
def test_whole_piece_goes_with_its_lip(shape, sign):
    mesh = patch(sign, *SHAPES[shape])
    moved, jaw, fitting = posed(mesh)
    nearest = bind(fitting.base_surface, mesh[0])
    feet = nearest.foot_mm(fitting.base.vertices_mm, np.asarray(fitting.base_surface.faces))
    assert (feet[:, 1] * sign < 0.0).any(), "the nearest skin of some vertices is the other lip's"
    wanted = jaw.apply(mesh[0]) if sign < 0.0 else mesh[0]
    assert np.abs(moved - wanted).max() < 1e-4


def test_pieces_of_one_part_go_each_with_their_own_lip():
    lower, upper = patch(-1.0, (25.0, 120.0), 2.0), patch(1.0, (60.0, 120.0), 1.0)
    moved, jaw, _ = posed(joined(lower, upper))
    assert np.abs(moved[: len(lower[0])] - jaw.apply(lower[0])).max() < 1e-4
    assert np.abs(moved[len(lower[0]) :] - upper[0]).max() < 1e-4


def test_vertex_order_does_not_matter():
    vertices, faces = patch(-1.0, (25.0, 120.0), 2.0)
    order = np.random.default_rng(2).permutation(len(vertices))
    moved, _, _ = posed((vertices, faces))
    shuffled, _, _ = posed((vertices[order], np.argsort(order)[faces]))
    assert np.allclose(shuffled, moved[order], atol=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("which", ["lower", "upper"])
def test_piece_on_a_real_lip_is_not_torn_when_the_mouth_opens(which):
    """A sheet 2.5 mm over one lip of the demo's performer, right up to the line where the lips touch."""
    snapshot = demo_module("variant_snapshots").variant_snapshot("01-warden-plain")
    base = snapshot.base
    skin = Surface(base.vertices_mm, base.faces)
    front = skin.vertex_normals @ [0.0, -1.0, 0.0] > 0.0
    lip = (base.areas[f"dryfit_lip_{which}"] > 0.5) & front & (np.abs(base.vertices_mm[:, 0]) < 16.0)
    used, faces = np.unique(base.faces[lip[base.faces].all(axis=1)], return_inverse=True)
    piece = Part("Lip", "appliance", base.vertices_mm[used] + 2.5 * skin.vertex_normals[used], faces.reshape(-1, 3))
    marks = replace(snapshot, parts=(base, piece))
    poses = Fitting(marks, Brief()).poses("jaw")
    ends = mesh_edges(piece.faces).ends
    rest_mm, wide_mm = (edge_lengths_mm(at, ends) for at in (piece.vertices_mm, poses.vertices("Lip", 1.0)))
    assert (wide_mm - rest_mm).max() < 3.0
    plain = RidingSkin(base.vertices_mm, base.faces)
    torn = plain.carry(bind(skin, piece.vertices_mm), poses.vertices(base.name, 1.0))
    assert (edge_lengths_mm(torn, ends) - rest_mm).max() > 10.0
