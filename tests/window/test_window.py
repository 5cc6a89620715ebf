"""The bench in a real Blender window under a virtual display, driven by keys, photographed at every stop.

Needs a Debian system with Blender that scripts/blender_window.py has set up; skipped with a word where there is none.
"""

import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "scripts"))
import blender_window as window

pytestmark = pytest.mark.slow


@pytest.fixture(params=window.SUITES)
def place(request):
    found = window.place_for(request.param)
    if not found.ready:
        pytest.skip(f"no window for {request.param}: python3 scripts/blender_window.py setup --suite {request.param}")
    return found


@pytest.mark.parametrize(
    ("design", "scale", "checks"),
    [("03-warden-hollow-cheek", "1", "additive,edge"), ("02-warden-tusks", "2", "additive,closure")],
)
def test_a_tour_of_the_bench(place, design, scale, checks):
    for each in ("addon/dryfit", "demo.blend-generator"):
        window.share(place, ROOT / each, each)
    build = window.share(place, ROOT / "tests/window/build_design.py")
    made = ["--background", "--factory-startup", "--python-exit-code", "1", "--python", build, "--", design]
    assert "DESIGN BUILT" in window.run(place, made, seconds=300)
    window.share(place, ROOT / "tests/window/driving.py")
    script = window.share(place, ROOT / "tests/window/bench_tour.py")
    arguments = ["--factory-startup", "--enable-event-simulate", "--python", script, "--", design, scale, checks]
    said = window.run(place, arguments, seconds=900)
    assert "WINDOW SCRIPT FINISHED" in said
    pictures = sorted(path.name for path in (place.shared / "pictures").glob(f"{design}-*.png"))
    assert len(pictures) == 9, pictures
