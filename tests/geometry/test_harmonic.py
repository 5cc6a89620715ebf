"""Harmonic fields: linear functions come back, no value leaves the range given, islands keep their own."""

import numpy as np

from dryfit.geometry.harmonic import harmonic_field, mesh_graph
from shapes import icosphere, sheet


def test_linear_function_on_a_flat_sheet():
    vertices, faces = sheet(width_mm=80.0, steps=60)
    border = np.abs(vertices[:, :2]).max(axis=1) > 39.99
    wanted = 2.0 + 0.3 * vertices[:, 0] - 0.1 * vertices[:, 1]
    field = harmonic_field(mesh_graph(vertices, faces), border, np.where(border, wanted, 0.0))
    assert np.abs(field - wanted).max() < 5e-3


def test_between_two_rings_the_field_is_a_logarithm():
    """On a plane, between circles r1 and r2 held at 0 and 1, the field is ln(r / r1) / ln(r2 / r1)."""
    vertices, faces = sheet(width_mm=100.0, steps=100)
    radius = np.linalg.norm(vertices[:, :2], axis=1)
    fixed = (radius <= 10.0) | (radius >= 40.0)
    exact = np.log(np.maximum(radius, 1.0) / 10.0) / np.log(4.0)
    field = harmonic_field(mesh_graph(vertices, faces), fixed, np.where(fixed, exact, 0.5))
    assert np.abs(field - exact).max() < 0.002


def test_maximum_principle_on_a_bad_mesh():
    vertices, faces = icosphere(4)
    vertices = vertices * [3.0, 1.0, 0.2]
    fixed = np.zeros(len(vertices), bool)
    fixed[[0, 5, 900]] = True
    values = np.zeros(len(vertices))
    values[5] = 1.0
    field = harmonic_field(mesh_graph(vertices, faces), fixed, values)
    assert field.min() >= -1e-6
    assert field.max() <= 1 + 1e-6
    assert 0.01 < field[~fixed].mean() < 0.99


def test_piece_held_nowhere_keeps_its_values_and_a_piece_held_once_is_constant():
    vertices, faces = sheet(steps=50)
    both = np.concatenate([vertices, vertices + [200, 0, 0]])
    graph = mesh_graph(both, np.concatenate([faces, faces + len(vertices)]))
    fixed = np.zeros(len(both), bool)
    fixed[3] = True
    values = np.full(len(both), 0.25)
    values[3] = 0.75
    field = harmonic_field(graph, fixed, values)
    assert np.abs(field[: len(vertices)] - 0.75).max() < 1e-4
    assert (field[len(vertices) :] == 0.25).all()


def test_cut_triangles_pass_nothing_on():
    vertices, faces = sheet(width_mm=40.0, steps=40)
    across = (vertices[faces][:, :, 0] > 0.5).any(axis=1) & (vertices[faces][:, :, 0] < 0.5).any(axis=1)
    fixed = np.abs(vertices[:, 0]) > 19.9
    values = np.where(vertices[:, 0] > 0, 1.0, 0.0)
    field = harmonic_field(mesh_graph(vertices, faces, across), fixed, values)
    assert np.abs(field - np.where(vertices[:, 0] > 0.5, 1.0, 0.0)).max() < 1e-4
