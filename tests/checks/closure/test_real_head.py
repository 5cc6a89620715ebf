"""The real head and the demonstration's designs: figures measured by others, verdicts known by construction.

The head's own lip gap, opening and jaw axis were measured on its vertices when it was cut from the public base mesh
(gap 0.6 / 0.2 / 1.1 mm at x = 0 / 10 / 20; at jawOpen = 1 lips 34 mm apart; the lower teeth turn by 24.4 degrees
about y = 685.9, z = 66.9 with a residual of 0.4 mm). Its incisors' height apart is taken from the stored shape itself.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from demo_reports import HINGED, KEYED, variant_snapshot
from dryfit.checks.closure import closure
from dryfit.checks.teeth import coverage
from dryfit.geometry.rigid import fit_rigid
from dryfit.model.brief import Brief
from dryfit.model.brief_reading import read_brief
from dryfit.model.progress import drain
from dryfit.model.snapshot import Motion, Part, Snapshot
from dryfit.performer.fitting import Fitting
from dryfit.performer.head_frame import HeadFrame
from dryfit.performer.mouth.lips import Lips
from public_head import DEMO, part_of, public_head


@cache
def bare(upright=True):
    """The head with its strip teeth, which carry no keys, and landmarks on its own vertices."""
    vertices, _, _ = public_head()
    skin = part_of("skin")
    corner = vertices[2663]
    marks = {
        "stomion_superius": vertices[520], "stomion_inferius": vertices[523],
        "cheilion_left": corner, "cheilion_right": corner * [-1, 1, 1],
        "gnathion": vertices[747], "sellion": np.array([0.0, 735.9, vertices[747][2] if upright else 141.3]),
    }  # fmt: skip
    teeth = [
        Part(name, name[6:] + "_teeth", part_of(name)[0], part_of(name)[2]) for name in ("teeth_upper", "teeth_lower")
    ]
    return Snapshot(
        "bare",
        parts=(Part("Head", "base", skin[0], skin[2]), *teeth),
        landmarks=marks,
        motions={"jaw": Motion("jaw", [0.0, 1.0], {"Head": np.stack(skin[:2])})},
    )


def test_lip_gap_of_the_bare_head():
    fitting = Fitting(bare(), Brief())
    profile = Lips(fitting, fitting.poses("jaw"), (fitting.base,)).profile(0.0)
    gaps, ways = (
        np.interp([-20, -10, 0, 10, 20], profile.across_mm, each) for each in (profile.gap_mm, profile.apart_mm)
    )
    upright = np.array([1.1, 0.2, 0.6, 0.2, 1.1])
    assert ways == pytest.approx(upright, abs=0.2), "the shortest way is a little less than the upright one"
    assert (gaps <= ways + 1e-9).all() and (gaps >= 0.5 * ways).all()


def test_opening_of_the_bare_head():
    fitting = Fitting(bare(), Brief())
    outcome = drain(closure.CHECK.measure(fitting, Brief()))
    assert outcome.measures["max_opening_mm"] == pytest.approx(34.0, abs=1.0)
    assert outcome.measures["closes"] == 1.0
    poses, up = fitting.poses("jaw"), HeadFrame.from_landmarks(bare().landmarks).up
    upper, lower = (poses.vertices(name, 1.0) for name in ("teeth_upper", "teeth_lower"))
    edges = [(row[np.abs(row[:, 0]) < 1.0] @ up) for row in (upper, lower)]
    stored = [(row[np.abs(row[:, 0]) < 1.0] @ up) for row in (part_of("teeth_upper")[1], part_of("teeth_lower")[1])]
    assert edges[0].min() - edges[1].max() == pytest.approx(stored[0].min() - stored[1].max(), abs=0.6)
    assert stored[0].min() - stored[1].max() == pytest.approx(27.6, abs=0.1)


def test_unkeyed_lower_teeth_follow_the_mandible_not_the_skin():
    """The chin's skin tells the jaw's turn; the strip teeth's own stored motion is the independent answer."""
    poses = Fitting(bare(), Brief()).poses("jaw")
    assert poses.jaw_angle_deg(1.0) == pytest.approx(24.4, abs=0.6)
    _, opened, _ = part_of("teeth_lower")
    assert np.linalg.norm(poses.vertices("teeth_lower", 1.0) - opened, axis=1).max() < 1.5
    assert np.array_equal(poses.vertices("teeth_upper", 1.0), part_of("teeth_upper")[0])


def test_over_closing_turns_teeth_on():
    poses = Fitting(bare(), Brief()).poses("jaw")
    assert poses.jaw_angle_deg(-0.25) == pytest.approx(-poses.jaw_angle_deg(0.25), abs=1e-9)
    row = bare().part("teeth_lower").vertices_mm
    back = poses.bones.jaw(0.25).apply(poses.vertices("teeth_lower", -0.25))
    assert np.allclose(back, row, atol=1e-9)


