"""Lid margins, vermilion and nostril rims on the demonstration's head, against what other ways of looking say."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from dryfit.demo_door import demo_module
from dryfit.model.brief import Brief
from dryfit.performer.edge_lines import FOLD, LID, NOSTRIL, VERMILION, edge_lines
from dryfit.performer.eyes import find_eye
from dryfit.performer.fitting import Fitting
from dryfit.performer.head_frame import HeadFrame
from dryfit.performer.lids import Lids
from dryfit.performer.mobile_zones import mobile_zones


@cache
def fitting():
    return Fitting(demo_module("variant_snapshots").variant_snapshot("01-warden-plain"), Brief())


@cache
def lines():
    found, missing = edge_lines(fitting())
    assert not missing
    return found


def kind(which):
    return [line for line in lines() if line.kind == which]


def test_every_line_is_there_once_for_each_side():
    assert [len(kind(which)) for which in (LID, VERMILION, NOSTRIL, FOLD)] == [2, 2, 2, 2]


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_margins_stand_as_far_apart_as_the_open_lids(side):
    """The blink check reads the gap of the open lids in columns of its own, from finer rows."""
    frame = HeadFrame.from_landmarks(fitting().snapshot.landmarks)
    lids = Lids(fitting(), fitting().poses("blink"), find_eye(fitting(), side, frame), frame)
    (margin,) = [line for line in kind(LID) if side in line.name]
    assert margin.doubt_mm == 0.0
    across, _, up = frame.coordinates(margin.points_mm).T
    tallest = max(np.ptp(up[np.abs(across - place) < 0.3]) for place in np.unique(across))
    assert tallest == pytest.approx(lids.gap_mm(0.0), abs=0.5)


def test_lines_lie_on_the_skin():
    for line in lines():
        assert fitting().base_surface.closest(line.points_mm).distance_mm.max() < 1.0


def test_the_vermilion_runs_through_its_landmarks():
    marks = fitting().snapshot.landmarks
    upper, lower = kind(VERMILION)
    for line, middle in ((upper, "labiale_superius"), (lower, "labiale_inferius")):
        points = np.stack([marks[name] for name in ("cheilion_left", middle, "cheilion_right")])
        assert line.distance_mm(points) == pytest.approx(0.0, abs=1.0)


def test_a_nostrils_rim_bounds_an_opening_as_large_as_a_nostril():
    """0.6 to 1.2 cm2 each (from memory) is a circle of 27 to 39 mm round."""
    for line in kind(NOSTRIL):
        span = np.ptp(line.points_mm, axis=0).max()
        assert 7.0 < span < 20.0


def test_the_moving_cheek_lies_on_the_cheek_and_off_the_mouth():
    marks, base = fitting().snapshot.landmarks, fitting().base_surface
    zones, missing = mobile_zones(marks, Brief().limits, base)
    assert not missing
    for side in ("left", "right"):
        (cheek,) = [zone for zone in zones if zone.name == f"{side} cheek"]
        assert np.abs(base.clearance_mm(cheek.chain_mm)).max() < 0.1
        assert 8.0 < np.linalg.norm(cheek.chain_mm - marks[f"cheilion_{side}"], axis=1).min() < 40.0
        assert fitting().regions.name(cheek.chain_mm[len(cheek.chain_mm) // 2]) in (f"{side} cheek", f"{side} jaw")


def test_without_an_eyeball_a_lid_is_as_near_as_it_may_be():
    """Anywhere within 9 mm of the line between the corners, and the margin that an eyeball shows lies within."""
    shot = fitting().snapshot
    bare = replace(shot, parts=tuple(part for part in shot.parts if not part.role.startswith("eye")))
    found, _ = edge_lines(Fitting(bare, Brief()))
    for line in (each for each in found if each.kind == LID):
        assert line.doubt_mm == 9.0
        (known,) = [each for each in kind(LID) if each.name == line.name]
        assert line.distance_mm(known.points_mm).max() == 0.0
        beside = line.points_mm[:1] + [0.0, 0.0, 30.0]
        away = np.linalg.norm(line.points_mm - beside, axis=1).min()
        assert line.distance_mm(beside)[0] == pytest.approx(away - 9.0)
