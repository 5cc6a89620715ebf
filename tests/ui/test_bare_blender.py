"""Write Report in a Blender that has nothing but numpy: the zip brings what the page and its pictures need."""

import os
import subprocess
import sys

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from blender_module import needs_module  # noqa: E402

pytestmark = pytest.mark.slow
LIBRARIES = ("jinja2", "markupsafe", "PIL", "matplotlib", "jsonschema", "tqdm")
BARE = """
import importlib.machinery, sys
package, design, folder, libraries = sys.argv[1:]
libraries = libraries.split(",")


class Bare(importlib.machinery.PathFinder):
    \"\"\"As if this machine's Python had none of them; what Blender installs with an extension is found.\"\"\"

    @classmethod
    def find_spec(cls, name, path=None, target=None):
        if name.partition(".")[0] not in libraries:
            return super().find_spec(name, path, target)
        beside = [each for each in (path or sys.path) if "extensions" in str(each)]
        return super().find_spec(name, beside, target)


sys.meta_path[sys.meta_path.index(importlib.machinery.PathFinder)] = Bare
import bpy

bpy.ops.extensions.package_install_files(filepath=package, repo="user_default", enable_on_install=True)
bpy.ops.wm.open_mainfile(filepath=design)
print("written", bpy.ops.dryfit.write_report(directory=folder))
for name in libraries:
    if name in sys.modules:
        print("from", name, sys.modules[name].__file__)
"""


@needs_module
def test_a_report_with_page_and_pictures_is_written_without_any_library_of_this_machine(design, package, tmp_path):
    path, folder = tmp_path / "design.blend", tmp_path / "report"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    clean = {**os.environ, "BLENDER_USER_RESOURCES": str(tmp_path / "user")}
    clean.pop("PYTHONPATH", None)
    command = [sys.executable, "-c", BARE, str(package), str(path), str(folder), ",".join(LIBRARIES)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=clean)
    assert "written {'FINISHED'}" in done.stdout, done.stdout[-3000:] + done.stderr[-3000:]
    places = [line.split()[-1] for line in done.stdout.splitlines() if line.startswith("from ")]
    assert len(places) >= 3 and all(str(tmp_path) in place for place in places), places
    assert (folder / "report.json").is_file() and "<svg" in (folder / "report.html").read_text("utf8")
    assert list((folder / "heatmaps").glob("*.png"))
