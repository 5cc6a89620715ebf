"""What runs into what, on the bench: said at each pose, picked, painted, and the slider taken where it starts."""

import json

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.demo_door import build_demo  # noqa: E402
from dryfit.geometry import Surface  # noqa: E402
from dryfit.model.progress import drain  # noqa: E402
from dryfit.scene.units import mm_per_unit  # noqa: E402
from dryfit.sitting.finding_place import shown_place  # noqa: E402
from dryfit.sitting.painting import fields_named, painted_now  # noqa: E402
from dryfit.sitting.picking import spot_of  # noqa: E402
from dryfit.sitting.posed_view import player, stop_playing  # noqa: E402
from dryfit.sitting.stored_report import field_values, finding_elements, stored_fields  # noqa: E402
from dryfit.sitting.words.meeting_words import meeting_start, meeting_words  # noqa: E402
from dryfit.sitting.words.pose_words import contact_t, pose_words  # noqa: E402

MEASURES = {
    "motions": "jaw, smile", "start_motion": "jaw", "start_t": 0.2,
    "worst_pair": "left lower canine / left upper canine",
}  # fmt: skip
CURVES = {"overlap_by_t_jaw": {"x": [0.0, 0.1, 0.2, 1.0], "y": [3.0, 1.0, None, 0.0]}}


def told(scene, **changes):
    check = {"id": "interference", "status": "fail", "reason": "", "measures": MEASURES, "curves": CURVES}
    scene["dryfit_report"] = json.dumps({"checks": [{**check, **changes}]})
    return scene


def test_depth_and_start_are_those_of_the_report(design):
    scene = told(design.scene)
    assert meeting_words(scene, "jaw", 0.05) == [
        "Overlap: between 1.0 and 3.0 mm at its deepest", "Left lower canine and left upper canine start to meet at 20.0 %",
    ]  # fmt: skip
    assert meeting_words(scene, "jaw", 0.5)[0] == "Overlap: between 0.0 and 1.0 mm at its deepest", "no figure, no zero"
    for t, depth in ((0.0, "3.0"), (0.1, "1.0"), (0.1001, "1.0"), (1.0, "0.0")):
        assert meeting_words(scene, "jaw", t)[0] == f"Overlap: {depth} mm at its deepest", "as it was looked at"
    assert meeting_words(scene, "smile", 0.5) == ["Nothing runs into anything in this motion"]
    assert meeting_words(scene, "pucker", 0.5) == ["What meets in this motion was not measured"]
    assert pose_words(scene, "smile", 0.5) == ["Nothing runs into anything in this motion"]
    assert "check again" not in pose_words(scene, "smile", 0.5)[-1]
    row = scene.dryfit.checks.add()
    row.name, row.outdated = "interference", "Changed since it was measured: LowerTeeth (place)"
    assert "check again" in pose_words(scene, "smile", 0.5)[-1]


def test_what_was_not_measured_is_said_and_has_no_start(design):
    scene = told(design.scene, status="not_checked", reason="nothing moves", measures={}, curves={})
    assert meeting_words(scene, "jaw", 0.5) == ["What meets in this motion was not measured: Nothing moves"]
    told(scene, measures={**MEASURES, "start_motion": "", "start_t": None})
    assert meeting_start(scene) is None
    with pytest.raises(RuntimeError, match="run the check Interference"):
        bpy.ops.dryfit.go_to_start()
    with pytest.raises(RuntimeError, match="Pick a finding"):
        bpy.ops.dryfit.play_finding()


def test_a_start_in_a_motion_that_is_gone_is_refused_in_words(design):
    told(design.scene)
    with pytest.raises(RuntimeError, match="no motion 'jaw'"):
        bpy.ops.dryfit.go_to_start()
    assert player() is None


@pytest.fixture(scope="module")
def tusks(enabled, tmp_path_factory):
    folder = tmp_path_factory.mktemp("tusks")
    drain(build_demo(folder, "02-warden-tusks"))
    bpy.ops.wm.open_mainfile(filepath=str(folder / "02-warden-tusks.blend"))
    bpy.ops.dryfit.check_fit(only="interference,closure,additive")
    yield bpy.context.scene
    stop_playing()


def met(scene):
    return [place for place, item in enumerate(scene.dryfit.findings) if item.check == "interference"]


@pytest.mark.slow
def test_both_tusks_are_listed_with_figure_limit_and_pose(tusks):
    items = [tusks.dryfit.findings[place] for place in met(tusks)]
    assert {item.message.split(" runs ")[0] for item in items} == {"The left lower canine", "The right lower canine"}
    for item in items:
        assert item.severity == "fail" and item.limited and item.value > item.limit > 0.0
        assert item.motion == "jaw" and item.subject == bpy.data.objects[item.part]


