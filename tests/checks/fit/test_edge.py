"""The edge check against rims with known length, thickness and growth."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.checks.fit import edge
from dryfit.checks.fit.overlaps import LappedEdge, order_of, overlap_findings
from dryfit.checks.proof import beyond, bounds_of, unproven
from dryfit.model.brief import Brief
from dryfit.model.brief_reading import parse_brief
from dryfit.model.finding import Place, status_of
from dryfit.model.snapshot import Part, Snapshot
from dryfit.performer.fitting import Fitting
from dryfit.performer.regions import Regions
from head_marks import outcome
from shapes import RADIUS_MM, cap, icosphere, sheet, slab, worn

BASE = sheet(120.0, 60)


FAR = {
    "cheilion_left": (-45, 50, 0), "cheilion_right": (-55, 50, 0), "labiale_superius": (-50, 50, 0),
    "labiale_inferius": (-50, 50, 0), "endocanthion_left": (45, -55, 0), "exocanthion_left": (55, -55, 0),
    "endocanthion_right": (-45, -55, 0), "exocanthion_right": (-55, -55, 0), "subnasale": (45, 50, 0),
    "pronasale": (45, 50, 6), "alare_left": (57, 50, 0), "alare_right": (33, 50, 0),
}  # fmt: skip
"""Landmarks in the corners of a flat base, 15 mm or more from a piece's rim: no face, so asked without its plausibility."""
FLAT = {name: np.array(point, float) for name, point in FAR.items()}
ROUND = {name: RADIUS_MM * point / np.linalg.norm(point) for name, point in FLAT.items()}


def measured(snapshot, marks=FLAT, brief=None):
    """What the check says, its status by the rule that a report goes by, proof included."""
    shot, brief = replace(snapshot, landmarks=marks), brief or Brief()
    found = outcome(edge, shot, brief)
    bounds = bounds_of(edge.CHECK, found, brief.limits)
    place = Place("Piece", (0, 0, 0), "whole design")
    loose = list(beyond(edge.CHECK, found, bounds, place)) if not found.reason and found.measures else []
    reason = found.reason or (unproven(edge.CHECK, found, bounds) if found.measures else "")
    status = status_of([finding.severity for finding in (*found.findings, *loose)], reason)
    return SimpleNamespace(status=status, reason=reason, measures=found.measures, findings=found.findings,
                           curves=found.curves)  # fmt: skip


def from_rim(x, y, half_mm=30.0):
    """Distance from the border of a square of half width 30 mm."""
    return half_mm - np.maximum(abs(x), abs(y))


def test_a_wedge_grows_as_it_was_built():
    """Thickness is 0.1 mm for each mm from the rim: the blend to 1 mm is 10 mm wide, the rim 240 mm long."""
    result = measured(worn(BASE, sheet(60.0, 60, lambda x, y: 0.1 * from_rim(x, y))))
    assert result.status == "pass"
    assert result.measures["rim_length_mm"] == pytest.approx(240.0)
    assert result.measures["rim_thickness_median_mm"] == pytest.approx(0.0, abs=1e-6)
    assert result.measures["blend_width_median_mm"] == pytest.approx(10.0, rel=0.02)
    growth = result.curves["thickness_by_distance"]
    for distance, thickness in zip(growth.x, growth.y, strict=True):
        if 1.0 <= distance <= 20.0:
            assert thickness == pytest.approx(0.1 * distance, abs=0.06)
    assert "mm" in growth.x_label and "mm" in growth.y_label


