"""``blender -b FILE --command dryfit ...`` in whole Blenders: exit codes, and figures that scripts can read.

Needs a Debian system with Blender that scripts/blender_window.py has set up; skipped with a word where there is none.
"""

import json
import shutil
import sys
from pathlib import Path

import pytest

from dryfit.report.schema import validate

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path.insert(0, str(ROOT / "scripts"))
import blender_window as window

pytestmark = pytest.mark.slow
BACKGROUND = ["--background", "--factory-startup", "--python-exit-code", "9"]
DESIGN = "/srv/gate/gated.blend"
SWITCHED_ON = "import sys; sys.path.insert(0, '/srv/gate/addon'); import dryfit; dryfit.register()"


@pytest.fixture(params=window.SUITES)
def place(request):
    found = window.place_for(request.param)
    if not found.ready:
        pytest.skip(f"no window for {request.param}: python3 scripts/blender_window.py setup --suite {request.param}")
    shutil.rmtree(found.shared / "gate", ignore_errors=True)
    window.share(found, ROOT / "addon/dryfit", "gate/addon/dryfit")
    for name in ("failing_design", "build_gated"):
        window.share(found, HERE / f"{name}.py", f"gate/{name}.py")
    window.run(found, [*BACKGROUND, "--python", "/srv/gate/build_gated.py", "--", "stamp"])
    return found


def command(place, *arguments):
    """What Blender printed and its exit code, running our command."""
    asked = [*BACKGROUND, DESIGN, "--python-expr", SWITCHED_ON, "--command", "dryfit", *arguments]
    try:
        return window.run(place, asked), 0
    except window.NoWindow as ended:
        said = str(ended)
        return said, int(said.partition("ended with ")[2].partition(":")[0])


def test_exit_codes_come_through_and_figures_go_to_a_file(place):
    said, code = command(place, "check", DESIGN, "--only", "additive", "--out", "/srv/gate/figures.json")
    assert code == 1, said
    report = json.loads((place.shared / "gate/figures.json").read_text("utf8"))
    validate(report)
    assert report["verdict"] == "fail"
    assert report["checks"][0]["measures"]["max_depth_mm"] == pytest.approx(2.5, abs=0.05)
    said, code = command(place, "check", DESIGN, "--only", "additive", "--fail-on", "never", "--json")
    assert code == 0 and said.splitlines()[0] != "{", "Blender's own lines come first on stdout"
    validate(json.loads(said[said.index("\n{") :].rpartition("}")[0] + "}"))
    said, code = command(place, "check", "/srv/gate/absent.blend")
    assert code == 2 and "there is no such file" in said
    said, code = command(place, "explain", "closure")
    assert code == 0 and "residual_gap_mm" in said


def test_without_a_file_the_open_one_is_taken(place):
    said, code = command(place, "check", "--only", "additive", "--out", "/srv/gate/open.json", "--quiet")
    assert code == 1, said
    report = json.loads((place.shared / "gate/open.json").read_text("utf8"))
    validate(report)
    assert report["variant"]["source"] == DESIGN and report["verdict"] == "fail"
    said, code = command(place, "check", "--only", "additive", "--json", "--fail-on", "never")
    assert code == 0 and said.splitlines()[0] != "{", "Blender's own lines come first on stdout"
    printed = said[said.index("\n{") :].rpartition("}")[0] + "}"
    assert json.loads(printed)["checks"][0]["measures"] == report["checks"][0]["measures"]


def test_passes_are_rendered_inside_blender(place):
    asked = ["--only", "additive", "--size", "48x48", "--samples", "1", "--out", "/srv/gate/passes.exr"]
    said, code = command(place, "passes", DESIGN, *asked)
    assert code == 0 and "dryfit_clearance_mm" in said, said
    assert (place.shared / "gate/passes.exr").read_bytes()[:4] == b"\x76\x2f\x31\x01"
