"""Locking a file on disk: only the lock is new in it, and where it cannot be written one sentence says why."""

import shutil
import subprocess
import sys

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from blender_module import needs_module  # noqa: E402
from dryfit.model.file_content import ChangedWhileRead  # noqa: E402
from dryfit.scene import locking_file  # noqa: E402
from dryfit.scene.locking_file import lock_file  # noqa: E402
from dryfit.scene.reading import read_file  # noqa: E402

LOCK = [sys.executable, "-m", "dryfit", "lock"]


@pytest.fixture
def design(build, tmp_path):
    build.key(build.sphere(rings=40), "JawOpen", (0.0, 0.0, -0.03), value=0.5)
    build.box()
    build.camera("Shot", (0.0, -1.0, 0.0))
    path = tmp_path / "warden.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    return path


def test_the_lock_is_of_what_a_check_measures_and_nothing_else_is_new(design, tmp_path, state):
    before = read_file(design)
    locked = lock_file(design)
    assert locked.notes == ()
    after = read_file(design)
    assert before.lock is None and after.lock.fingerprint == locked.lock.fingerprint
    np.testing.assert_array_equal(before.base.vertices_mm, locked.lock.vertices_mm)
    np.testing.assert_array_equal(before.base.vertices_mm, after.base.vertices_mm)
    assert [part.name for part in after.parts] == [part.name for part in before.parts]
    assert [path.name for path in tmp_path.iterdir()] == ["warden.blend"]


def test_a_lock_keeps_what_would_run_in_a_render(design):
    """What is dangerous in somebody's own file stays theirs: it is only never run from here."""
    bpy.ops.wm.open_mainfile(filepath=str(design), load_ui=False)
    module = bpy.context.view_layer.freestyle_settings.modules.new()
    module.script = bpy.data.texts.new("style.py")
    material = bpy.data.materials.new("Skin")
    material.use_nodes = True
    material.node_tree.nodes.new("ShaderNodeScript").filepath = "//skin.osl"
    material.use_fake_user = True
    bpy.data.texts["style.py"].use_module = True
    bpy.ops.wm.save_mainfile()
    lock_file(design)
    bpy.ops.wm.open_mainfile(filepath=str(design), load_ui=False, use_scripts=False)
    assert bpy.context.view_layer.freestyle_settings.modules[0].script.name == "style.py"
    assert [node.filepath for node in bpy.data.materials["Skin"].node_tree.nodes if node.type == "SCRIPT"] == [
        "//skin.osl"
    ]
    assert bpy.data.texts["style.py"].use_module


def test_a_file_that_somebody_saves_meanwhile_is_left_as_they_saved_it(design, monkeypatch):
    measure = locking_file.base_to_lock

    def measure_and_change(path, brief):
        found = measure(path, brief)
        with path.open("ab") as stream:
            stream.write(b"saved by somebody else")
        return found

    monkeypatch.setattr("dryfit.scene.locking_file.base_to_lock", measure_and_change)
    with pytest.raises(ChangedWhileRead):
        lock_file(design)
    assert design.read_bytes().endswith(b"saved by somebody else")


def test_nor_is_one_lost_that_is_saved_while_the_lock_is_put_in(design, monkeypatch):
    store = locking_file.store_lock

    def store_and_change(item, base):
        design.write_bytes(b"a later design")
        return store(item, base)

    monkeypatch.setattr("dryfit.scene.locking_file.store_lock", store_and_change)
    with pytest.raises(ChangedWhileRead):
        lock_file(design)
    assert design.read_bytes() == b"a later design"
    assert [path.name for path in design.parent.iterdir()] == [design.name]


def can_mount():
    if sys.platform != "linux" or shutil.which("unshare") is None:
        return False
    return subprocess.run(["unshare", "-rm", "true"], capture_output=True, check=False).returncode == 0


def run_mounted(place, options, *steps):
    """Run shell commands with a file system of its own at a place, which nobody else sees."""
    script = " && ".join([f"mount -t tmpfs -o {options} none {place}", *steps])
    return subprocess.run(["unshare", "-rm", "sh", "-c", script], capture_output=True, text=True, check=False)


needs_mount = pytest.mark.skipif(not can_mount(), reason="may not mount a file system of its own")


@needs_module
@needs_mount
def test_a_file_system_that_is_read_only_is_one_sentence(design, tmp_path):
    (tmp_path / "stick").mkdir()
    copy = tmp_path / "stick" / "warden.blend"
    done = run_mounted(
        tmp_path / "stick", "size=64m", f"cp {design} {copy}", f"mount -o remount,ro {tmp_path / 'stick'}",
        f"{' '.join(LOCK)} {copy}",
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        f"dryfit: {copy}: cannot be written: Read-only file system. "
        "Lock it where it can be written, or copy it to a disk with room and lock the copy.\n"
    )


@needs_module
@needs_mount
def test_a_full_disk_is_one_sentence_and_leaves_the_file(design, tmp_path):
    (tmp_path / "stick").mkdir()
    copy = tmp_path / "stick" / "warden.blend"
    fill = tmp_path / "stick" / "fill"
    done = run_mounted(
        tmp_path / "stick", "size=2m", f"cp {design} {copy}", f"{{ cat /dev/zero > {fill} 2> /dev/null; true; }}",
        f"{{ {' '.join(LOCK)} {copy}; code=$?; }}", f"ls -A {tmp_path / 'stick'}", f"cmp {design} {copy}",
        "exit $code",
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (2, "fill\nwarden.blend\n")
    (line,) = done.stderr.splitlines()
    assert line.startswith(f"dryfit: {copy}: cannot be written: ")
    assert "No space left on device" in line
    assert "--out" not in line and line.endswith("lock the copy.")
