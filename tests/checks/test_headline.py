"""The first sentence: one definition, made of what was measured, never saying more than is proved."""

import re

import pytest

from dryfit.checks.cause_words import counted_teeth, listed, mm, named_object, sided
from dryfit.checks.causes import causes
from dryfit.checks.headline import headline, tightest
from dryfit.checks.registry import CHECKS

LIMITS = {"additive_tolerance_mm": {"value": 0.2, "unit": "mm", "reason": "noise", "source": "common practice"}}
KNOWN = 13


def entry(name, **changed):
    """A finding in the layout of the JSON Schema."""
    return {
        "id": name, "severity": "fail", "message": "Something is off.", "object": "Chin", "at_mm": [0, 0, 0],
        "pose": {"motion": "", "t": 0}, "region": "chin", "value": 1.0, "limit": 0.5, "unit": "mm",
        "elements": {"kind": "vertices", "count": 0}, "fix": "", "exception": None, "cause": "", **changed,
    }  # fmt: skip


def answer(check, findings=(), status=None, **changed):
    """A check's answer; the status follows the findings where it is not given."""
    worst = "fail" if any(f["severity"] == "fail" for f in findings) else "review" if findings else "pass"
    return {
        "id": check, "status": status or worst, "reason": "", "measures": {}, "judged": {}, "findings": [*findings],
        **changed,
    }  # fmt: skip


def report(*answers, parts=()):
    """A report in the layout of the JSON Schema."""
    roles = [{"name": name, "role": role} for name, role in parts]
    return {"checks": [*answers], "limits": LIMITS, "inputs": {"parts": roles}}


def tusks(lose=(15.0, 15.0)):
    """Two lower canines in the way of the upper ones, told by three checks."""
    told = []
    for number, (side, amount) in enumerate(zip(("left", "right"), lose, strict=True), start=1):
        cause = f"the {side} lower canine against the upper teeth 'U' as the jaw closes"
        fix = f"shorten the {side} lower canine by {amount:.1f} mm"
        told.append({"object": "L", "cause": cause, "fix": fix, "number": number})
    closure, clash = ([entry(f"{check}-{each['number']}", **{k: v for k, v in each.items() if k != "number"})
                       for each in told] for check in ("closure", "interference"))  # fmt: skip
    shown = entry("coverage-1", object="L", cause=told[0]["cause"], region="right lower canine", value=13.7)
    measures = {"residual_gap_mm": 17.77, "must_lose_mm": max(lose)}
    return report(
        answer("closure", closure, measures=measures), answer("coverage", [shown]), answer("interference", clash),
        parts=[("L", "lower_teeth"), ("U", "upper_teeth")],
    )  # fmt: skip


def test_tusks_are_one_cause_and_one_sentence():
    assert [len(cause.findings) for cause in causes(tusks())] == [5]
    said = headline(tusks(), CHECKS[:3])
    assert said == "Lower canines hold the lips 17.8 mm apart; take 15 mm off both."


def test_amounts_that_differ_are_the_most_off_each():
    assert "up to 15 mm off each" in headline(tusks((15.0, 9.0)), CHECKS[:3])


def test_a_hollow_is_raised_by_its_depth_and_the_wall_it_lacks():
    low = entry("additive-1", object="Cheek", region="left cheek", value=2.5, limit=0.2, fix="lift 242 mm2")
    thin = entry("thickness-1", object="Cheek", region="left cheek", value=0.0, limit=0.15,
                 message="Cheek is only 0.00 mm thick at the left cheek.",
                 fix="build up 281 mm2 of the left cheek to 0.5 mm or more")  # fmt: skip
    told = report(answer("additive", [low]), answer("thickness", [thin]))
    assert len(causes(told)) == 1
    assert headline(told, CHECKS[:2]) == "The left cheek is 2.5 mm inside the performer; raise it about 3 mm."
    alone = report(answer("thickness", [thin]))
    assert headline(alone, CHECKS[:1]) == "The wall at the left cheek is 0 mm, under 0.15 mm; build it up to 0.5 mm."