def test_what_shows_with_a_mouth_that_nothing_is_known_to_shut_passes_nothing():
    """A jaw whose keys move nothing, and one wide open as scanned: neither shows what a shut mouth shows."""
    skin, shifted = part_of("skin")[0], {"stomion_inferius": bare().landmarks["stomion_inferius"]}
    still = replace(bare(), motions={"jaw": Motion("jaw", [0.0, 1.0], {"Head": np.stack([skin, skin])})})
    unmarked = replace(bare(), landmarks={k: v for k, v in bare().landmarks.items() if k not in shifted})
    for snapshot in (still, unmarked):
        outcome = drain(coverage.CHECK.measure(Fitting(snapshot, Brief()), Brief()))
        assert outcome.reason.startswith("it is not known how far this mouth shuts")
        assert outcome.measures["display_height_mm"] >= 0.0
    known = drain(coverage.CHECK.measure(Fitting(bare(), Brief()), Brief()))
    assert known.reason == ""


@cache
def result(name, check="closure"):
    brief = read_brief(DEMO / "brief.toml")
    fitting = Fitting(variant_snapshot(name), brief, KEYED)
    return drain({"closure": closure, "coverage": coverage}[check].CHECK.measure(fitting, brief))


@pytest.mark.slow
def test_honest_design_shuts_and_covers():
    assert result("01-warden-plain").measures["closes"] == 1.0
    assert result("01-warden-plain").findings == ()
    assert result("01-warden-plain", "coverage").findings == ()


@pytest.mark.slow
def test_tusks_stop_the_mouth_and_cut_by_the_figure_they_do_not():
    outcome = result("02-warden-tusks")
    assert outcome.measures["closes"] == 0.0
    fixes = [finding.fix for finding in outcome.findings if finding.severity == "fail"]
    assert {fix.split(" by ")[0] for fix in fixes} == {
        "shorten the left lower canine", "shorten the right lower canine"
    }  # fmt: skip
    amount = max(float(fix.split(" by ")[1].split()[0]) for fix in fixes)
    assert outcome.measures["residual_gap_mm"] > 5.0
    assert shut_with_tusks_cut_by(amount + 0.05).measures["closes"] == 1.0
    assert np.isnan(shut_with_tusks_cut_by(amount + 0.05).measures["contact_t"])
    assert shut_with_tusks_cut_by(amount - 2.0).measures["closes"] == 0.0


@pytest.mark.slow
def test_the_gap_of_the_tusks_opens_evenly_all_the_way():
    for name in ("gap_by_t", "gap_by_t_midline"):
        curve = result("02-warden-tusks").curves[name]
        slope = np.diff(curve.y) / np.diff(curve.x)
        assert (slope > 0.0).all(), name
        assert (slope[1:-1] <= 1.5 * np.maximum(slope[:-2], slope[2:])).all(), name


def shut_with_tusks_cut_by(amount_mm):
    snapshot, brief = variant_snapshot("02-warden-tusks"), read_brief(DEMO / "brief.toml")
    up = HeadFrame.from_landmarks(snapshot.landmarks).up
    row = snapshot.part("LowerTeeth")
    cut = row.vertices_mm.copy()
    for number in (33, 43):
        inside = row.areas[f"dryfit_tooth_{number}"] > 0.5
        height = cut @ up
        cut -= np.outer(np.maximum(height - (height[inside].max() - amount_mm), 0.0) * inside, up)
    jaw = snapshot.motions["jaw"]
    posed = [fit_rigid(row.vertices_mm, frame).apply(cut) for frame in jaw.frames_mm["LowerTeeth"]]
    jaw = replace(jaw, frames_mm={**jaw.frames_mm, "LowerTeeth": np.stack(posed)})
    parts = tuple(replace(part, vertices_mm=cut) if part.name == row.name else part for part in snapshot.parts)
    snapshot = replace(snapshot, parts=parts, motions={"jaw": jaw})
    return drain(closure.CHECK.measure(Fitting(snapshot, brief, KEYED), brief))


@pytest.mark.slow
def test_keys_and_hinge_agree_on_the_verdict():
    """Without its keys the same design is opened by a hinge from landmarks; the verdict must not change."""
    for name, closes in (("01-warden-plain", 1.0), ("02-warden-tusks", 0.0)):
        snapshot = replace(variant_snapshot(name), motions={})
        outcome = drain(closure.CHECK.measure(Fitting(snapshot, Brief(), HINGED), Brief()))
        assert outcome.measures["motion_source"] == "hinge"
        assert outcome.measures["closes"] == closes == result(name).measures["closes"]
    assert abs(result("01-warden-plain").measures["residual_gap_mm"] - 0.0) < 1.0


@pytest.mark.slow
def test_short_lips_are_named_with_both_ways_out():
    outcome = result("05-warden-short-lips", "coverage")
    assert {finding.severity for finding in outcome.findings} == {"fail"}
    assert all("lengthen the upper lip by" in finding.fix for finding in outcome.findings)
    assert (
        outcome.measures["exposed_area_mm2"] > result("01-warden-plain", "coverage").measures["exposed_area_mm2"] + 100
    )
