"""The arrows between the layers point one way, and nothing below the border knows Blender."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "addon" / "dryfit"
ALLOWED = {
    "model": set(),
    "geometry": {"model"},
    "checks": {"model", "geometry"},
    "fixes": {"model", "geometry", "checks"},
    "report": {"model", "geometry", "checks"},
    "batch": {"model", "geometry", "checks", "report", "api"},
    "scene": {"model", "geometry", "checks"},
    "ui": {"model", "checks", "fixes", "report", "scene"},
}
BLENDER = {"bpy", "mathutils", "bmesh", "gpu", "blf", "bpy_extras", "gpu_extras"}


def modules(layer):
    return sorted((PACKAGE / layer).rglob("*.py"))


def imports(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf8"))):
        if isinstance(node, ast.Import):
            yield from ((0, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            for alias in node.names:
                yield node.level, f"{node.module}.{alias.name}" if node.module else alias.name


def reached_layer(path, level, name):
    """The top-level piece of the package that a relative import reaches, or None inside its own layer."""
    depth = len(path.relative_to(PACKAGE).parts)
    return name.split(".")[0] if level == depth else None


@pytest.mark.parametrize("layer", ALLOWED)
def test_a_layer_imports_only_what_the_design_allows(layer):
    assert modules(layer)
    for path in modules(layer):
        for level, name in imports(path):
            if level:
                reached = reached_layer(path, level, name)
                assert reached is None or reached in ALLOWED[layer] | {layer}, f"{path.name} imports {reached}"


@pytest.mark.parametrize("layer", [layer for layer in ALLOWED if layer not in ("scene", "ui")])
def test_nothing_below_the_border_knows_blender(layer):
    for path in modules(layer):
        assert not {name.split(".")[0] for level, name in imports(path) if not level} & BLENDER, path


def test_importing_the_library_needs_neither_blender_nor_any_extra():
    code = (
        "import sys, dryfit\n"
        "extras = {'bpy', 'jinja2', 'matplotlib', 'PIL', 'jsonschema', 'tqdm', 'dask', 'scipy', 'trimesh'}\n"
        "print(sorted(extras & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_functions_are_small_and_hinted():
    lengths = []
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf8"))):
            if isinstance(node, ast.FunctionDef):
                text = ast.get_docstring(node, clean=False)
                lines = node.end_lineno - node.lineno + 1 - (len(text.splitlines()) if text else 0)
                lengths.append((lines, f"{path.name}:{node.name}"))
                assert node.returns is not None, f"{path.name}:{node.name} has no return hint"
    assert max(lengths)[0] <= 60, max(lengths)
    assert sorted(lengths)[len(lengths) // 2][0] <= 10
