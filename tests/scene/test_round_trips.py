"""A design out through Blender's exporters and in again: roles, materials, keys, landmarks and the lock come along."""

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from test_files import export, save  # noqa: E402

from blender_module import needs_module  # noqa: E402
from dryfit.model.brief_reading import parse_brief  # noqa: E402
from dryfit.performer.lock import Held, LockState  # noqa: E402
from dryfit.scene.importing import hand_down_marks  # noqa: E402
from dryfit.scene.locking import FINGERPRINT, VERTICES, lock_base, packed, stored_lock  # noqa: E402
from dryfit.scene.quiet import CHATTER  # noqa: E402
from dryfit.scene.reading import read_file  # noqa: E402

JAW = "[motions.jaw]\nkeys = { JawOpen = [0.0, 1.0] }\n"
KINDS = ("blend", "usda", "usdc", "glb", "gltf", "fbx")


def below(co):
    return co.z < -0.05


def design(build):
    """A keyed, locked base, a keyed piece of a material, teeth, a landmark, and an old version that is ignored."""
    head, piece = build.sphere(), build.box("Cheek")
    build.key(head, "JawOpen", (0.0, 0.0, -0.03), where=below)
    piece.location, piece["dryfit_material"] = (0.0, -0.11, 0.0), "silicone"
    build.key(piece, "JawOpen", (0.0, 0.0, -0.01))
    build.box("Teeth", "lower_teeth")
    build.box("Old", "ignore").location = (0.0, -0.12, 0.0)
    build.empty("Chin", "gnathion", (0.0, -0.1, -0.05))
    lock_base(head)
    return head


def skip_unreadable(kind):
    if kind.startswith("usd") and "usd_import" not in dir(bpy.ops.wm):
        pytest.skip("this Blender was built without USD")
    if kind == "usdc" and bpy.app.version < (4, 5, 0):
        pytest.skip("this Blender does not tell the unit of binary USD")


@needs_module
@pytest.mark.parametrize("kind", KINDS)
def test_everything_comes_along(build, tmp_path, kind):
    skip_unreadable(kind)
    design(build)
    path = tmp_path / f"design.{kind}"
    snapshot = read_file(save(path) if kind == "blend" else export(path), parse_brief(JAW))
    assert {part.name: (str(part.role), part.material) for part in snapshot.parts} == {
        "Head": ("base", ""), "Cheek": ("appliance", "silicone"), "Teeth": ("lower_teeth", ""),
    }  # fmt: skip
    assert not snapshot.unmeasured and not [note for note in snapshot.notes if "matches no" in note]
    np.testing.assert_allclose(snapshot.landmarks["gnathion"], [0.0, -100.0, -50.0], atol=1e-3)
    jaw = snapshot.motions["jaw"]
    assert {*jaw.frames_mm} == {"Head", "Cheek"}
    np.testing.assert_allclose((jaw.frames_mm["Cheek"][-1] - jaw.frames_mm["Cheek"][0])[:, 2], -10.0, atol=1e-3)
    state = LockState.of(snapshot)
    assert state.held is Held.HELD and state.max_change_mm < 0.002
    assert len(snapshot.lock.vertices_mm) == len(snapshot.base.vertices_mm)


@needs_module
@pytest.mark.parametrize("kind", ["usda", "fbx"])
def test_a_brief_ignores_what_a_scene_format_brings(build, tmp_path, kind):
    skip_unreadable(kind)
    design(build)
    snapshot = read_file(export(tmp_path / f"design.{kind}"), parse_brief(f'{JAW}[roles]\nignore = ["Teeth*"]\n'))
    assert {part.name for part in snapshot.parts} == {"Head", "Cheek"}


def test_a_lock_kept_as_bytes_is_read_and_what_is_left_of_one_counts_by_its_fingerprint(build):
    head = build.sphere()
    lock = lock_base(head)
    assert isinstance(head[VERTICES], str)
    del head[VERTICES]
    head[VERTICES] = packed(lock.vertices_mm)
    np.testing.assert_allclose(stored_lock(head).vertices_mm, lock.vertices_mm, atol=1e-3)
    del head[VERTICES]
    head[VERTICES] = "x\ufffdcut short"
    left = stored_lock(head)
    assert left.fingerprint == head[FINGERPRINT] and not len(left.vertices_mm)


def test_marks_go_down_to_meshes_that_have_none_and_names_come_back(build):
    over, own = build.empty("Cheek"), build.box("Own", "hardware")
    over["dryfit_role"], over["dryfit_material"] = "appliance", "silicone"
    mesh = build.box("Cheek.001", role=None)
    mesh.parent = own.parent = over
    hand_down_marks(bpy.context.scene.objects)
    assert (mesh.name, mesh["dryfit_role"], mesh["dryfit_material"]) == ("Cheek", "appliance", "silicone")
    assert own["dryfit_role"] == "hardware" and over.name == "Cheek.001"


def test_an_importers_chatter_is_known():
    for line in (
        b"12:01:59 | INFO: Data are loaded, start creating Blender stuff", b"USD import of '/a.usda' took 3 ms", b"Info: x",
        b"00:01.203  usd              | Info: x", b"import finished in 0.1 sec.", b"FBX version: 7400",
    ):  # fmt: skip
        assert CHATTER.match(line), line
    assert not CHATTER.match(b"Warning: a texture is missing")
