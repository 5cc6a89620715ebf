"""The same mouth anywhere in space, mirrored, renumbered or inside out gives the same answers."""

from dataclasses import replace

import numpy as np
import pytest

from dryfit.checks.closure import closure
from dryfit.checks.teeth import coverage
from dryfit.geometry.rigid import RigidMotion, rotation_matrix
from dryfit.model.brief import Brief
from dryfit.model.progress import drain
from dryfit.model.snapshot import Motion, Part, Snapshot
from dryfit.performer.fitting import Fitting
from mouth_shapes import FRONT, box, hinge, joined, lips, mouth, peg

FIGURES = ("closes", "rest_gap_mm", "residual_gap_mm", "contact_t", "contact_angle_deg", "max_opening_mm")


def design():
    """A left tusk too long for the plate above it, an uneven gap, a lip piece without keys."""
    vertices, faces = lips(1.0)
    vertices = vertices + np.outer(0.02 * vertices[:, 0] * (vertices[:, 1] < 0), [0, 1, 0])
    spike = peg([10, -12, 80], [10.5, 14.0, 80.7])
    parts = (
        Part("Head", "base", vertices, faces),
        Part("Lower", "lower_teeth", *spike, areas={"dryfit_tooth_33": np.ones(len(spike[0]))}),
        Part("Upper", "upper_teeth", *box([-20, 8.3, 60], [20, 9.3, 95])),
        Part("Piece", "appliance", *box([-30, -13, 104], [-20, -3, 108])),
    )
    return replace(mouth(), parts=parts)


def moved(snapshot, move):
    parts = tuple(replace(part, vertices_mm=move(part.vertices_mm)) for part in snapshot.parts)
    return replace(snapshot, parts=parts, landmarks={name: move(p) for name, p in snapshot.landmarks.items()})


def mirrored(snapshot):
    """Left becomes right: positions, names of landmarks and of teeth, and faces turned to stay outward."""
    swap = {"left": "right", "right": "left"}

    def other(name):
        stem, _, side = name.rpartition("_")
        return f"{stem}_{swap[side]}" if side in swap else name

    parts = tuple(
        replace(
            part,
            vertices_mm=part.vertices_mm * [-1, 1, 1],
            faces=part.faces[:, ::-1],
            areas={name.replace("_33", "_43"): weights for name, weights in part.areas.items()},
        )
        for part in snapshot.parts
    )
    marks = {other(name): place * [-1, 1, 1] for name, place in snapshot.landmarks.items()}
    return replace(snapshot, parts=parts, landmarks=marks)


def asked(check, snapshot, brief=None):
    brief = brief or hinge(22.0, 1.5)
    return drain(check.CHECK.measure(Fitting(snapshot, brief), brief))


@pytest.fixture(scope="module")
def straight():
    return asked(closure, design())


def same(one, two, tolerance=2e-3):
    for name in FIGURES:
        assert one.measures[name] == pytest.approx(two.measures[name], abs=tolerance), name
    return True


def test_design_is_blocked_by_its_tusk(straight):
    assert straight.measures["closes"] == 0.0
    assert straight.measures["contact_pair"].startswith("left lower canine")


@pytest.mark.parametrize("turn", [(0.3, -1.0, 0.5), (np.pi / 2, 0, 0), (0, np.pi, 0)])
def test_rigid_motion_changes_nothing(straight, turn):
    move = RigidMotion(rotation_matrix(np.array(turn)), np.array([300.0, -1200.0, 45.0])).apply
    turned = asked(closure, moved(design(), move))
    assert same(straight, turned)
    assert [finding.fix for finding in turned.findings] == [finding.fix for finding in straight.findings]
    assert np.allclose(turned.findings[0].at_mm, move(np.array(straight.findings[0].at_mm)), atol=0.5)
    assert [finding.region for finding in turned.findings] == [finding.region for finding in straight.findings]


def test_mirror_swaps_left_and_right(straight):
    other = asked(closure, mirrored(design()))
    assert same(straight, other)
    words = [finding.message.replace("right", "LEFT").replace("left", "right").lower() for finding in other.findings]
    assert words == [finding.message.lower() for finding in straight.findings]
    one, two = straight.curves["gap_along_lips"].y, other.curves["gap_along_lips"].y
    assert np.allclose(one, two[::-1], atol=2e-3)
    assert not np.allclose(one, two, atol=0.05)


def test_vertex_order_and_inside_out_change_nothing(straight):
    rng = np.random.default_rng(5)

    def shuffled(part):
        order = rng.permutation(len(part.vertices_mm))
        areas = {name: weights[order] for name, weights in part.areas.items()}
        faces = rng.permutation(np.argsort(order)[part.faces])
        return replace(part, vertices_mm=part.vertices_mm[order], faces=faces[:, ::-1], areas=areas)

    assert same(straight, asked(closure, replace(design(), parts=tuple(map(shuffled, design().parts)))))