def test_the_span_that_fails_has_curves_of_its_own_and_a_passing_rim_has_none():
    """The left side starts 1.2 mm thick and grows as everywhere: its own curve starts there, the median does not."""
    grown = lambda x, y: 0.1 * from_rim(x, y) + 1.2 * np.clip((-10.0 - x) / 15.0, 0.0, 1.0)  # noqa: E731
    curves = measured(worn(BASE, sheet(60.0, 60, grown))).curves
    assert curves["thickness_by_distance"].y[0] < 0.3
    span, cut = curves["thickness_by_distance_failing_span"], curves["section_by_distance"]
    assert (span.x[0], span.y[0]) == (0.0, pytest.approx(1.2, abs=0.02))
    assert np.interp(3.0, span.x, span.y) == pytest.approx(1.5, abs=0.06)
    assert (cut.x[0], cut.y[0]) == (span.x[0], span.y[0])
    assert cut.x[-1] <= 8.0
    # the worst place is near a corner, behind which the thick side already ends
    assert np.interp(3.0, cut.x, cut.y) == pytest.approx(1.5, abs=0.1)
    limit = curves["thickness_by_distance_limit"]
    assert set(limit.y) == {0.3}
    assert limit.x[-1] == 1.0, "the rim's limit asks nothing of the piece behind it"
    gentle = measured(worn(BASE, sheet(60.0, 60, lambda x, y: 0.1 * from_rim(x, y))))
    assert list(gentle.curves) == ["thickness_by_distance"]


def test_a_floating_rim_is_as_thick_as_it_floats():
    result = measured(worn(BASE, sheet(60.0, 60, lambda x, y: 0.8 + 0.1 * from_rim(x, y))))
    assert result.status == "fail"
    assert result.measures["rim_thickness_median_mm"] == pytest.approx(0.8, abs=1e-6)
    assert result.measures["rim_over_limit_mm"] == pytest.approx(240.0)
    assert result.measures["rim_over_limit_fraction"] == pytest.approx(1.0)
    finding = result.findings[0]
    assert finding.value == pytest.approx(0.8)
    assert "240 mm" in finding.message and "0.3 mm" in finding.message


def test_a_closed_shell_with_a_cut_edge_is_as_thick_as_its_wall():
    vertices, faces = sheet(60.0, 60)
    thickness = 1.2 + 0.05 * from_rim(*vertices[:, :2].T)
    result = measured(worn(BASE, slab(vertices, faces, thickness)))
    assert result.measures["rim_length_mm"] == pytest.approx(240.0)
    assert result.measures["rim_thickness_median_mm"] == pytest.approx(1.2, abs=1e-6)
    assert result.measures["rim_over_limit_mm"] == pytest.approx(240.0)


def test_an_open_skin_with_a_skirt_is_as_thick_as_the_skirt():
    vertices, faces = sheet(60.0, 60)
    shell_vertices, shell_faces = slab(vertices, faces, 1.2 + 0.05 * from_rim(*vertices[:, :2].T))
    skirted = np.concatenate([shell_faces[: len(faces)], shell_faces[2 * len(faces) :]])
    result = measured(worn(BASE, (shell_vertices, skirted)))
    assert result.measures["rim_thickness_median_mm"] == pytest.approx(1.2, abs=1e-6)
    assert result.status == "fail"


def test_a_thick_stretch_is_listed_with_its_length_and_place():
    thick = lambda x, y: 0.6 * ((y > 29.9) & (abs(x) < 10.5)) + 0.1 * from_rim(x, y)  # noqa: E731
    result = measured(worn(BASE, sheet(60.0, 60, thick)))
    (finding,) = [finding for finding in result.findings if finding.severity == "fail"]
    ramps = 2 * (1 - 0.3 / 0.6)
    assert result.measures["rim_over_limit_mm"] == pytest.approx(20.0 + ramps, abs=1.0)
    assert finding.value == pytest.approx(0.6, abs=0.02)
    assert finding.at_mm[1] == pytest.approx(30.0)
    assert abs(finding.at_mm[0]) <= 10.5
    assert result.measures["rim_over_limit_fraction"] == pytest.approx(21.0 / 240.0, abs=0.005)


def full_head(profile, level=6):
    vertices, faces = icosphere(level)
    polar = np.arccos(np.clip(vertices[:, 2] / RADIUS_MM, -1, 1))
    arc_mm = (np.radians(30) - polar) * RADIUS_MM
    return (vertices, faces), (vertices * (1 + np.where(arc_mm > 0, profile(arc_mm), 0) / RADIUS_MM)[:, None], faces)


