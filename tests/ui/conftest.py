"""Without Blender's own module every test here is skipped with a word."""

import pytest

from bench_scene import NEEDS_BLENDER, bpy


def pytest_collection_modifyitems(items):
    for item in items:
        if "tests/ui" in str(item.path).replace("\\", "/"):
            item.add_marker(pytest.mark.blender)
            if bpy is None:
                item.add_marker(pytest.mark.skip(reason=NEEDS_BLENDER))