@pytest.mark.slow
def test_a_click_selects_frames_and_paints_the_overlap(tusks):
    bench = tusks.dryfit
    bench.paint, bench.painted = True, "clearance"
    bench.picked = met(tusks)[0]
    finding = bench.findings[bench.picked]
    assert bench.painted == "overlap"
    assert bpy.context.view_layer.objects.active == finding.subject
    elements = finding_elements(tusks, "interference", finding.name)
    mesh = finding.subject.data
    chosen = np.empty(len(mesh.vertices), bool)
    mesh.attributes[".select_vert"].data.foreach_get("value", chosen)
    assert np.array_equal(np.flatnonzero(chosen), elements) and len(elements)
    spot = spot_of(bpy.context, finding)
    points = np.array([finding.subject.matrix_world @ mesh.vertices[each].co for each in elements.tolist()])
    assert np.allclose(spot.at, points.mean(axis=0), atol=1e-6), "where the tooth rests, not where it was measured"
    assert spot.size * mm_per_unit(tusks) < 15.0, "a tooth, not the way it moved"
    assert np.allclose(shown_place(tusks, finding), spot.at)
    assert "dryfit_overlap" in mesh.attributes
    bench.paint = False
    assert "dryfit_overlap" not in mesh.attributes


@pytest.mark.slow
def test_a_pick_paints_what_its_check_measured_and_leaves_paint_off_that_was_switched_off(tusks):
    bench = tusks.dryfit
    bench.paint = True
    bench.paint, bench.painted, bench.picked = False, "thickness", -1
    bench.picked = met(tusks)[0]
    assert bench.painted == "overlap" and not bench.paint
    bench.paint, bench.painted = True, "clearance"
    bench.picked = next(place for place, item in enumerate(bench.findings) if item.check == "closure")
    assert bench.painted == "excess"
    bench.paint = False


@pytest.mark.slow
def test_no_two_checks_paint_the_same_value_on_one_part(tusks):
    painted = [(entry.name, entry.part) for entry in stored_fields(tusks)]
    assert len(painted) == len(set(painted))


@pytest.mark.slow
def test_the_overlap_is_painted_on_the_teeth_that_meet_and_is_as_deep_as_the_finding(tusks):
    bench = tusks.dryfit
    bench.paint, bench.painted = True, "overlap"
    painted = {each.item.name for each in painted_now(tusks)}
    assert painted == {entry.part for entry in fields_named(tusks, "overlap")} == {"LowerTeeth", "UpperTeeth"}
    worst = max(bench.findings[place].value for place in met(tusks))
    for entry in fields_named(tusks, "overlap"):
        assert np.nanmax(field_values(tusks, entry)) == pytest.approx(worst, abs=1e-3)
        assert (entry.motion, entry.limit is not None) == ("jaw", True)
    bench.paint = False


@pytest.mark.slow
def test_the_slider_goes_where_they_start_to_meet(tusks):
    """Closing, the teeth cross just past that pose and not just before it; closure's own search stops there too."""
    assert bpy.ops.dryfit.go_to_start() == {"FINISHED"}
    bench, start = tusks.dryfit, meeting_start(tusks)
    assert player().motion == bench.motion == "jaw"
    assert bench.t == pytest.approx(start.t, abs=1e-6) == pytest.approx(contact_t(tusks), abs=2e-4)
    before = bench.t
    for t, crosses in ((before + 2e-3, False), (before - 2e-3, True)):
        assert bool(len(posed("LowerTeeth", t).crossings(posed("UpperTeeth", t)))) == crosses, t
    assert any("start to meet" in line for line in pose_words(tusks, "jaw", bench.t))
    stop_playing()


def posed(name, t):
    return Surface(player().poser.vertices(name, t), player().snapshot.part(name).faces)


@pytest.mark.slow
def test_a_finding_is_played_in_its_own_pose_and_marked_there_only(tusks):
    bench = tusks.dryfit
    bench.picked = met(tusks)[-1]
    finding = bench.findings[bench.picked]
    assert bpy.ops.dryfit.play_finding() == {"FINISHED"}
    assert bench.t == pytest.approx(min(max(finding.t, 0.0), 1.0)) and player().motion == finding.motion
    assert np.allclose(shown_place(tusks, finding) * mm_per_unit(tusks), finding.at_mm, atol=1e-3)
    bench.t = bench.t + 0.3
    assert shown_place(tusks, finding) is None
    stop_playing()
    assert not np.allclose(shown_place(tusks, finding) * mm_per_unit(tusks), finding.at_mm, atol=0.1)