def test_a_full_head_sculpt_has_its_rim_where_it_leaves_the_base():
    base, sculpt = full_head(lambda arc_mm: np.clip(0.1 * arc_mm, 0, 3))
    result = measured(worn(base, sculpt), ROUND)
    circle_mm = 2 * np.pi * RADIUS_MM * np.sin(np.radians(30))
    assert result.status == "pass"
    assert result.measures["rim_length_mm"] == pytest.approx(circle_mm, rel=0.15)
    assert result.measures["rim_thickness_p95_mm"] < 0.15
    assert result.measures["blend_width_median_mm"] == pytest.approx(10.0, rel=0.12)


def test_a_full_head_sculpt_with_a_step_fails():
    base, sculpt = full_head(lambda arc_mm: np.clip(1.2 + 0.05 * arc_mm, 0, 3))
    result = measured(worn(base, sculpt), ROUND)
    assert result.status == "fail"
    assert any("rises to 1 mm" in finding.message for finding in result.findings)


def test_a_rim_lying_on_another_appliance_is_measured_from_that_appliance():
    lower = slab(*sheet(60.0, 60), np.full(61 * 61, 3.0))
    upper = sheet(20.0, 40, lambda x, y: 3.0 + 0.1 * from_rim(x, y, 10.0))
    parts = (
        Part("Scan", "base", *BASE),
        Part("Under", "appliance", *lower),
        Part("Over", "appliance", *upper),
    )
    result = measured(Snapshot("two", parts=parts))
    assert not [f for f in result.findings if f.object == "Over" and f.severity == "fail"]
    assert [f for f in result.findings if f.object == "Under" and f.severity == "fail"]


def test_holes_are_rims_too():
    vertices, faces = sheet(60.0, 60, lambda x, y: 0.1 + 0 * x)
    centre = vertices[faces].mean(axis=1)
    kept = faces[(np.abs(centre[:, :2]) > 5.0).any(axis=1)]
    result = measured(worn(BASE, (vertices, kept)))
    assert result.measures["rim_length_mm"] == pytest.approx(240.0 + 40.0)


def test_rigid_motion_and_vertex_order_change_nothing():
    base = icosphere(5)
    piece = cap(5, 30.0, lambda arc_mm: 0.4 + 0.1 * arc_mm)[:2]
    still = measured(worn(base, piece), ROUND)
    turn = np.array([[0.6, -0.8, 0], [0.8, 0.6, 0], [0, 0, 1]]) @ np.array(
        [[1, 0, 0], [0, 0.28, -0.96], [0, 0.96, 0.28]]
    )
    marks = {name: turn @ point + 70.0 for name, point in ROUND.items()}
    moved = measured(worn((base[0] @ turn.T + 70.0, base[1]), (piece[0] @ turn.T + 70.0, piece[1])), marks)
    order = np.random.default_rng(1).permutation(len(piece[0]))
    shuffled = measured(worn(base, (piece[0][order], np.argsort(order)[piece[1]])), ROUND)
    for other in (moved, shuffled):
        assert other.measures == pytest.approx(still.measures, rel=2e-3, abs=1e-6, nan_ok=True)


def test_a_piece_without_a_rim_is_not_checked():
    vertices, faces = icosphere(4)
    result = measured(worn((vertices, faces), (vertices * 1.02, faces)))
    assert result.status == "not_checked"
    assert "rim" in result.reason


def floating(thick_mm, material="silicone", **at):
    """A square piece that ends everywhere at one thickness, and grows by 0.1 mm for each mm from there."""
    piece = sheet(60.0, 60, lambda x, y: thick_mm + 0.1 * from_rim(x, y))
    return Snapshot("test", parts=(Part("Scan", "base", *BASE), Part("Cowl", "appliance", *piece, material)), **at)


