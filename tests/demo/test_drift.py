"""What is kept of figures measured in other surroundings: within the stated tolerance, and as the guide has it."""

import importlib.util
import json
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def script():
    """The script as a module; it imports its neighbour, which makes environments."""
    sys.path.insert(0, str(ROOT / "scripts"))
    spec = importlib.util.spec_from_file_location("drift", ROOT / "scripts" / "drift.py")
    module = sys.modules["drift"] = importlib.util.module_from_spec(spec)
    try:
        spec.loader.exec_module(module)
        yield module
    finally:
        sys.path.remove(str(ROOT / "scripts"))
        del sys.modules["drift"]


def test_the_guides_table_is_what_was_measured(script):
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert guide.split(script.BEGIN)[1].split(script.END)[0] == script.drift_table(), "run scripts/drift.py"


def test_every_way_was_measured_and_is_within_its_tolerance(script):
    known = json.loads(script.KEPT.read_text(encoding="utf-8"))
    assert len(known["designs"]) == 6
    assert [*known["ways"]] == [way.name for way in script.WAYS]
    for way in script.WAYS:
        drifts = known["ways"][way.name]
        assert [*drifts] == known["designs"]
        for design, drift in drifts.items():
            assert not drift["words"], (way.name, design)
            assert drift["largest"] <= way.tolerance, (way.name, design)
            assert drift["same_bytes"] or way.tolerance > script.SAME


def drift_between(script, one, other):
    drift = script.Drift()
    script.compare("", one, other, drift)
    return drift


def test_a_drift_is_told_by_its_size_and_place(script):
    one = {"checks": [{"id": "load", "status": "pass", "measures": {"mass_g": 200.0, "far": None}, "y": [0.0, 0.5]}]}
    other = {"checks": [{"id": "load", "status": "pass", "measures": {"mass_g": 200.2, "far": None}, "y": [0.0, 0.5]}]}
    drift = drift_between(script, one, other)
    assert drift.largest == pytest.approx(0.001)
    assert (drift.where, drift.words) == ("checks.load.measures.mass_g", [])
    assert drift_between(script, one, one).largest == 0.0


@pytest.mark.parametrize(
    "other", [{"a": [1.0, 2.0]}, {"a": [1.0], "b": 1}, {"a": ["1.0"]}, {"a": [None]}, {"a": [True]}]
)
def test_what_is_no_drift_of_a_figure_is_another_answer(script, other):
    assert drift_between(script, {"a": [1.0]}, other).words