def test_a_thick_rim_says_how_thick_how_long_and_to_what():
    rim = entry(
        "edge-1", value=1.2, limit=0.3, region="brow", fix="feather 68 mm of rim at the brow from 1.20 mm to 0.3"
    )
    assert headline(report(answer("edge", [rim])), CHECKS[:1]) == (
        "The edge at the brow is 1.2 mm thick over 68 mm; feather it to 0.3 mm."
    )


def test_creases_on_both_sides_are_one_cause():
    sides = [entry(f"strain-{n}", severity="review", region=f"{side} corner of the mouth", unit="mm2", value=420.0,
                   limit=100.0, message="Face is squeezed to 32 % of its length in smile at t = 1.")
             for n, side in enumerate(("left", "right"), start=1)]  # fmt: skip
    heavy = entry("load-1", severity="review", object="BronzeMedallion", value=109.6, limit=100.0, unit="g",
                  message="BronzeMedallion weighs 110 g in one piece (limit 100 g).")  # fmt: skip
    said = headline(report(answer("strain", sides), answer("load", [heavy])), CHECKS[:2])
    assert said.startswith("Smile creases both corners of the mouth; ")
    assert "The bronze medallion weighs 110 g, over 100 g in one piece; give it a fixing" in said


def test_what_hangs_on_too_little_glue_is_said_by_its_weight_and_its_pull():
    hung = entry("load-1", object="BronzeMedallion", value=13.0, limit=1.0, unit="g/cm2", severity="review",
                 message="BronzeMedallion hangs 110 g on 8.5 cm² of glue on FaceBark: 13.0 g/cm² (limit 1 g/cm²).",
                 fix="give it mechanical retention, or glue it on 110 cm² or more")  # fmt: skip
    said = headline(report(answer("load", [hung])), CHECKS[:1])
    assert "The 110 g bronze medallion pulls on its glue with 13.0 g/cm² (limit 1 g/cm²); give it mechanical" in said


def test_a_pass_says_what_is_tightest_and_only_a_whole_one_says_build_it():
    judged = {"min_interior_mm": {"value": 0.15, "at_least": True, "limit": "interior_mm"}}
    walls = answer("thickness", measures={"min_interior_mm": 0.19}, judged=judged)
    assert headline(report(walls), CHECKS[:1]) == "Build it; tightest: wall 0.19 mm (limit 0.15 mm)."
    some = headline(report(walls), CHECKS[:KNOWN])
    assert some.startswith("1 of 13 questions asked. ") and "Build it" not in some
    open_ones = report(walls, answer("closure", status="not_checked", reason="There are no teeth."))
    said = headline(open_ones, CHECKS[:2])
    assert "Build it" not in said and "1 question not answered: closing mouth." in said


def noted(name, value=0.4, limit=0.5, **changed):
    told = {"severity": "info", "unit": "mm", "region": "brow", "message": "The rim edge is thick (limit)."}
    return entry(name, value=value, limit=limit, **told | changed)


@pytest.mark.parametrize(
    ("changed", "words"),
    [({}, ["brow edge 0.4 of 0.5 mm"]), ({"message": "It is deep (limit)."}, ["chin 0.4 of 0.5 mm"]),
     ({"message": "The rim edge is thick."}, []), ({"severity": "review"}, []), ({"exception": "so agreed"}, []),
     ({"unit": "mm2"}, []), ({"value": None}, []), ({"limit": None}, []), ({"limit": -0.5, "value": -0.4}, []),
     ({"value": 0.25}, []), ({"value": 0.25 + 1e-6}, ["brow edge 0.25 of 0.5 mm"]), ({"value": 0.5 + 1e-6}, [])],
)  # fmt: skip
def test_a_note_that_nears_its_limit_counts_among_the_tightest(changed, words):
    assert [margin.words for margin in tightest([answer("edge", [noted("edge-1", **changed)], "pass")])] == words


def test_of_notes_about_one_place_the_tightest_alone_is_named():
    three = [noted("edge-1", 0.3), noted("edge-2", 0.4), noted("edge-3", 0.35), noted("edge-4", 0.32, region="lip")]
    words = [margin.words for margin in tightest([answer("edge", three, "pass")])]
    assert words == ["brow edge 0.4 of 0.5 mm", "lip edge 0.32 of 0.5 mm"]


