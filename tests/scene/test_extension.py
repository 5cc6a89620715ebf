"""The extension: Blender's own tool builds and accepts it, and a clean Blender installs and removes it."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from blender_module import needs_module  # noqa: E402
from dryfit.model.version import VERSION  # noqa: E402

SOURCE = Path(__file__).parents[2] / "addon" / "dryfit"
BUILDER = Path(bpy.utils.system_resource("SCRIPTS")) / "addons_core" / "bl_pkg" / "cli" / "blender_ext.py"

INSTALL = """
import os, sys, bpy, addon_utils
package, design = sys.argv[1:]
name = "bl_ext.user_default.dryfit"
bpy.ops.extensions.package_install_files(filepath=package, repo="user_default", enable_on_install=True)
assert name in bpy.context.preferences.addons, "not enabled"
module = sys.modules[name]
assert module.__file__.startswith(os.environ["BLENDER_USER_RESOURCES"]), "not the installed copy"
assert "dryfit" not in sys.modules, "absolute imports inside"
from bl_ext.user_default.dryfit import blender_command as command
assert len(command._added) == 1
print("version", module.__version__, "explained", command.run_command(["explain", "additive"]))
print("checked", command.run_command(["check", design, "--only", "additive"]))
print("unusable", command.run_command(["check", "no such file.blend"]), command.run_command(["chekc"]))
addon_utils.disable(name)
assert not command._added, "the command stays behind"
addon_utils.enable(name)
assert len(command._added) == 1
"""


def extension_tool(*arguments):
    command = [sys.executable, str(BUILDER), *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def package(tmp_path_factory):
    folder = tmp_path_factory.mktemp("extension")
    done = extension_tool("build", "--source-dir", SOURCE, "--output-dir", folder)
    assert done.returncode == 0, done.stdout + done.stderr
    (built,) = folder.glob("*.zip")
    return built


def test_the_manifest_states_the_version_of_the_library():
    manifest = tomllib.loads((SOURCE / "blender_manifest.toml").read_text())
    assert (manifest["id"], manifest["version"]) == ("dryfit", VERSION)
    assert "network" not in manifest["permissions"]


def test_blenders_own_tool_accepts_it(package):
    done = extension_tool("validate", package)
    assert done.returncode == 0, done.stdout + done.stderr


@needs_module
def test_a_clean_blender_installs_runs_and_removes_it(build, package, tmp_path):
    build.sphere()
    build.box("Cheek", size=(0.02, 0.02, 0.02)).location = (0.0, -0.12, 0.0)
    design = tmp_path / "cheek.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(design))
    clean = {**os.environ, "BLENDER_USER_RESOURCES": str(tmp_path / "user")}
    clean.pop("PYTHONPATH", None)
    command = [sys.executable, "-c", INSTALL, str(package), str(design)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=clean)
    assert done.returncode == 0, done.stdout + done.stderr
    assert f"version {VERSION} explained 0" in done.stdout
    assert "checked 0" in done.stdout, done.stdout + done.stderr
    assert "unusable 2 2" in done.stdout
