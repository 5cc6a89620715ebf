"""The demonstration's command on the Pythons that people have: Blender's module where it is to be had, else without."""

import importlib
import sys
from pathlib import Path

import pytest

from dryfit.demo_door import build_demo
from dryfit.design import load_snapshot
from dryfit.model.progress import drain

SCRIPTS = Path(__file__).resolve().parents[2] / "scripts"


@pytest.fixture
def scripts(monkeypatch):
    monkeypatch.syspath_prepend(str(SCRIPTS))
    for name in ("environment", "demo", "test_blenders", "real_binaries"):
        monkeypatch.delitem(sys.modules, name, raising=False)
    yield importlib.import_module
    for name in ("environment", "demo", "test_blenders", "real_binaries"):
        sys.modules.pop(name, None)


@pytest.fixture
def demo(scripts, monkeypatch):
    """The script, with what it would run and install written down in place of being done."""
    module = scripts("demo")
    module.ran, module.installed, module.fails = [], [], ""
    monkeypatch.delenv(module.TAKEN_OVER, raising=False)

    def environment(name, requirements):
        if module.fails and any(module.fails in each for each in requirements):
            raise module.SetUpFailed(f"Installing '{module.fails}' failed")
        module.installed.append(requirements)
        return Path("python")

    monkeypatch.setattr(module, "environment", environment)
    monkeypatch.setattr(module, "run", lambda command, **_: module.ran.append(command) or 0)
    monkeypatch.setattr(sys, "argv", ["demo.py", "--out", "there"])
    return module


@pytest.mark.parametrize(("version", "module"), [("3.11", "bpy==4.2.*"), ("3.13", "bpy==5.2.*")])
def test_a_python_that_blender_has_a_module_for_takes_it(demo, monkeypatch, version, module):
    monkeypatch.setattr(demo, "this_version", lambda: version)
    assert demo.main() == 0
    assert module in demo.installed[0] and len(demo.installed) == 1
    assert [command[3] for command in demo.ran] == ["demo", "room", "batch"] and "--snapshots" not in demo.ran[0]
    assert demo.ran[1][4].endswith("performer.blend")
    assert demo.ran[2][demo.ran[2].index("--limit-s") + 1] == "3600", "no design is given up on a busy machine"


@pytest.mark.parametrize("version", ["3.12", "3.14"])
def test_another_python_on_this_machine_takes_over(demo, monkeypatch, version):
    monkeypatch.setattr(demo, "this_version", lambda: version)
    monkeypatch.setattr(demo, "pythons", lambda wanted: iter(["/other/python3.13"] if wanted == "3.13" else []))
    assert demo.main() == 0
    assert not demo.installed
    ((python, script, *rest),) = demo.ran
    assert python == "/other/python3.13" and script.endswith("demo.py") and rest[0] == "--out"


@pytest.mark.parametrize("version", ["3.12", "3.14"])
def test_without_any_the_designs_are_snapshots_and_one_line_says_what_was_left_out(demo, monkeypatch, capsys, version):
    monkeypatch.setattr(demo, "this_version", lambda: version)
    monkeypatch.setattr(demo, "pythons", lambda wanted: iter([]))
    assert demo.main() == 0
    assert demo.installed == [[demo.DRYFIT]]
    assert [command[3] for command in demo.ran] == ["demo", "room", "batch"] and "--snapshots" in demo.ran[0]
    assert demo.ran[1][4].endswith(".npz")
    said = capsys.readouterr().out
    assert said.count("left out: the .blend files") == 1 and f"Python {version}" in said


def test_a_module_that_cannot_be_installed_is_left_out(demo, monkeypatch, capsys):
    monkeypatch.setattr(demo, "this_version", lambda: "3.13")
    demo.fails = "bpy"
    assert demo.main() == 0
    assert "--snapshots" in demo.ran[0] and "left out" in capsys.readouterr().out
    demo.fails = "editable"
    assert demo.main() == 2


def test_the_tests_inside_blender_are_left_out_where_no_python_has_its_module(scripts, monkeypatch, capsys):
    blenders = scripts("test_blenders")
    monkeypatch.setattr(blenders, "pythons", lambda wanted: iter([]))
    monkeypatch.setattr(blenders.real_binaries, "test_programs", lambda arguments: {})
    assert blenders.main([]) == 0
    assert "left out: every test inside Blender, whose module needs Python 3.11 or 3.13" in capsys.readouterr().out
    assert blenders.main(["4.2"]) == 1


def test_an_interpreter_is_known_by_its_version(scripts):
    environment = scripts("environment")
    assert environment.is_version(sys.executable, environment.this_version())
    assert not environment.is_version(sys.executable, "2.7") and not environment.is_version("/no/python", "3.11")
    assert next(environment.pythons(environment.this_version())) == sys.executable


@pytest.mark.slow
def test_a_design_is_built_as_a_snapshot_without_blender(tmp_path):
    written = drain(build_demo(tmp_path, "02-warden-tusks", snapshots=True))
    assert {path.name for path in written} >= {"02-warden-tusks.npz", "brief.toml"}
    assert load_snapshot(tmp_path / "02-warden-tusks.npz").base.name == "Performer"
