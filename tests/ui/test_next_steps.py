"""Every check that could not answer says why without a word for a terminal, and has its next step beside it."""

import re
from pathlib import Path
from types import SimpleNamespace

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from test_verdict_rows import drawn  # noqa: E402

from dryfit.checks.registry import CHECKS  # noqa: E402
from dryfit.sitting.next_steps import first_steps, steps_for  # noqa: E402
from dryfit.sitting.words import finding_rows  # noqa: E402
from dryfit.sitting.words.finding_rows import SAID, count_words, fault_word, listed_places, rows_to_mend, same_cause  # noqa: E402
from dryfit.sitting.words.window_words import window_words  # noqa: E402
from dryfit.ui.findings import DRYFIT_PT_findings, row_words  # noqa: E402
from dryfit.ui.fitting import DRYFIT_PT_fitting, DRYFIT_PT_next_steps, short_cause  # noqa: E402

TYPED = re.compile(r"\[\w+[.\]]|object\[|= \{|`|dryfit_|upper_teeth|lower_teeth|_left|_right|dryfit \w+ FILE|brief")


def words(steps):
    return [step.words for step in steps]


@pytest.fixture
def nameless(design):
    """A scan and a sculpt: no role, no landmark."""
    for item in list(bpy.data.objects):
        if item.type == "EMPTY":
            bpy.data.objects.remove(item)
    for item in (design.head, design.piece):
        del item["dryfit_role"]
    return design


def test_a_first_time_user_is_led_from_a_scan_to_a_verdict(nameless):
    assert words(first_steps(nameless.scene)) == ["Make Selected the Base"]
    assert "First click the performer's head scan, then this:" in [text for text, _ in drawn(DRYFIT_PT_fitting)]
    nameless.head["dryfit_role"] = "base"
    assert words(first_steps(nameless.scene)) == ["Give Selected a Role"]
    nameless.piece["dryfit_role"] = "appliance"
    assert first_steps(nameless.scene) == ()
    bpy.ops.dryfit.check_fit()
    unanswered = [row for row in nameless.bench.checks if row.status == "not_checked"]
    assert {"closure", "load", "base_lock", "strain"} <= {row.name for row in unanswered}
    for row in unanswered:
        said, steps = window_words(row.reason), steps_for(nameless.scene, row.name, row.reason)
        assert steps, (row.name, row.reason)
        assert not TYPED.search(said), said
    said = [text for text, _ in drawn(DRYFIT_PT_next_steps)]
    assert not [text for text in said if TYPED.search(text)]


def test_the_button_is_what_the_check_lacks(nameless):
    nameless.head["dryfit_role"], nameless.piece["dryfit_role"] = "base", "appliance"
    bpy.ops.dryfit.check_fit(only="load,base_lock,coverage,blink")
    rows = {row.name: words(steps_for(nameless.scene, row.name, row.reason)) for row in nameless.bench.checks}
    assert "Choose Material of CheekBark" in rows["load"]
    assert rows["base_lock"] == ["Lock Base"]
    assert "Give Selected Teeth Their Role" in rows["coverage"]
    assert "Sculpt the Closed Lids" in rows["blink"]


def test_sculpting_a_motion_opens_a_new_key_and_leaves_the_scan_at_rest(design):
    assert bpy.ops.dryfit.sculpt_motion(motion="blink") == {"FINISHED"}
    try:
        assert design.head.mode == "SCULPT"
        assert design.head.active_shape_key.name == "Blink" and design.head.active_shape_key.value == 1.0
        assert '"Blink": [0.0, 1.0]' in design.scene["dryfit_motions"]
    finally:
        bpy.ops.object.mode_set(mode="OBJECT")


def test_a_row_names_the_fault_the_place_and_the_figure(checked):
    item = next(each for each in checked.bench.findings if each.remedy == "lift")
    assert fault_word(item) == "Dips below skin"
    assert row_words(item, 80) == (f"Dips below skin · {item.region}", "2.50 / 0.2 mm", "")
    assert row_words(item, 30) == ("Dips below skin", "2.50 mm", item.region), "what does not fit stands below"
    assert row_words(item, 12) == ("Dips below skin", "", f"2.50 mm · {item.region}"), "a figure keeps its unit"
    assert all(fault_word(each) for each in checked.bench.findings)


