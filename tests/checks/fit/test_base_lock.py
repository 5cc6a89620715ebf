"""What a lock tells: held, changed where and by how much, moved as a whole, renumbered, another mesh, unlocked."""

import numpy as np
import pytest

import dryfit
import shapes
from dryfit.checks.fit import base_lock
from dryfit.geometry.rigid_fit import rigid_fit
from dryfit.model.fingerprint import fingerprint
from dryfit.model.snapshot import Lock
from head_marks import marks, outcome, severities, snapshot

VERTICES, FACES = shapes.icosphere(4)
LOCK = Lock(fingerprint(VERTICES, FACES), np.round(VERTICES, 3))


def locked(vertices=VERTICES, faces=FACES, lock=LOCK):
    piece = ("Cap", "appliance", shapes.cap(4)[:2], "silicone")
    return snapshot((vertices, faces), piece, landmarks=marks(), lock=lock)


def bulged():
    vertices = VERTICES.copy()
    front = vertices[:, 1] < -90.0
    vertices[front] += [0.0, -2.0, 0.5]
    return vertices, front


def test_the_same_mesh_is_held():
    found = outcome(base_lock, locked())
    assert found.measures["moved_vertices"] == 0
    assert found.measures["max_change_mm"] == 0.0
    assert not found.findings
    assert not found.reason


def test_a_base_that_was_never_locked_is_not_checked_and_told_how():
    assert "dryfit lock" in outcome(base_lock, locked(lock=None)).reason


def test_a_bulge_is_counted_measured_placed_and_given_its_way():
    vertices, front = bulged()
    found = outcome(base_lock, locked(vertices))
    assert found.measures["moved_vertices"] == front.sum()
    assert found.measures["max_change_mm"] == pytest.approx(np.hypot(2.0, 0.5), abs=0.002)
    (finding,) = found.findings
    assert finding.severity == "fail"
    assert "forward" in finding.message
    assert sorted(finding.elements) == sorted(np.flatnonzero(front))


def test_the_area_that_moved_is_that_of_the_faces_about_what_moved():
    vertices = VERTICES.copy()
    vertices[7] *= 1.01
    area_mm2 = sum(
        np.linalg.norm(np.cross(vertices[b] - vertices[a], vertices[c] - vertices[a])) / 2.0
        for a, b, c in FACES
        if 7 in (a, b, c)
    )
    assert outcome(base_lock, locked(vertices)).measures["moved_area_mm2"] == pytest.approx(area_mm2, rel=1e-3)


def test_two_places_are_two_findings_the_further_first():
    vertices = VERTICES.copy()
    vertices[vertices[:, 0] > 90] += [0.5, 0, 0]
    vertices[vertices[:, 0] < -90] += [0, 0, 1.5]
    first, second = outcome(base_lock, locked(vertices)).findings
    assert (first.value, second.value) == pytest.approx((1.5, 0.5), abs=0.002)
    assert "up" in first.message
    assert "left" in second.message


def test_a_move_of_the_whole_base_is_told_from_a_change_of_shape():
    angle = np.radians(2.0)
    turn = np.array([[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0], [0, 0, 1]])
    (finding,) = outcome(base_lock, locked(VERTICES @ turn.T + [3.0, 0, 4.0])).findings
    assert "moved by 5.00 mm and turned by 2.00 degrees" in finding.message


def test_renumbered_vertices_are_the_same_shape():
    order = np.random.default_rng(2).permutation(len(VERTICES))
    found = outcome(base_lock, locked(VERTICES[order], np.argsort(order)[FACES]))
    assert severities(found) == ["review"]
    assert found.measures["max_change_mm"] < 0.002


def test_a_finer_mesh_of_the_same_shape_and_one_of_another():
    same = outcome(base_lock, locked(*shapes.icosphere(5)))
    assert severities(same) == ["review"]
    finer, faces = shapes.icosphere(5)
    other = outcome(base_lock, locked(finer * 1.01, faces))
    assert severities(other) == ["fail"]
    assert other.measures["max_change_mm"] == pytest.approx(1.0, abs=0.05)


def test_a_change_under_the_limit_is_said_but_not_failed():
    vertices = VERTICES.copy()
    vertices[7] += [0.0, 0.0, 0.02]
    found = outcome(base_lock, locked(vertices))
    assert severities(found) == ["review"]
    assert found.measures["moved_vertices"] == 0


def test_a_lock_without_vertices_can_only_say_that_it_changed():
    found = outcome(base_lock, locked(bulged()[0], lock=Lock(LOCK.fingerprint)))
    assert severities(found) == ["fail"]
    assert np.isnan(found.measures["max_change_mm"])


def test_every_other_check_says_that_the_base_moved():
    report = dryfit.check(locked(bulged()[0]), only=["base_lock", "additive", "edge", "load"])
    assert report.base.lock == "changed"
    assert report.base.max_change_mm == pytest.approx(2.06, abs=0.01)
    for check in report.checks:
        notes = [finding for finding in check.findings if "no longer the locked one" in finding.message]
        assert len(notes) == (0 if check.id == "base_lock" else 1)
    assert not [
        f for c in dryfit.check(locked(), only=["additive"]).checks for f in c.findings if "locked" in f.message
    ]


def test_the_rigid_fit_is_exact_on_a_turn_and_a_shift_and_never_mirrors():
    rng = np.random.default_rng(5)
    points = rng.normal(size=(40, 3)) * 50
    turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    fit = rigid_fit(points, points @ turn.T + [1.0, 2.0, 3.0])
    assert fit.turn == pytest.approx(turn, abs=1e-9)
    assert fit.residual_mm < 1e-9
    mirrored = rigid_fit(points, points * [-1.0, 1.0, 1.0])
    assert np.linalg.det(mirrored.turn) == pytest.approx(1.0)
    assert mirrored.residual_mm > 1.0
