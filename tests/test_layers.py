"""The arrows between the rooms point one way, no imports run in a circle, and nothing below the border knows Blender."""

import ast
import subprocess
import sys
from collections import defaultdict
from functools import cache
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "addon" / "dryfit"
BELOW_CHECKS = {"model", "geometry", "performer"}
ALLOWED = {
    "model": set(),
    "geometry": {"model"},
    "performer": {"model", "geometry"},
    "checks": BELOW_CHECKS,
    "rooms": BELOW_CHECKS | {"checks"},
    "fixes": BELOW_CHECKS | {"checks"},
    "report": BELOW_CHECKS | {"checks", "fixes", "rooms"},
    "design": {"model", "performer", "scene"},
    "batch": BELOW_CHECKS | {"checks", "report", "design"},
    "scene": BELOW_CHECKS,
    "guide": {"model"},
    "cache": {"model"},
    "sitting": BELOW_CHECKS | {"checks", "rooms", "scene"},
    "ui": BELOW_CHECKS | {"checks", "rooms", "fixes", "report", "scene", "sitting", "guide"},
    "api": BELOW_CHECKS | {"checks", "report", "batch", "design", "rooms"},
    "cli": BELOW_CHECKS
    | {"checks", "report", "batch", "design", "api", "scene", "terminal", "demo_door", "guide", "rooms", "cache"},
}
"""What each room may import. ``api``, ``cli`` and ``design`` import ``scene`` inside functions alone."""
LAZY = {("api", "scene"), ("cli", "scene"), ("design", "scene")}
WITH_BLENDER = ("scene", "sitting", "ui")
BLENDER = {"bpy", "mathutils", "bmesh", "gpu", "blf", "bpy_extras", "gpu_extras"}


def dotted(path):
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {dotted(path): path for path in sorted(PACKAGE.rglob("*.py"))}


@cache
def tree_of(name):
    return ast.parse(MODULES[name].read_text(encoding="utf8"))


def package_of(name):
    return name if MODULES[name].name == "__init__.py" else name.rpartition(".")[0]


def imported(name, nodes):
    """The modules of the package that import statements among ``nodes`` reach."""
    home = package_of(name).split(".") if package_of(name) else []
    for node in nodes:
        if isinstance(node, ast.ImportFrom) and node.level:
            start = home[: len(home) - node.level + 1] + (node.module.split(".") if node.module else [])
            for alias in node.names:
                target = ".".join([*start, alias.name])
                yield target if target in MODULES else ".".join(start)


@cache
def arrows(name):
    return frozenset(imported(name, ast.walk(tree_of(name)))) - {name}


def of_room(room):
    return [name for name in MODULES if name == room or name.startswith(room + ".")]


@pytest.mark.parametrize("room", ALLOWED)
def test_a_room_imports_only_what_the_design_allows(room):
    assert of_room(room)
    for name in of_room(room):
        for target in arrows(name):
            assert target.split(".")[0] in ALLOWED[room] | {room}, f"{name} imports {target}"


def test_every_room_has_its_place():
    doors = {"", "__main__", "blender_command", "extension", "terminal", "demo_door"}
    assert {name.split(".")[0] for name in MODULES} == set(ALLOWED) | doors


@pytest.mark.parametrize(("room", "far"), sorted(LAZY))
def test_the_border_is_crossed_only_when_it_has_to_be(room, far):
    for name in of_room(room):
        at_once = set(imported(name, tree_of(name).body))
        assert not [target for target in at_once if target.split(".")[0] == far], name


def test_no_imports_run_in_a_circle():
    reached = {name: reach(name) for name in MODULES}
    assert not [sorted(name for name in reached if one in reached[name] and name in reached[one])
                for one in reached if one in reached[one]]  # fmt: skip


def reach(name):
    seen, todo = set(), [name]
    while todo:
        for target in arrows(todo.pop()):
            if target not in seen:
                seen.add(target)
                todo.append(target)
    return seen


def test_no_subject_of_the_checks_uses_another():
    for name in of_room("checks"):
        for target in arrows(name) if name.count(".") == 2 else ():
            subject = target.split(".")[1] if target.startswith("checks.") else ""
            assert subject in ("", "check", "placing", name.split(".")[1]), f"{name} imports {target}"


@pytest.mark.parametrize("room", [room for room in ALLOWED if room not in WITH_BLENDER])
def test_nothing_below_the_border_knows_blender(room):
    for name in of_room(room):
        outside = {alias.name.split(".")[0] for node in ast.walk(tree_of(name)) if isinstance(node, ast.Import)
                   for alias in node.names}  # fmt: skip
        outside |= {(node.module or "").split(".")[0] for node in ast.walk(tree_of(name))
                    if isinstance(node, ast.ImportFrom) and not node.level}  # fmt: skip
        assert not outside & BLENDER, name


@pytest.mark.parametrize("room", ["sitting", "ui"])
def test_the_interface_opens_no_file_but_reads_the_open_scene(room):
    """A damaged file could take down the session that it is opened in; what opens files stays out of reach there."""
    openers = {"opening", "importing", "apart", "base_file", "stated_base", "kept_base", "locking_file",
               "passes_file", "attributes_file", "design_file"}  # fmt: skip
    for path in (PACKAGE / room).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf8"))):
            named = (node.module or "").split(".") if isinstance(node, ast.ImportFrom) else []
            if "scene" in named[:1]:
                assert named[-1] not in openers, path
                assert named[-1] != "reading" or {each.name for each in node.names} <= {
                    "read_snapshot", "snapshot_in_turns"
                }, path  # fmt: skip


def test_no_two_classes_share_a_name():
    owners = defaultdict(list)
    for name in MODULES:
        for node in ast.walk(tree_of(name)):
            if isinstance(node, ast.ClassDef):
                owners[node.name].append(name)
    assert not {each: names for each, names in owners.items() if len(names) > 1}


def test_no_folder_is_crowded():
    counts = defaultdict(int)
    for path in MODULES.values():
        counts[path.parent] += 1
    assert max(counts.values()) <= 48, max(counts, key=counts.get)


def test_importing_the_library_needs_neither_blender_nor_any_extra():
    code = (
        "import sys, dryfit\n"
        "extras = {'bpy', 'jinja2', 'matplotlib', 'PIL', 'jsonschema', 'tqdm', 'dask', 'scipy', 'trimesh'}\n"
        "print(sorted(extras & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def functions():
    for name in MODULES:
        for node in ast.walk(tree_of(name)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield f"{name}:{node.name}", node


def test_functions_are_small():
    lengths = []
    for where, node in functions():
        text = ast.get_docstring(node, clean=False)
        lines = node.end_lineno - node.lineno + 1 - (len(text.splitlines()) if text else 0)
        lengths.append((lines, where))
    assert max(lengths)[0] <= 60, max(lengths)
    assert sorted(lengths)[len(lengths) // 2][0] <= 10


def test_functions_are_hinted_through_and_through():
    for where, node in functions():
        assert node.returns is not None, f"{where} has no return hint"
        given = node.args
        arguments = [*given.posonlyargs, *given.args, *given.kwonlyargs, given.vararg, given.kwarg]
        bare = [each.arg for each in arguments if each and each.annotation is None and each.arg not in ("self", "cls")]
        assert not bare, f"{where}: {', '.join(bare)} without a hint"
