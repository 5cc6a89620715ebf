"""The button that proposes landmarks: what it places, what it leaves alone, and how a proposal ends."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.performer.landmarks.template import head_template  # noqa: E402
from dryfit.sitting.landmarking.landmark_placing import PROPOSED, missing_landmarks, placed_landmarks  # noqa: E402
from dryfit.sitting.landmarking.landmark_proposing import unconfirmed_landmarks  # noqa: E402


@pytest.fixture
def head(scene):
    template = head_template()
    mesh = bpy.data.meshes.new("Head")
    mesh.from_pydata((template.surface.vertices_mm / 1000.0).tolist(), [], template.surface.faces.tolist())
    item = bpy.data.objects.new("Head", mesh)
    item["dryfit_role"] = "base"
    scene.collection.objects.link(item)
    mine = bpy.data.objects.new("mine", None)
    mine["dryfit_landmark"], mine.location = "tragion_left", (0.072, -0.01, 0.006)
    scene.collection.objects.link(mine)
    bpy.context.view_layer.update()
    return scene


def test_what_nobody_placed_is_proposed_near_the_truth_and_marked(head):
    assert bpy.ops.dryfit.propose_landmarks() == {"FINISHED"}
    template, placed = head_template(), placed_landmarks(head)
    assert len(placed) == 22 and len(unconfirmed_landmarks(head)) == 21
    at = np.array([placed[name].location for name in template.names if name != "tragion_left"]) * 1000.0
    truth = np.array([p for n, p in zip(template.names, template.points_mm, strict=True) if n != "tragion_left"])
    assert np.median(np.linalg.norm(at - truth, axis=1)) < 1.0
    assert tuple(placed["tragion_left"].location) == pytest.approx((0.072, -0.01, 0.006))


def test_confirming_takes_the_mark_away_and_a_placed_point_is_confirmed(head):
    bpy.ops.dryfit.propose_landmarks()
    assert bpy.ops.dryfit.confirm_landmarks() == {"FINISHED"}
    assert not any(PROPOSED in item for item in placed_landmarks(head).values())
    with pytest.raises(RuntimeError, match="waits to be confirmed"):
        bpy.ops.dryfit.confirm_landmarks()


def test_a_base_without_a_face_is_refused_in_words(design):
    for item in list(placed_landmarks(design.scene).values()):
        bpy.data.objects.remove(item)
    with pytest.raises(RuntimeError, match="no face was found"):
        bpy.ops.dryfit.propose_landmarks()
    assert not placed_landmarks(design.scene)


def test_a_landmark_within_an_instance_is_not_missing(head):
    held = bpy.data.collections.new("Marks")
    mark = bpy.data.objects.new("nose", None)
    mark["dryfit_landmark"] = "subnasale"
    held.objects.link(mark)
    assert "subnasale" in missing_landmarks(head)
    shown = bpy.data.objects.new("Shown", None)
    shown.instance_type, shown.instance_collection = "COLLECTION", held
    head.collection.objects.link(shown)
    assert "subnasale" not in missing_landmarks(head)
    assert "tragion_left" not in missing_landmarks(head)