def test_coverage_is_the_same_anywhere_and_mirrored():
    tooth = box([4, -30, 90], [12, 30, 94])
    flap = Part("Flap", "appliance", *box([18, -30, 101], [20, 2.0, 108]))
    parts = (Part("Head", "base", *lips(6.0)), Part("Upper", "upper_teeth", *tooth), flap)
    snapshot = replace(mouth(), parts=parts)
    straight = asked(coverage, snapshot).measures
    move = RigidMotion(rotation_matrix(np.array([0.3, -1.0, 0.5])), np.array([300.0, -1200.0, 45.0])).apply
    turned, other = asked(coverage, moved(snapshot, move)).measures, asked(coverage, mirrored(snapshot)).measures
    for angle, mirror in (("0", "0"), ("+30", "-30"), ("-60", "+60")):
        for figure in ("exposed_area_mm2", "display_height_mm"):
            wanted = straight[f"{figure}_view_{angle}"]
            assert turned[f"{figure}_view_{angle}"] == pytest.approx(wanted, rel=0.01, abs=0.1)
            assert other[f"{figure}_view_{mirror}"] == pytest.approx(wanted, rel=0.01, abs=0.1)
    assert straight["exposed_area_mm2_view_+60"] != pytest.approx(straight["exposed_area_mm2_view_-60"], rel=0.05)


def test_unkeyed_piece_on_the_lower_lip_rides_the_jaw():
    brief = hinge(20.0)
    fitting = Fitting(design(), brief)
    poses = fitting.poses("jaw")
    jaw, piece = poses.bones.jaw(1.0), fitting.snapshot.part("Piece")
    assert np.abs(poses.vertices("Piece", 1.0) - jaw.apply(piece.vertices_mm)).max() < 1e-4
    assert np.abs(poses.vertices("Upper", 1.0) - fitting.snapshot.part("Upper").vertices_mm).max() == 0.0


def test_rigid_motion_of_the_whole_base_is_ridden_exactly():
    """A nod of the whole head: keyed base, everything else without keys."""
    nod = RigidMotion(rotation_matrix(np.array([0.35, 0.1, 0.0])), np.array([0.0, 5.0, 2.0])).apply
    stud = Part("Stud", "hardware", *box([30, 2, 106], [34, 6, 112]))
    base = design().part("Head")
    snapshot = replace(
        design(),
        parts=(*design().parts, stud),
        motions={"nod": Motion("nod", [0.0, 1.0], {"Head": np.stack([base.vertices_mm, nod(base.vertices_mm)])})},
    )
    poses = Fitting(snapshot, hinge()).poses("nod")
    for part in snapshot.parts:
        assert np.abs(poses.vertices(part.name, 1.0) - nod(part.vertices_mm)).max() < 1e-9, part.name


def test_hardware_on_teeth_follows_the_jaw_and_hardware_on_skin_the_skin():
    grill = Part("Grill", "hardware", *box([-3, -9, 80.5], [3, -5, 81.5]))
    row = Part("Lower", "lower_teeth", *box([-10, -12, 76], [10, -4, 80]))
    stud = Part("Stud", "hardware", *box([-2, 12, 99], [2, 14, FRONT + 3]))
    fitting = Fitting(mouth(row, grill, stud), hinge(20.0))
    poses = fitting.poses("jaw")
    jaw = poses.bones.jaw(1.0)
    assert np.abs(poses.vertices("Grill", 1.0) - jaw.apply(grill.vertices_mm)).max() < 1e-9
    assert np.abs(poses.vertices("Stud", 1.0) - stud.vertices_mm).max() < 1e-9


def test_sealed_lips_are_parted_and_said():
    """One skin right across the mouth: a plate with no slit. It opens along the mouth line all the same."""
    line_x, line_y = np.linspace(-60, 60, 61), np.linspace(-70, 75, 74)
    x, y = (grid.ravel() for grid in np.meshgrid(line_x, line_y, indexing="ij"))
    i, j = (grid.ravel() for grid in np.meshgrid(np.arange(60), np.arange(73), indexing="ij"))
    a = i * 74 + j
    faces = np.concatenate([np.stack([a, a + 74, a + 75], 1), np.stack([a, a + 75, a + 1], 1)])
    face = Part("Head", "base", np.stack([x, y, FRONT - 0.01 * x**2], axis=1), faces)
    snapshot = replace(mouth(), parts=(face, Part("Piece", "appliance", *joined(box([5, 60, 101], [9, 63, 102])))))
    fitting = Fitting(snapshot, hinge(20.0))
    poses = fitting.poses("jaw")
    assert poses.source.sealed
    below = np.array([[0.0, -3.0, FRONT]])
    above = np.array([[0.0, 3.0, FRONT]])
    assert np.allclose(poses.points(below)(1.0), poses.bones.jaw(1.0).apply(below), atol=1e-6)
    assert np.allclose(poses.points(above)(1.0), above, atol=1e-6)
    assert not Fitting(mouth(), hinge()).poses("jaw").source.sealed


def test_snapshot_without_keys_offers_a_jaw_only_with_its_landmarks():
    assert Fitting(mouth(), hinge()).motion_names == ("jaw",)
    assert Fitting(Snapshot("s", parts=mouth().parts), hinge()).motion_names == ("jaw",)
    assert Fitting(mouth(), Brief()).motion_names == ("jaw",)
    assert Fitting(Snapshot("s", parts=mouth().parts), Brief()).motion_names == ()