def test_every_check_has_a_word_for_its_fault(checked):
    item = checked.bench.findings[0]
    said = set()
    for check in CHECKS:
        item.check = check.id
        said.add(fault_word(item))
    assert len(said) == len(CHECKS)


@pytest.mark.parametrize(
    ("check", "unit", "region", "limited", "words"),
    [
        ("release", "mm", "left cheek", False, "Held in the mould"),
        ("release", "times", "chin", False, "Shrinks in curing"),
        ("closure", "stations", "lower lip", False, "Lips not face to face"),
        ("closure", "mm", "lower lip", True, "Mouth stays open"),
        ("load", "mm3", "upper lip", False, "Counted once"),
        ("load", "g", "brow", True, "Too heavy"),
        ("load", "g", "brow", False, "Held by nothing"),
        ("load", "g/cm2", "brow", True, "Too heavy for its glue"),
        ("airway", "of the bare opening", "left nostril", True, "Breath is narrowed"),
        ("airway", "of the bare opening", "left ear", True, "Ear is covered"),
        ("airway", "of the ways out", "nose", True, "Breath is shut in"),
    ],
)
def test_a_row_names_what_is_told_and_not_its_check(check, unit, region, limited, words):
    told = {"check": check, "unit": unit, "region": region, "limited": limited, "value": 1.0, "limit": 2.0}
    assert fault_word(SimpleNamespace(message="", **told)) == words


SENTENCES = [
    ("edge", "Sculpt ends 1.8 mm from the margin of the right lids, 19 mm of edge nearer than 5 mm", "Ends too near"),
    ("edge", "Sculpt rises to 1 mm within 3.2 mm of its rim, over 40 mm of rim at the chin", "Blends too fast"),
    ("edge", "Brow overlaps Cheek by 1.0 mm over 30 mm of edge at the temple (at least 3 mm).", "Edges overlap"),
    ("additive", "Sculpt adds nothing: it stands nowhere more than 0.002 mm over the base", "Adds nothing"),
    ("release", "Within 10 mm of Sculpt the face hangs over along the pull by up to 7.0 mm", "Face hangs over"),
    ("release", "Sculpt has 137 mm² of wall with less than 2° of draft: a rigid casting", "Little draft"),
]


@pytest.mark.parametrize(("check", "message", "words"), SENTENCES)
def test_a_row_names_the_fault_of_its_sentence(check, message, words):
    item = SimpleNamespace(check=check, unit="mm", region="chin", limited=True, value=1.0, limit=5.0, message=message)
    assert fault_word(item) == words


def test_words_that_tell_findings_apart_are_said_by_the_checks():
    room = Path(finding_rows.__file__).parents[2] / "checks"
    sources = " ".join(path.read_text(encoding="utf8") for path in sorted(room.rglob("*.py")))
    assert not [words for told in SAID.values() for words in told if words not in sources]


def test_counts_are_the_lists_own_and_a_cause_is_one_row(checked):
    bench = checked.bench
    rows = [bench.findings[place] for place in listed_places(bench)]
    assert rows_to_mend(bench) == len(rows) > 1
    assert count_words(bench) == f"{len(rows)} places to mend"
    for item in bench.findings:
        item.cause = "the tusk on the lip"
    assert rows_to_mend(bench) == 1 and len(same_cause(bench, bench.findings[0])) == len(bench.findings) - 1
    assert count_words(bench) == "1 place to mend"
    bench.picked = 0
    assert any("The same cause" in text for text, _ in drawn(DRYFIT_PT_findings))
    bench.findings[0].exception = "agreed"
    assert count_words(bench) == "1 place to mend · 1 accepted" and len(listed_places(bench)) == 2


def test_figures_of_before_a_change_are_counted_as_such(checked):
    mend = rows_to_mend(checked.bench)
    checked.piece.location.y = 0.002
    bpy.context.view_layer.update()
    assert count_words(checked.bench) == f"{mend} places to mend · {mend} of them from before the last change"


def test_a_long_cause_is_told_in_short():
    named = ", ".join(f"Piece{number} (shape, place)" for number in range(7))
    said = short_cause(f"Changed since it was measured: {named}")
    assert said.endswith("Piece3 (shape, place) and 3 more") and "Piece4" not in said
