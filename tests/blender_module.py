"""Tests that start a second Python with Blender's module in it: inside a Blender program there is no such Python."""

import pytest

try:
    import bpy
except ImportError:
    bpy = None

is_module = bpy is not None and not bpy.app.binary_path
needs_module = pytest.mark.skipif(not is_module, reason="starts a second Python with Blender's module in it")
