"""Renders of a gated design in whole Blenders: from the window, and from the command line by exit code.

Needs a Debian system with Blender that scripts/blender_window.py has set up; skipped with a word where there is none.
"""

import shutil
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path.insert(0, str(ROOT / "scripts"))
import blender_window as window

pytestmark = pytest.mark.slow
SWITCHED_ON = "import sys; sys.path.insert(0, '/srv/gate/addon'); import dryfit; dryfit.register()"
BACKGROUND = ["--background", "--factory-startup", "--python-exit-code", "9"]


@pytest.fixture(params=window.SUITES)
def place(request):
    found = window.place_for(request.param)
    if not found.ready:
        pytest.skip(f"no window for {request.param}: python3 scripts/blender_window.py setup --suite {request.param}")
    shutil.rmtree(found.shared / "gate", ignore_errors=True)
    window.share(found, ROOT / "addon/dryfit", "gate/addon/dryfit")
    for name in ("failing_design", "build_gated", "render_gate_tour", "driving"):
        window.share(found, HERE / f"{name}.py", f"gate/{name}.py")
    return found


def build(place, gate):
    said = window.run(place, [*BACKGROUND, "--python", "/srv/gate/build_gated.py", "--", gate])
    assert "GATED DESIGN BUILT" in said


def test_the_window_refuses_and_stamps(place):
    build(place, "refuse_fail")
    tour = ["--factory-startup", "/srv/gate/gated.blend", "--python", "/srv/gate/render_gate_tour.py"]
    assert "WINDOW SCRIPT FINISHED" in window.run(place, tour)


@pytest.mark.parametrize("asked", [["--render-frame", "1"], ["--render-anim"]])
def test_a_farms_render_ends_with_1_and_the_reason(place, asked):
    build(place, "refuse_fail")
    with pytest.raises(window.NoWindow, match=r"ended with 1:[\s\S]*Dryfit refused the render: the verdict is fail"):
        window.run(place, [*BACKGROUND, "/srv/gate/gated.blend", "--python-expr", SWITCHED_ON, *asked])
    assert not list(place.shared.glob("gate/renders/*"))
    build(place, "stamp")
    window.run(place, [*BACKGROUND, "/srv/gate/gated.blend", "--python-expr", SWITCHED_ON, *asked])
    assert len(list(place.shared.glob("gate/renders/*.png"))) == (2 if asked == ["--render-anim"] else 1)
