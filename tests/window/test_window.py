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
LONGEST = 3600
"""Seconds that a tour may take with many others at work on the machine; a quiet one needs two to five minutes."""


@pytest.fixture(params=window.SUITES)
def place(request):
    found = window.place_for(request.param)
    if not found.ready:
        pytest.skip(f"no window for {request.param}: python3 scripts/blender_window.py setup --suite {request.param}")
    return found


def build(place, design):
    """Bring everything over and build a design in that Blender."""
    for each in ("addon/dryfit", "demo.blend-generator"):
        window.share(place, ROOT / each, each)
    window.share(place, ROOT / "tests/window/driving.py")
    script = window.share(place, ROOT / "tests/window/build_design.py")
    made = ["--background", "--factory-startup", "--python-exit-code", "1", "--python", script, "--", design]
    assert "DESIGN BUILT" in window.run(place, made, seconds=LONGEST)


def tour(place, script, *arguments):
    """Run a tour, which asserts for itself; no panel may complain meanwhile."""
    inside = window.share(place, ROOT / "tests/window" / script)
    blender = ["--factory-startup", "--enable-event-simulate", "--python", inside, "--", *arguments]
    said = window.run(place, blender, seconds=LONGEST)
    assert "WINDOW SCRIPT FINISHED" in said
    assert "Traceback" not in said, said[-4000:]
    print(said[-8000:])


@pytest.mark.parametrize(
    ("design", "scale", "checks"),
    [("03-warden-hollow-cheek", "1", "additive,edge"), ("02-warden-tusks", "2", "additive,closure,interference")],
)
def test_a_tour_of_the_bench(place, design, scale, checks):
    build(place, design)
    tour(place, "bench_tour.py", design, scale, checks)
    pictures = sorted(path.name for path in (place.shared / "pictures").glob(f"{design}-[0-9]*.png"))
    assert len(pictures) == 9, pictures


def test_what_hands_do(place):
    """Landmarks clicked land within 1 mm, Esc leaves nothing behind, the report is written, keys go through it."""
    build(place, "02-warden-tusks")
    tour(place, "hands_tour.py", "02-warden-tusks")


def test_paint_shows_figures_and_leaves_no_pixel(place):
    build(place, "05-warden-short-lips")
    tour(place, "paint_tour.py", "05-warden-short-lips")


@pytest.mark.parametrize(("scale", "width"), [("1", "narrow"), ("2", "usual")])
def test_panels_open_without_a_complaint(place, scale, width):
    """Every panel is drawn, narrow and at double scale; whether each label reads well is for the eye."""
    build(place, "02-warden-tusks")
    tour(place, "panels_tour.py", "02-warden-tusks", scale, width)


def test_the_sidebar_follows_what_hands_do(place):
    """A move, a limit, a brief on disk, a stroke and their undoing: the rows say so by themselves, and say no more."""
    window.share(place, ROOT / "addon/dryfit", "addon/dryfit")
    for each in ("tests/window/driving.py", "tests/bench_scene.py"):
        window.share(place, ROOT / each)
    tour(place, "standing_tour.py")


@pytest.mark.parametrize("design", ["small", "03-warden-hollow-cheek"])
def test_a_run_makes_nobody_wait(place, design):
    """Checking, mending, following, proposing: a sign of life in a tenth of a second, short turns, Esc, one undo."""
    window.share(place, ROOT / "tests/bench_scene.py")
    build(place, "03-warden-hollow-cheek")
    tour(place, "waiting_tour.py", design, "additive,edge")


def test_a_first_time_user_reaches_a_verdict(place):
    """A scan and a sculpt, no rig, no landmarks: every check is answered or has its next step beside it."""
    for each in ("addon/dryfit", "demo.blend-generator"):
        window.share(place, ROOT / each, each)
    window.share(place, ROOT / "tests/window/driving.py")
    script = window.share(place, ROOT / "tests/window/build_first.py")
    built = window.run(
        place, ["--background", "--factory-startup", "--python-exit-code", "1", "--python", script], seconds=LONGEST
    )
    assert "DESIGN BUILT" in built
    tour(place, "first_tour.py")
    assert len(list((place.shared / "pictures").glob("first-*.png"))) == 12


@pytest.mark.parametrize(("scale", "width", "keys"), [("1", "usual", "plain"), ("2", "narrow", "industry")])
def test_what_is_drawn_where(place, scale, width, keys):
    """The first view, paint in both projections and from behind, legends, words over the view; read by eye."""
    build(place, "03-warden-hollow-cheek")
    tour(place, "looks_tour.py", "03-warden-hollow-cheek", scale, width, keys)
    assert len(list((place.shared / "pictures").glob(f"looks-{scale}-{width}-{keys}-*.png"))) == 6


def test_strokes_are_followed_before_any_check(place):
    """With progress; the viewport says what is measured, and why it stopped: topology, too slow, gone."""
    window.share(place, ROOT / "addon/dryfit", "addon/dryfit")
    for each in ("tests/window/driving.py", "tests/bench_scene.py"):
        window.share(place, ROOT / each)
    tour(place, "following_tour.py")


def test_the_room_is_computed_shown_and_used_up(place):
    """Esc and one undo step, the map and what stops, a form through the cage, room left in a stroke, marked old."""
    build(place, "01-warden-plain")
    tour(place, "room_tour.py", "01-warden-plain")
    assert len(list((place.shared / "pictures").glob("room-[0-9]*.png"))) == 10
