"""The demonstration's designs: what meets what is known from how they were made."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from demo_reports import HINGED, KEYED, variant_snapshot
from dryfit.checks.closure import closure
from dryfit.checks.interference import interference
from dryfit.demo_door import PLACES
from dryfit.geometry import Surface
from dryfit.model.brief_reading import read_brief
from dryfit.model.progress import drain
from dryfit.model.snapshot import Part, Role
from dryfit.performer.fitting import Fitting
from meeting_shapes import box

pytestmark = pytest.mark.slow
DEMO = next(place for place in PLACES if (place / "__init__.py").is_file())


def asked(snapshot, check=interference):
    brief = read_brief(DEMO / "brief.toml")
    known = KEYED if snapshot.motions else HINGED
    return drain(check.CHECK.measure(Fitting(snapshot, brief, known), brief))


@cache
def result(name):
    return asked(variant_snapshot(name))


def test_honest_design_runs_into_nothing():
    outcome = result("01-warden-plain")
    assert outcome.findings == ()
    assert outcome.reason == ""
    assert outcome.measures["pairs_watched"] >= 5
    assert outcome.measures["flesh_penetration_mm"] < 0.5


def test_tusks_meet_the_canines_above_where_the_jaw_stops():
    """The closing jaw's own bisection, over another search and other bodies, finds the same pose."""
    outcome = result("02-warden-tusks")
    assert {finding.message.split(" runs ")[0] for finding in outcome.findings} == {
        "The left lower canine", "The right lower canine"
    }  # fmt: skip
    stop = asked(variant_snapshot("02-warden-tusks"), closure).measures["contact_t"]
    assert outcome.measures["start_t"] == pytest.approx(stop, abs=2e-4)
    assert outcome.measures["start_motion"] == "jaw"


def test_without_keys_the_hinge_moves_what_meets():
    """No rig at all: the hinge's closing, bisected by another search, stops at the same pose; the honest jaw is free."""
    honest, tusked = (replace(variant_snapshot(name), motions={}) for name in ("01-warden-plain", "02-warden-tusks"))
    assert asked(honest).findings == ()
    outcome = asked(tusked)
    assert outcome.measures["motions"] == "jaw"
    assert outcome.measures["worst_pair"].count("canine") == 2
    assert outcome.measures["start_t"] == pytest.approx(asked(tusked, closure).measures["contact_t"], abs=2e-4)


def test_depth_of_a_tusk_is_the_shortest_shift_that_parts_it_from_the_tooth_above():
    """At least the way out of its deepest corner, over all triangles; and no shift that is shorter parts the two."""
    outcome, snapshot = result("02-warden-tusks"), variant_snapshot("02-warden-tusks")
    worst = outcome.findings[0]
    poses = Fitting(snapshot, read_brief(DEMO / "brief.toml")).poses("jaw")
    lower, upper = (poses.vertices(name, worst.t) for name in ("LowerTeeth", "UpperTeeth"))
    side = 20 if "left upper canine" in worst.message else 10
    crown, tusk = (
        row.faces[(row.areas[f"dryfit_tooth_{number}"] > 0.5)[row.faces].all(axis=1)]
        for row, number in ((snapshot.part("UpperTeeth"), side + 3), (snapshot.part("LowerTeeth"), 53 - side))
    )
    assert worst.value > way_out_mm(lower[worst.elements], upper[crown]).max() - 0.35
    above, moved = Surface(upper, crown), Surface(lower, tusk)
    for way in even_directions(150):
        assert len(moved.refit(lower + 0.97 * worst.value * way).crossings(above)), way


def even_directions(count):
    """Unit vectors spread evenly over the sphere, ``(count, 3)``."""
    height = 1.0 - 2.0 * (np.arange(count) + 0.5) / count
    turn = np.pi * (1.0 + 5.0**0.5) * np.arange(count)
    flat = np.sqrt(1.0 - height**2)
    return np.stack([flat * np.cos(turn), flat * np.sin(turn), height], axis=1)


def way_out_mm(points, triangles):
    """Distance of points ``(k, 3)`` to triangles ``(m, 3, 3)``, over a fine scatter of points on them."""
    rng = np.random.default_rng(0)
    weights = rng.dirichlet([0.7, 0.7, 0.7], 40)
    scatter = np.einsum("wi,mij->wmj", weights, triangles).reshape(-1, 3)
    return np.array([np.linalg.norm(scatter - point, axis=1).min() for point in points])


def test_hanging_teeth_stand_in_the_lips():
    outcome = result("05-warden-short-lips")
    assert outcome.measures["hard_penetration_mm"] < 0.2
    assert all("upper" in finding.message and "lip" in finding.message for finding in outcome.findings)
    assert all(finding.object == "UpperTeeth" for finding in outcome.findings)
    heights = {
        lip: [finding.at_mm[2] for finding in outcome.findings if f"into the {lip} lip" in finding.message]
        for lip in ("upper", "lower")
    }
    assert max(heights["lower"]) < min(heights["upper"]), "what lies in one lip is not told of the other"


