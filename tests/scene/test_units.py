"""mm = blender units x scale_length x 1000, whatever the scene displays."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.scene.reading import read_snapshot  # noqa: E402

RADIUS_MM = 100.0


@pytest.mark.parametrize("scale_length", [1.0, 0.01, 0.001, 0.0254])
@pytest.mark.parametrize("system", ["METRIC", "IMPERIAL", "NONE"])
def test_a_head_is_as_large_in_millimetres_at_every_unit_scale(scene, build, scale_length, system):
    scene.unit_settings.system = system
    scene.unit_settings.scale_length = scale_length
    build.sphere(radius=RADIUS_MM / 1000.0 / scale_length)
    base = read_snapshot(bpy.context).base
    radii_mm = np.linalg.norm(base.vertices_mm, axis=1)
    np.testing.assert_allclose(radii_mm, RADIUS_MM, atol=2e-5)


def test_landmarks_and_cameras_take_the_same_scale(scene, build):
    scene.unit_settings.scale_length = 0.001
    build.sphere(radius=100.0)
    build.empty("Nose", "pronasale", (1.0, -101.0, 2.0))
    build.camera("ShotCam", (0.0, -2000.0, 5.0))
    snapshot = read_snapshot(bpy.context)
    np.testing.assert_allclose(snapshot.landmarks["pronasale"], [1.0, -101.0, 2.0], atol=1e-5)
    np.testing.assert_allclose(snapshot.cameras[0].position_mm, [0.0, -2000.0, 5.0], atol=1e-4)
    assert snapshot.cameras[0].name == "ShotCam"


def test_a_scene_without_a_unit_system_says_what_was_taken(scene, build):
    build.sphere()
    assert not read_snapshot(bpy.context).notes
    scene.unit_settings.system = "NONE"
    assert any("unit system is None" in note and "1000 mm" in note for note in read_snapshot(bpy.context).notes)
