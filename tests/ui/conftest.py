"""Without Blender's own module every test here is skipped with a word."""

import sys
from pathlib import Path

import pytest

from bench_scene import NEEDS_BLENDER, bpy


def pytest_collection_modifyitems(items):
    for item in items:
        if "tests/ui" in str(item.path).replace("\\", "/"):
            item.add_marker(pytest.mark.blender)
            if bpy is None:
                item.add_marker(pytest.mark.skip(reason=NEEDS_BLENDER))


@pytest.fixture(scope="session")
def package(tmp_path_factory):
    """The extension's zip for this machine, built once for all that install it."""
    sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "scripts"))
    import build_extension
    import build_kernel

    if not (build_kernel.importlib.util.find_spec("ziglang") or build_kernel.shutil.which("cc")):
        pytest.skip("no compiler here: pip install ziglang")
    here = build_kernel.NAMES.platform_name()
    edition = next(each for each in build_extension.EDITIONS if each.target == here)
    out = tmp_path_factory.mktemp("dist")
    return build_extension.build_edition(edition, out, tmp_path_factory.mktemp("scratch"))