@pytest.mark.parametrize(
    ("thick_mm", "material", "edges", "status"),
    [
        (0.14, "silicone", "", "pass"),
        (0.2, "silicone", "", "review"),
        (0.35, "silicone", "", "fail"),
        (0.2, "gelatin", "", "pass"),
        (0.35, "gelatin", "", "review"),
        (0.55, "gelatin", "", "fail"),
        (0.14, "silicone", 'close_up = ["Cowl"]', "review"),
        (0.27, "silicone", 'close_up = ["C*"]', "fail"),
        (0.9, "silicone", 'hidden = ["Cowl"]', "pass"),
        (1.1, "silicone", 'hidden = ["Cowl"]', "fail"),
        (0.2, "gelatin", 'close_up = ["Cowl"]', "review"),
    ],
)
def test_an_edge_is_held_to_what_its_material_and_its_place_ask(thick_mm, material, edges, status):
    """Practice: 0.15 and 0.3 mm, in close-up 0.1 and 0.25. Choice: 0.3 and 0.5 where it melts, 1.0 where hidden."""
    result = measured(floating(thick_mm, material), brief=parse_brief(f"[edges]\n{edges}\n[limits]\nblend_step_mm = 0\n"
                                                                      "blend_width_mm = 0"))  # fmt: skip
    assert result.status == status
    assert result.measures["rim_thickness_median_mm"] == pytest.approx(thick_mm, abs=1e-6)
    assert result.measures["uncast_edge_mm"] == 0.0, "all of it comes out of the mould"
    if status != "pass":
        assert result.findings[0].value == pytest.approx(thick_mm, abs=1e-6)


@pytest.mark.parametrize(("material", "cast_mm", "status"), [("silicone", 0.05, "pass"), ("acrylic", 0.5, "fail")])
def test_an_edge_comes_out_no_thinner_than_its_material_can_be_cast(material, cast_mm, status):
    """Sculpted to nothing: silicone ends at 0.05 mm, acrylic at 0.5, which reads on camera."""
    result = measured(floating(0.0, material))
    assert result.status == status
    assert result.measures["rim_share_of_limit_p95"] == pytest.approx(cast_mm / 0.3, rel=1e-3)
    assert result.measures["rim_thickness_median_mm"] == pytest.approx(0.0, abs=1e-6)
    if status == "fail":
        assert "cast no thinner" in result.findings[0].message
        assert result.findings[0].remedy == ""


def test_a_wide_band_too_thin_to_cast_is_missing_from_the_casting():
    """Foam, 0.1 mm at least: growing by 0.02 mm for each mm, its outer 5 mm don't come out of the mould."""
    brief = parse_brief("[limits]\nblend_width_mm = 0")
    for slope, status in ((0.02, "review"), (0.05, "pass")):
        piece = sheet(60.0, 60, lambda x, y, slope=slope: slope * from_rim(x, y))
        shot = Snapshot("test", parts=(Part("Scan", "base", *BASE), Part("Cowl", "appliance", *piece, "foam_latex")))
        result = measured(shot, brief=brief)
        assert result.measures["uncast_edge_mm"] == pytest.approx(0.1 / slope, rel=0.05)
        assert result.status == status
        assert [finding.value for finding in result.findings] == pytest.approx(
            [0.1 / slope] * (status == "review"), rel=0.03
        )


def test_a_place_the_brief_names_that_there_is_none_of_is_said():
    result = measured(floating(0.1), brief=parse_brief('[edges]\nhidden = ["Cowl", "left tempel"]'))
    assert result.status == "not_checked"
    assert "left tempel" in result.reason and "Cowl" not in result.reason


def test_a_region_of_the_head_can_be_named():
    """Only the half of the rim that is nearer to the crown than to the chin is hidden: 120 of 240 mm."""
    marks = FLAT | {"vertex_top": np.array([0, 400.0, 0]), "opisthocranion": np.array([0, -400.0, 0])}
    brief = parse_brief('[edges]\nhidden = ["crown"]')
    regions = Regions.from_landmarks({name: marks[name] for name in ("vertex_top", "opisthocranion")})
    assert regions.name((0, 20, 0)) == "crown"
    only = {name: point for name, point in marks.items() if name in ("vertex_top", "opisthocranion")}
    result = measured(floating(0.6), only, brief)
    assert result.measures["rim_over_limit_mm"] == pytest.approx(120.0, abs=1.0)