def test_only_an_opening_jaw_moves_the_lower_teeth():
    """A smile and a pucker pull the chin's skin; the bone under it stays."""
    fitting = Fitting(variant_snapshot("01-warden-plain"), read_brief(DEMO / "brief.toml"))
    rest = fitting.snapshot.part("LowerTeeth").vertices_mm
    for motion in ("smile", "pucker", "brow_raise", "blink"):
        assert np.abs(fitting.poses(motion).vertices("LowerTeeth", 1.0) - rest).max() < 0.05, motion
    assert np.abs(fitting.poses("jaw").vertices("LowerTeeth", 1.0) - rest).max() > 20.0


def test_chin_closes_on_a_stud_in_its_way():
    """A stud that stays in the air where the chin gets to: depth and start by asking the whole base at every pose."""
    snapshot, brief = variant_snapshot("01-warden-plain"), read_brief(DEMO / "brief.toml")
    bare = Fitting(snapshot, brief)
    chin = snapshot.part("ChinBark").vertices_mm
    middle = bare.poses("jaw").vertices("ChinBark", 0.7)[chin[:, 2].argmin()]
    stud = Part("Stud", Role.HARDWARE, *box(middle - 3.0, middle + 3.0))
    jaw = snapshot.motions["jaw"]
    jaw = replace(jaw, frames_mm={**jaw.frames_mm, "Stud": np.stack([stud.vertices_mm] * len(jaw.frames_t))})
    outcome = asked(replace(snapshot, parts=(*snapshot.parts, stud), motions={"jaw": jaw}))
    about = next(finding for finding in outcome.findings if "into the performer's skin" in finding.message)
    assert about.severity == "fail"
    line = np.linspace(-3.0, 3.0, 13)
    filled = middle + np.stack(np.meshgrid(line, line, line, indexing="ij"), axis=-1).reshape(-1, 3)
    times = np.linspace(0, 1, 21)
    surface, faces = None, bare.base_surface.oriented_faces
    depths = []
    for t in times:
        posed = bare.poses("jaw").vertices("Performer", t)
        surface = Surface(posed, faces) if surface is None else surface.refit(posed)
        depths.append(max(0.0, -float(surface.clearance_mm(filled).min())))
    assert depths[0] == 0.0
    assert about.value == pytest.approx(max(depths), abs=0.3)
    start = np.interp(1.5, depths[: int(np.argmax(depths)) + 1], times[: int(np.argmax(depths)) + 1])
    said = float(about.message.split("from jaw ")[1].split()[0])
    assert said == pytest.approx(start, abs=0.03)


def test_chin_piece_opens_into_a_neck_piece():
    """A still neck piece with a level top 3 mm below the chin: how deep each vertex of the chin is has a formula."""
    snapshot = variant_snapshot("01-warden-plain")
    poses = Fitting(snapshot, read_brief(DEMO / "brief.toml")).poses("jaw")
    chin = snapshot.part("ChinBark")
    lowest = chin.vertices_mm[np.unique(chin.faces)].min(axis=0)
    middle = chin.vertices_mm.mean(axis=0)
    low, high = np.array([-60, middle[1] - 70, lowest[2] - 90]), np.array([60, middle[1] + 70, lowest[2] - 3.0])
    neck = Part("Neck", Role.APPLIANCE, *box(low, high))
    jaw = snapshot.motions["jaw"]
    jaw = replace(jaw, frames_mm={**jaw.frames_mm, "Neck": np.stack([neck.vertices_mm] * len(jaw.frames_t))})
    outcome = asked(replace(snapshot, parts=(*snapshot.parts, neck), motions={"jaw": jaw}))

    def depth_mm(t):
        at = poses.vertices("ChinBark", t)[np.unique(chin.faces)]
        return float(np.minimum(at - low, high - at).min(axis=1).max())

    assert depth_mm(0.0) == pytest.approx(-3.0, abs=1e-9)
    below, start = 0.0, 1.0
    while start - below > 1e-5:
        half = 0.5 * (below + start)
        below, start = (half, start) if depth_mm(half) < 0.0 else (below, half)
    about = next(finding for finding in outcome.findings if "'Neck'" in finding.message)
    assert about.severity == "fail"
    assert outcome.measures["soft_penetration_mm"] == pytest.approx(
        max(depth_mm(t) for t in np.linspace(0, 1, 41)), abs=0.1
    )
    assert outcome.measures["start_t"] == pytest.approx(start, abs=1e-3)
    assert outcome.measures["start_motion"] == "jaw"