def test_what_the_bare_face_does_by_itself_is_not_the_designs_tightest():
    judged = {"max_opening_mm": {"value": 30.0, "at_least": True, "limit": "opening_mm"}}
    own = answer("closure", measures={"max_opening_mm": 34.0, "bare_max_opening_mm": 34.0}, judged=judged)
    assert tightest([own]) == []
    less = answer("closure", measures={"max_opening_mm": 32.0, "bare_max_opening_mm": 34.0}, judged=judged)
    assert [margin.words for margin in tightest([less])] == ["opening 32 mm (limit 30 mm)"]


def test_outdated_answers_are_said_to_be_and_count_for_nothing():
    told = report(answer("edge", [entry("edge-1")]), answer("load"))
    said = headline(told, CHECKS[:2], {"edge"})
    assert said.startswith("1 answer is older than the design.") and "Build it" not in said
    assert causes(told, {"edge"}) == []


def test_accepted_findings_and_notes_are_no_cause_and_are_said():
    excused = answer("edge", [entry("edge-1", exception="meant so"), entry("edge-2", severity="info")], status="pass")
    assert causes(report(excused)) == []
    assert headline(report(excused), CHECKS[:1]) == "Build it, with 1 finding accepted in writing."


def test_an_unknown_check_is_said_in_its_own_words_and_short():
    long_one = entry("smell-1", message=" ".join(["word"] * 60) + ".", object="NoseTip")
    told = report(answer("smell", [entry("smell-1", message="NoseTip smells (limit 1).", object="NoseTip")]))
    assert headline(told, CHECKS[:1]) == "The nose tip smells (limit 1)."
    assert headline(report(answer("smell", [long_one])), CHECKS[:1])


def test_landmarks_are_one_cause_over_all_checks():
    loose = [answer(check, [entry(f"{check}-1", severity="review", region="landmarks", fix="look at each of them")])
             for check in ("closure", "airway")]  # fmt: skip
    assert len(causes(report(*loose))) == 1


@pytest.mark.parametrize(("names", "said"), [
    (["left lower canine"], "the left lower canine"),
    (["left lower canine", "right lower canine"], "lower canines"),
    (["left upper lateral incisor", "right upper lateral incisor", "left upper central incisor",
      "right upper central incisor"], "four upper incisors"),
    (["left upper canine", "left upper lateral incisor"], "two upper teeth"),
])  # fmt: skip
def test_teeth_are_said_together(names, said):
    assert counted_teeth(names) == said


def test_words_for_places_lengths_and_objects():
    assert sided(["left cheek", "right cheek"]) == "both cheeks"
    assert sided(["left corner of the mouth", "right corner of the mouth"]) == "both corners of the mouth"
    assert sided(["left cheek", "chin"]) == "the left cheek and the chin"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert [mm(value) for value in (17.76, 15.0, 0.19, 0.3, 1.2)] == ["17.8 mm", "15 mm", "0.19 mm", "0.3 mm", "1.2 mm"]
    assert [named_object(n) for n in ("BronzeMedallion", "Chin_Bark", "X")] == ["bronze medallion", "chin bark", "x"]


def test_no_sentence_is_long_and_no_figure_stands_bare():
    for told in (tusks(), tusks((15.0, 9.0))):
        said = headline(told, CHECKS[:3])
        assert all(len(sentence.split()) <= 30 for sentence in re.split(r"(?<=[.!?]) (?=[A-Z0-9])", said))
        assert all(after.startswith((" mm", " g", "°", " of ")) for after in re.split(r"\d+(?:\.\d+)?", said)[1:])


def test_a_piece_gives_its_name_where_no_landmark_names_the_place():
    low = entry("additive-1", object="CheekBark", region="point (54, -64, -17) mm", value=2.5, limit=0.2)
    said = headline(report(answer("additive", [low])), CHECKS[:1])
    assert said.startswith("The cheek bark is 2.5 mm inside the performer; raise it about")
    assert "point" not in said


def test_a_finding_without_a_figure_is_said_in_its_own_words():
    lost = entry("additive-1", value=None, limit=None, message="The wall cannot be read.")
    assert "The wall cannot be read" in headline(report(answer("additive", [lost])), CHECKS[:1])
