"""The zip of scripts/build_extension.py: accepted by Blender's own tool, installed clean, measuring there."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "scripts"))
import build_extension  # noqa: E402
import build_kernel  # noqa: E402
from blender_module import needs_module  # noqa: E402

pytestmark = pytest.mark.slow
INSTALL = """
import os, sys, bpy, addon_utils
package, design = sys.argv[1:]
name = "bl_ext.user_default.dryfit"
bpy.ops.extensions.package_install_files(filepath=package, repo="user_default", enable_on_install=True)
assert name in bpy.context.preferences.addons, "not enabled"
assert "dryfit" not in sys.modules, "absolute imports inside"
bpy.ops.wm.open_mainfile(filepath=design)
print("run", bpy.ops.dryfit.check_fit(only="additive"))
bench = bpy.context.scene.dryfit
print("verdict", bench.verdict, [round(item.value, 1) for item in bench.findings if item.remedy == "lift"])
from bl_ext.user_default.dryfit.geometry.kernel.library import load_library
print("kernel", load_library()._name)
for _ in range(2):
    addon_utils.disable(name)
    assert not hasattr(bpy.types.Scene, "dryfit")
    addon_utils.enable(name)
print("again", bpy.ops.dryfit.check_fit(only="additive"))
"""


def test_it_holds_one_kernel_for_one_platform_and_no_build_leftovers(package):
    names = zipfile.ZipFile(package).namelist()
    wheels = [name.partition("-")[0] for name in names if name.startswith("wheels/")]
    assert sorted(wheels) == [
        f"wheels/{name}" for name in ("dryfit_kernel", "jinja2", *["markupsafe"] * 2, *["pillow"] * 2)
    ]
    assert not [name for name in names if name.endswith((".pyc", ".c", ".h", ".so", ".dylib", ".dll"))]
    manifest = zipfile.ZipFile(package).read("blender_manifest.toml").decode()
    assert manifest.count("platforms = ") == manifest.count("wheels = ") == 1
    assert "[build]" not in manifest and "[permissions]" in manifest


def test_blenders_own_tool_accepts_it(package):
    tools = Path(bpy.utils.system_resource("SCRIPTS")) / "addons_core" / "bl_pkg" / "cli"
    build_extension.validate(package, tools / "blender_ext.py")


@needs_module
def test_a_clean_profile_installs_it_and_measures_with_its_own_kernel(design, package, tmp_path):
    path = tmp_path / "design.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    clean = {**os.environ, "BLENDER_USER_RESOURCES": str(tmp_path / "user")}
    clean.pop("PYTHONPATH", None)
    command = [sys.executable, "-c", INSTALL, str(package), str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=clean)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "run {'FINISHED'}" in done.stdout
    assert "verdict fail [2.5]" in done.stdout
    assert "dryfit_kernel" in done.stdout.partition("kernel ")[2].splitlines()[0]
    assert "site-packages" in done.stdout.partition("kernel ")[2].splitlines()[0]
    assert "again {'FINISHED'}" in done.stdout


def test_another_platforms_missing_compiler_is_said_and_no_failure(tmp_path, monkeypatch, capsys):
    here = build_kernel.NAMES.platform_name()

    def built(edition, out, scratch):
        if edition.target != here:
            raise build_extension.NoCompiler(f"{edition.platform}: no compiler")
        path = out / "dryfit.zip"
        path.write_bytes(b"zip")
        return path

    monkeypatch.setattr(build_extension, "build_edition", built)
    monkeypatch.setattr(build_extension, "validate", lambda *_: None)
    monkeypatch.setattr(sys, "argv", ["build_extension.py", "--out", str(tmp_path)])
    assert build_extension.main() == 0
    said = capsys.readouterr()
    others = [each.platform for each in build_extension.EDITIONS if each.target != here]
    assert said.err.splitlines() == [f"left out: {name}: no compiler" for name in others]
    assert "dryfit.zip" in said.out and "N, Dryfit" in said.out
    monkeypatch.setattr(sys, "argv", ["build_extension.py", "--out", str(tmp_path), "--platform", *others])
    assert build_extension.main() == 1, "a platform that was asked for is no leftover"


def test_this_machines_own_missing_compiler_is_a_failure(tmp_path, monkeypatch):
    def refused(edition, out, scratch):
        raise build_extension.NoCompiler(f"{edition.platform}: no compiler")

    monkeypatch.setattr(build_extension, "build_edition", refused)
    monkeypatch.setattr(sys, "argv", ["build_extension.py", "--out", str(tmp_path)])
    assert build_extension.main() == 1
