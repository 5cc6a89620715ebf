"""Every check is held to figures from outside, each with its source and with a test that runs."""

import importlib.util
from collections import Counter
from pathlib import Path

import pytest
from citation import Seen
from gathering import names_of_tests, place_of, sources, values

from dryfit.checks.registry import CHECKS

ROOT = Path(__file__).resolve().parents[2]
LEAST = 2


def table_script():
    spec = importlib.util.spec_from_file_location("outside_table", ROOT / "scripts" / "outside_table.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("check", [check.id for check in CHECKS])
def test_every_check_is_held_to_two_outside_values_at_least(check):
    assert sum(value.check == check for _, _, value in values()) >= LEAST
    seen = {value.seen for _, _, value in values() if value.check == check}
    assert seen - {Seen.RECALLED}, "all of them from memory"


def test_every_value_names_a_check_and_a_test_that_is_there():
    known = {check.id for check in CHECKS}
    for name, _, value in values():
        path, test = place_of(name, value)
        assert value.check in known, name
        assert path.is_file() and test in names_of_tests(path), f"{name}: {value.test}"


def test_no_value_stands_twice_and_no_source_without_one():
    said = Counter((source.citation, value.check, value.says) for _, source, value in values())
    assert max(said.values()) == 1
    assert all(source.values and len(source.citation) > 20 for source in sources().values())
    assert len({source.citation for source in sources().values()}) == len(sources())


def test_every_test_beside_a_source_is_named_by_one_of_its_values():
    for name, source in sources().items():
        named = {value.test for value in source.values}
        assert names_of_tests(Path(__file__).with_name(f"{name}.py")) & named == {
            test for test in named if "::" not in test
        }


def test_the_guides_table_is_the_sources():
    script = table_script()
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    written = guide.split(script.BEGIN)[1].split(script.END)[0]
    assert written == script.outside_table(), "run scripts/outside_table.py"
