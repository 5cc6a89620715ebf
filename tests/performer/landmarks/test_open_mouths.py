"""Proposals on mouths baked open: the mouth is found open, lips and chin follow it, and bounds hold.

The shipped head opens by its own shape; six heads the template was not made from turn their mandible about their own
hinge, with and without the slide of a living jaw.
"""

from functools import cache

import numpy as np
import pytest
from open_heads import SLIDING, TURNING, shipped_head, turned_head
from test_proposal import HEADS

from dryfit.geometry import Surface
from dryfit.model.progress import drain
from dryfit.performer.landmarks.confidence import SURE_MM, Confidence, Word
from dryfit.performer.landmarks.proposal import propose_on

pytestmark = pytest.mark.slow

LOWER_FACE = ("stomion_superius", "stomion_inferius", "cheilion_left", "cheilion_right", "gnathion", "labiale_inferius")
MOUTH = LOWER_FACE[:4]
WIDE = (
    *(("shipped", share, SLIDING) for share in (0.3, 0.72, 1.0)),
    *((name, degrees, (TURNING, SLIDING)[place % 2])
      for place, name in enumerate(HEADS) for degrees in ((10.0, 24.0, 31.0) if place % 2 == 0 else (8.0, 21.0, 28.0))),
)  # fmt: skip
"""Head, how far open, and how it slides: 10, 25 and 34 mm between the lips, about."""


def errors_mm(proposal, marks):
    """Errors of the points whose truth is known (the shipped head's open shape comes without pupils)."""
    return {name: float(np.linalg.norm(proposal.points_mm[name] - at)) for name, at in marks.items()}


@cache
def opened(name, much, deg_per_mm):
    surface, marks = shipped_head(much) if name == "shipped" else turned_head(name, much, deg_per_mm)
    return drain(propose_on(surface, name)), marks


@pytest.mark.parametrize("case", WIDE, ids=str)
def test_lips_and_chin_follow_an_open_mouth(case):
    proposal, marks = opened(*case)
    errors = errors_mm(proposal, marks)
    apart_mm = (marks["stomion_superius"] - marks["stomion_inferius"]) @ proposal.pose.turn([0.0, 0.0, 1.0])
    assert proposal.open_mm == pytest.approx(apart_mm, abs=3.0)
    assert not proposal.doubts
    beyond = {name: errors[name] for name in MOUTH if errors[name] > proposal.bound_mm[name]}
    assert not beyond
    assert max(errors[name] for name in LOWER_FACE) < 9.0
    assert np.median(list(errors.values())) < 2.5


def test_nine_of_ten_lie_within_their_bound_and_sure_is_sure():
    inside, sure = [], []
    for case in WIDE:
        proposal, marks = opened(*case)
        for name, error in errors_mm(proposal, marks).items():
            inside.append(error <= proposal.bound_mm[name])
            if proposal.confidence[name].word is Word.SURE:
                sure.append(error <= SURE_MM)
    assert np.mean(inside) >= 0.9
    assert len(sure) > 0.1 * len(inside) and np.mean(sure) >= 0.95


@pytest.mark.parametrize("share", [0.0, 1.0])
def test_the_wings_of_a_nose_are_as_even_as_the_head(share):
    surface, _ = shipped_head(share)
    proposal, _ = opened("shipped", share, SLIDING)
    left, right = proposal.points_mm["alare_left"], proposal.points_mm["alare_right"]
    assert np.linalg.norm(left - right * [-1.0, 1.0, 1.0]) < 0.8
    assert surface.closest(left[None]).distance_mm[0] < 1e-6


def filled(surface, marks):
    """What a scanner sees of a head from the front, the opening of its mouth closed by a sagging membrane."""
    across, upward = (
        np.arange(-75.0, 75.0, 1.5),
        np.arange(marks["gnathion"][1] - 15.0, marks["vertex_top"][1] - 20.0, 1.5),
    )
    x, y = np.meshgrid(across, upward)
    starts = np.stack([x.ravel(), y.ravel(), np.full(x.size, 400.0)], axis=1)
    met_mm = surface.first_hit(starts, np.tile([0.0, 0.0, -1.0], (len(starts), 1))).distance_mm
    forward = (400.0 - met_mm).reshape(x.shape)
    rows = np.flatnonzero(upward < marks["stomion_superius"][1] + 6.0)
    for column in np.flatnonzero(abs(across) < abs(marks["cheilion_left"][0])):
        steps = np.diff(forward[rows, column])
        falls, rises = np.flatnonzero(steps < -8.0), np.flatnonzero(steps > 8.0)
        if len(falls) and len(rises) and rises[-1] > falls[0]:
            low, high = rows[falls[0]], rows[rises[-1] + 1]
            share = np.linspace(0.0, 1.0, high - low + 1)
            ends = forward[[low, high], column]
            forward[low : high + 1, column] = ends[0] + share * (ends[1] - ends[0]) - 8.0 * share * (1.0 - share)
    number = np.arange(x.size).reshape(x.shape)
    quads = np.stack([number[:-1, :-1], number[:-1, 1:], number[1:, 1:], number[1:, :-1]], axis=-1).reshape(-1, 4)
    vertices = np.stack([x.ravel(), y.ravel(), np.where(forward > 20.0, forward, np.nan).ravel()], axis=1)
    depth = vertices[quads][:, :, 2]
    quads = quads[np.isfinite(depth).all(axis=1) & (np.ptp(depth, axis=1) < 15.0)]
    used, compact = np.unique(np.concatenate([quads[:, :3], quads[:, [0, 2, 3]]]), return_inverse=True)
    return Surface(vertices[used], compact.reshape(-1, 3))


def test_a_mouth_open_behind_a_membrane_is_suspected_and_nothing_there_is_called_likely():
    surface, marks = shipped_head(1.0)
    proposal = drain(propose_on(filled(surface, marks), "membrane"))
    assert any("no opening is seen" in doubt.message for doubt in proposal.doubts)
    for name in ("gnathion", "labiale_inferius", "stomion_inferius"):
        assert proposal.confidence[name].word is Word.LOOK
        assert np.linalg.norm(proposal.points_mm[name] - marks[name]) <= proposal.bound_mm[name]


def test_a_contradicted_point_is_to_be_looked_at_however_well_it_was_fitted():
    assert Confidence("endocanthion_left").word is Word.SURE
    doubted = Confidence("endocanthion_left", doubted_mm=10.0)
    assert doubted.word is Word.LOOK and doubted.bound_mm > 10.0
