"""The same meeting anywhere in space, mirrored, renumbered or inside out gives the same answers."""

from dataclasses import replace

import numpy as np
import pytest

from dryfit.checks.interference.interference import CHECK
from dryfit.geometry.rigid import RigidMotion, rotation_matrix
from dryfit.model.progress import drain
from dryfit.model.snapshot import Motion, Part
from dryfit.performer.fitting import Fitting
from meeting_shapes import ball, box, moving

FIGURES = ("max_penetration_mm", "worst_t", "start_t", "pairs", "hard_penetration_mm", "flesh_penetration_mm")


def design():
    plate = Part("Plate", "hardware", *ball([0, 0, 0], 12.0, 4))
    stud = Part("Stud", "hardware", *ball([3.0, 2.0, 21.0], 6.0, 4))
    piece = Part("Cheek", "appliance", *box([-30, -30, -30], [30, 30, -13]))
    motion = {"press": {"Stud": [[0, 0, 0], [0.5, 0.2, -8.0]], "Plate": [[0, 0, 0], [0, 0, -4.0]]}}
    return moving(plate, stud, piece, motions=motion)


def asked(snapshot, brief):
    return drain(CHECK.measure(Fitting(snapshot, brief), brief))


def posed_anew(snapshot, change):
    """Apply ``change(part name, points)`` to every part and every key frame."""
    parts = tuple(replace(part, vertices_mm=change(part.name, part.vertices_mm)) for part in snapshot.parts)
    motions = {
        name: Motion(name, motion.frames_t, {
            part: np.stack([change(part, frame) for frame in frames]) for part, frames in motion.frames_mm.items()
        })
        for name, motion in snapshot.motions.items()
    }  # fmt: skip
    return replace(snapshot, parts=parts, motions=motions)


@pytest.fixture(scope="module")
def straight():
    return asked(*design())


def same(one, two):
    for name in FIGURES:
        assert one.measures[name] == pytest.approx(two.measures[name], abs=2e-4), name
    assert len(one.findings) == len(two.findings)
    return True


def test_the_design_meets_something_hard_and_something_soft(straight):
    assert straight.measures["hard_penetration_mm"] > 0.2
    assert straight.measures["flesh_penetration_mm"] == pytest.approx(3.0, abs=0.01)


@pytest.mark.parametrize("turn", [(0.3, -1.0, 0.5), (np.pi / 2, 0, 0), (0, np.pi, 0)])
def test_rigid_motion_changes_nothing(straight, turn):
    move = RigidMotion(rotation_matrix(np.array(turn)), np.array([300.0, -1200.0, 45.0])).apply
    snapshot, brief = design()
    turned = asked(posed_anew(snapshot, lambda _, points: move(points)), brief)
    assert same(straight, turned)
    for one, two in zip(straight.findings, turned.findings, strict=True):
        assert np.allclose(two.at_mm, move(np.array(one.at_mm)), atol=1.0)


def test_mirror_changes_nothing(straight):
    snapshot, brief = design()
    mirrored = posed_anew(snapshot, lambda _, points: points * [-1, 1, 1])
    parts = tuple(replace(part, faces=part.faces[:, ::-1]) for part in mirrored.parts)
    assert same(straight, asked(replace(mirrored, parts=parts), brief))


def test_order_of_vertices_and_inside_out_change_nothing(straight):
    snapshot, brief = design()
    rng = np.random.default_rng(3)
    order = {part.name: rng.permutation(len(part.vertices_mm)) for part in snapshot.parts}
    shuffled = posed_anew(snapshot, lambda name, points: points[order[name]])
    parts = tuple(
        replace(part, faces=rng.permutation(np.argsort(order[part.name])[part.faces])[:, ::-1])
        if part.name != "Head"
        else replace(part, faces=np.argsort(order[part.name])[part.faces])
        for part in shuffled.parts
    )
    assert same(straight, asked(replace(shuffled, parts=parts), brief))


def test_finer_triangles_change_little(straight):
    snapshot, _ = design()
    fine = {"Plate": ball([0, 0, 0], 12.0, 5), "Stud": ball([3.0, 2.0, 21.0], 6.0, 5)}
    parts = [
        replace(part, vertices_mm=fine[part.name][0], faces=fine[part.name][1]) if part.name in fine else part
        for part in snapshot.parts
    ]
    motion = {"press": {"Stud": [[0, 0, 0], [0.5, 0.2, -8.0]], "Plate": [[0, 0, 0], [0, 0, -4.0]]}}
    finer = asked(*moving(*parts[1:], motions=motion))
    assert finer.measures["max_penetration_mm"] == pytest.approx(straight.measures["max_penetration_mm"], abs=0.05)
    assert finer.measures["start_t"] == pytest.approx(straight.measures["start_t"], abs=0.01)