@pytest.mark.parametrize(("gap_mm", "status"), [(7.0, "pass"), (4.0, "review")])
def test_an_edge_keeps_away_from_lids_lips_and_nostrils(gap_mm, status):
    """The piece ends at x = 30; the mouth's corner stands that far beside it, the lids' line 9 mm further."""
    lips = {"cheilion_left": (30.0 + gap_mm, 0, 0), "cheilion_right": (55.0, 0, 0), "labiale_superius": (45.0, 0, 0),
            "labiale_inferius": (45.0, 0, 0)}  # fmt: skip
    lids = {"endocanthion_right": (-30.0 - gap_mm - 9.0, 0, 0), "exocanthion_right": (-50.0, 0, 0)}
    marks = FLAT | {name: np.array(point, float) for name, point in (lips | lids).items()}
    result = measured(floating(0.0), marks)
    assert result.measures["rim_to_vermilion_mm"] == pytest.approx(gap_mm, abs=0.05)
    assert result.measures["rim_to_lid_mm"] == pytest.approx(gap_mm, abs=0.05)
    assert result.status == status
    told = [finding for finding in result.findings if "ends" in finding.message]
    assert {finding.message.split(" from the ")[1].split(",")[0] for finding in told} == (
        {"vermilion of the upper lip", "vermilion of the lower lip", "margin of the right lids"} if told else set()
    )
    for finding in told:
        assert finding.value == pytest.approx(gap_mm, abs=0.05)


def test_without_landmarks_distances_are_not_measured_and_nothing_passes():
    result = measured(floating(0.0), {})
    assert result.status == "not_checked"
    assert "labiale_superius" in result.reason and "alare_left" in result.reason
    assert all(np.isnan(result.measures[f"rim_to_{kind}_mm"]) for kind in ("lid", "vermilion", "nostril"))


def strip(low, high, height_mm, name):
    """A flat piece between two corners, as high as stated, that ends on what lies under its far end."""
    vertices, faces = sheet(1.0, 40)
    share = vertices[:, :2] + 0.5
    points = np.column_stack([np.array(low) + share * (np.array(high) - low), np.zeros(len(share))])
    points[:, 2] = height_mm(points[:, 0])
    return Part(name, "appliance", points, faces, "silicone")


def overlapping(width_mm):
    """One piece from x = -40 to 5, 0.5 mm high; another from 5 - width to 45 that lies 0.1 mm on it and ends there."""
    lower = strip((-40, -40), (5, 40), lambda x: 0.5 + 0 * x, "Chin")
    upper = strip((5 - width_mm, -25), (45, 25), lambda x: 0.6 + 0.5 * (x > 6), "Cheek")
    return Snapshot("test", parts=(Part("Scan", "base", *BASE), lower, upper))


@pytest.mark.parametrize(("width_mm", "severity"), [(3.0, "review"), (7.0, None), (14.0, "info")])
def test_an_overlap_is_as_wide_as_the_piece_beneath_goes_on(width_mm, severity):
    result = measured(overlapping(width_mm))
    assert result.measures["overlaps"] == 1
    assert result.measures["overlap_width_mm"] == pytest.approx(width_mm, abs=0.3)
    assert result.measures["gluing_order"] == "Chin, Cheek"
    joints = [finding for finding in result.findings if "overlaps" in finding.message]
    assert [str(joint.severity) for joint in joints] == ([severity] if severity else [])
    for joint in joints:
        assert joint.value == pytest.approx(width_mm, abs=0.3)


def test_pieces_that_each_lie_on_the_other_have_no_order():
    names = ("Chin", "Cheek")
    found = [LappedEdge(Part(a, "appliance", *BASE), Part(b, "appliance", *BASE), 10.0, 6.0, np.zeros(3))
             for a, b in (names, names[::-1])]  # fmt: skip
    assert order_of(found) == ((), ("Cheek", "Chin"))
    fitting = Fitting(floating(0.0), Brief())
    (said,) = overlap_findings(found, fitting, Brief().limits)
    assert "none can be glued first" in said.message and str(said.severity) == "review"


def test_three_pieces_go_on_from_the_lowest():
    parts = {name: Part(name, "appliance", *BASE) for name in ("Brow", "Cheek", "Chin")}
    found = [LappedEdge(parts[a], parts[b], 10.0, 6.0, np.zeros(3)) for a, b in (("Brow", "Cheek"), ("Cheek", "Chin"))]
    assert order_of(found) == (("Chin", "Cheek", "Brow"), ())
