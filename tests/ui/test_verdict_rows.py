"""The sidebar's verdict and each check's row: outdated and unrun checks count as not checked, by name and cause."""

from types import SimpleNamespace

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from dryfit.checks.registry import CHECKS  # noqa: E402
from dryfit.sitting.freshness import look  # noqa: E402
from dryfit.sitting.still_true import shape_prints  # noqa: E402
from dryfit.ui.findings import DRYFIT_PT_findings  # noqa: E402
from dryfit.ui.fitting import DRYFIT_PT_checks, DRYFIT_PT_fitting  # noqa: E402
from dryfit.ui.wording import check_word  # noqa: E402

WIDE = SimpleNamespace(width=4000)
PLAIN = SimpleNamespace(system=SimpleNamespace(ui_scale=1.0))


class Recorder:
    """A layout that remembers the labels it is asked to draw, with their icons, and draws nothing."""

    def __init__(self, said=None):
        self.said = [] if said is None else said

    def label(self, text="", icon="NONE"):
        self.said.append((text, icon))

    def operator(self, name, text="", **_):
        return SimpleNamespace()

    def __getattr__(self, name):
        return lambda *_, **__: Recorder(self.said)


def drawn(panel, method="draw"):
    layout = Recorder()
    context = SimpleNamespace(
        scene=bpy.context.scene, view_layer=bpy.context.view_layer, region=WIDE, preferences=PLAIN
    )
    getattr(panel, method)(SimpleNamespace(layout=layout), context)
    return layout.said


def verdict():
    return next(text for text, _ in drawn(DRYFIT_PT_fitting) if text.startswith("Verdict"))


def rows():
    """Each check's title, icon, word and reason."""
    said = drawn(DRYFIT_PT_checks)
    titles = [check_word(check.id) for check in CHECKS]
    places = [place for place, (text, _) in enumerate(said) if text in titles]
    ends = [*places[1:], len(said)]
    return {
        said[place][0]: (said[place][1], said[place + 1][0], " ".join(text for text, _ in said[place + 2 : end]))
        for place, end in zip(places, ends, strict=True)
    }


@pytest.fixture
def allowed(design):
    """The design with its hollow allowed and clearance alone measured: nothing is found, and little was asked."""
    design.bench.limits.additive_tolerance_mm = 5.0
    bpy.ops.dryfit.check_fit(only="additive")
    return design


def test_one_check_alone_is_never_drawn_as_a_pass(allowed):
    assert verdict() == "Verdict: Not checked"
    (unrun,) = [text for text, _ in drawn(DRYFIT_PT_fitting) if text.startswith("Not run")]
    assert unrun == f"Not run: {', '.join(check_word(each.id) for each in CHECKS if each.id != 'additive')}."
    shown = rows()
    assert shown.pop("Additive") == ("CHECKMARK", "Pass", "")
    assert set(shown.values()) == {("RADIOBUT_OFF", "Not run", "")}
    assert drawn(DRYFIT_PT_checks, "draw_header_preset") == [("12 not checked", "NONE")]
    assert drawn(DRYFIT_PT_findings) == [("Nothing found where it was checked", "QUESTION")]


def test_what_the_operator_says_of_one_check_is_no_verdict_on_the_design(design, capfd):
    design.bench.limits.additive_tolerance_mm = 5.0
    bpy.ops.dryfit.check_fit(only="additive")
    said = capfd.readouterr().out
    assert "Not checked: nothing to mend where it was checked; 12 other checks have no answer that holds now" in said


def test_a_change_is_named_in_the_verdicts_line_and_in_each_row(allowed):
    bpy.ops.dryfit.check_fit(only="edge")
    assert verdict() == "Verdict: Fail"
    allowed.piece.location.y = 0.001
    bpy.context.view_layer.update()
    assert verdict() == "Verdict: Not checked"
    cause = "Changed since it was measured: CheekBark (place)"
    assert (f"{cause}. Check again: Additive, Edge.", "FILE_REFRESH") in drawn(DRYFIT_PT_fitting)
    shown = rows()
    assert shown["Additive"] == shown["Edge"] == ("QUESTION", "Not checked", cause)
    bpy.ops.dryfit.check_fit(only="edge")
    assert verdict() == "Verdict: Fail"
    assert rows()["Edge"][:2] == ("CANCEL", "Fail") and rows()["Additive"] == ("QUESTION", "Not checked", cause)
    assert (f"{cause}. Check again: Additive.", "FILE_REFRESH") in drawn(DRYFIT_PT_fitting)


def test_a_finding_of_a_check_that_no_longer_holds_says_so(allowed):
    bpy.ops.dryfit.check_fit(only="edge")
    allowed.bench.picked = 0
    cause = ("Changed since it was measured: CheekBark (place)", "FILE_REFRESH")
    assert cause not in drawn(DRYFIT_PT_findings)
    allowed.piece.location.y = 0.001
    bpy.context.view_layer.update()
    assert cause in drawn(DRYFIT_PT_findings)


def test_what_could_not_be_measured_is_told_apart_from_what_was_not_run(allowed):
    bpy.ops.dryfit.check_fit(only="coverage")
    assert rows()["Coverage"][:2] == ("QUESTION", "Not checked") and rows()["Coverage"][2]
    said = [text for text, _ in drawn(DRYFIT_PT_fitting)]
    assert "Not answered in full, see Next Steps: Coverage." in said
    assert next(text for text in said if text.startswith("Not run")).count(",") == len(CHECKS) - 3


def test_as_many_checks_are_said_to_lack_an_answer_as_the_sentence_counts(allowed):
    """A check that found something and could not look at everything counts in both."""
    bpy.ops.dryfit.check_fit()
    counted = sum(row.status == "not_checked" or bool(row.reason) for row in allowed.bench.checks)
    assert any(row.reason and row.status != "not_checked" for row in allowed.bench.checks)
    assert f"{counted} questions not answered" in allowed.bench.headline
    said = [text for text, _ in drawn(DRYFIT_PT_fitting)]
    assert f"Not answered in full, see Next Steps: {counted} checks." in said


def test_drawing_reads_no_shape_and_no_file(allowed, monkeypatch, tmp_path):
    def never(*_):
        raise AssertionError("a panel that draws must not read the scene")

    allowed.piece.data.vertices[5].co.y -= 0.001
    monkeypatch.setattr(shape_prints, "_read", never)
    monkeypatch.setattr("dryfit.sitting.standing.design_prints", never)
    assert verdict() and rows() and drawn(DRYFIT_PT_findings)
    with pytest.raises(AssertionError):
        shape_prints.ShapePrints().of(allowed.piece)


def test_before_anything_was_run_nothing_is_claimed(design):
    assert not [text for text, _ in drawn(DRYFIT_PT_fitting) if "Verdict" in text]
    assert drawn(DRYFIT_PT_checks, "draw_header_preset") == [("13 not checked", "NONE")]
    look(design.scene, thoroughly=True)
    assert not design.bench.verdict
