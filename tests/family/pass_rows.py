"""Rows about the word *pass*: no figure beyond the limit that is printed with it, and none unknown, stands under it."""

import math

import dryfit
from demo_reports import whole_report
from dryfit.checks.registry import CHECKS, check_named
from dryfit.demo_door import demo_module
from dryfit.model.brief import Brief
from dryfit.model.finding import Status
from dryfit.report.figures import key_figures

from . import members, pieces, slabs, smiles
from .answers import none_of, row

PROOF = "no figure stands beyond its limit, or unknown, under pass"
JUDGED = {"closure": {"lips_travel_mm": "lips_reach_limit_mm", "bare_rest_gap_mm": "lip_gap_review_mm"}}
"""Check -> figures that a limit, or another of its figures, judges beside those of a report's front page."""
AT_LEAST = {each.limit for check in CHECKS for each in check.leading if each.at_least} | {
    "blend_step_mm", "interior_mm", "eye_clearance_review_mm", "sight_width_review_deg", "sight_side_deg",
    "sight_fraction", "nostril_open_review", "mouth_open_area_review", "mouth_open_area", "opening_review_mm",
}  # fmt: skip
ROUNDING = 5e-3
"""Figures are printed to a hundredth."""


QUICK = ("slabs",)


def beyond(report):
    """Return what stands under ``pass`` in a report and must not: front-page figures, judged ones, noted ones."""
    found = []
    for result in report.checks:
        if result.status == Status.PASS:
            found += [f"{result.id} {words}" for words in (*_figures(result, report), *_notes(result, report))]
    return found


def _figures(result, report):
    for figure in key_figures(result, check_named(result.id)):
        if figure.measurable and _over(figure.value, figure.limit, figure.at_least):
            yield f"{figure.measure} {figure.value:.2f} ({figure.limit_said})"
    for measure, bound in result.judged.items():
        figure = result.measures.get(measure, math.nan)
        if not bound.holds(figure) and (math.isnan(figure) or _over(figure, bound.value, bound.at_least)):
            yield f"{measure} {figure:.2f} ({'at least' if bound.at_least else 'at most'} {bound.value:.2f} mm)"
    for measure, limit in JUDGED.get(result.id, {}).items():
        most = result.measures.get(limit, report.limits.get(limit, {}).get("value", math.nan))
        if _over(result.measures.get(measure, math.nan), most, False):
            yield f"{measure} {result.measures[measure]:.2f} (at most {most:.2f} mm)"


def _notes(result, report):
    """Yield findings that are only notes with a figure beyond the limit they print."""
    for finding in result.findings:
        named = [name for name in check_named(result.id).limits if report.limits[name]["value"] == finding.limit]
        least = bool(named) and all(name in AT_LEAST for name in named)
        if math.isfinite(finding.limit) and finding.exception is None and _over(finding.value, finding.limit, least):
            yield f"note: {finding.value:.2f} {finding.unit} (limit {finding.limit:g})"


def _over(value, limit, at_least):
    return value < limit - ROUNDING if at_least else value > limit + ROUNDING


def _row(name, says, snapshot):
    @row(f"P-{name}", PROOF, f"{says}: all checks", name not in QUICK)
    def held():
        return none_of(sorted(set(beyond(dryfit.check(snapshot(), Brief())))), "such figure")


def _worn(member):
    worn = members.with_cheek_piece(member).with_own_teeth()
    return worn.with_motions(smiles.smile(worn.head), smiles.blink(worn.head)).snapshot


def _half_blinking():
    member = members.with_cheek_piece(members.keyed())
    return member.with_motions(smiles.half_blink(member.head)).snapshot


_row("clean", "a head with a clean cheek piece", lambda: _worn(members.keyed()))
_row("apart", "lips 1.2 mm apart, cheek piece", lambda: _worn(members.keyed(gap_mm=1.2)))
_row("overlap", "lips 0.7 mm into each other, cheek piece", lambda: _worn(members.keyed(gap_mm=-0.7)))
_row("hinge", "a hinge from landmarks, cheek piece", lambda: _worn(members.hinged()))
_row("slide", "jaw turns and slides, cheek piece", lambda: _worn(members.keyed(path="slide")))
_row("lids", "lids that never close, cheek piece", _half_blinking)
_row("open-34-proposed", "34 mm open, landmarks as proposed",
     lambda: members.sculpted_open("mean", "turn", 34.0)[0].proposed().snapshot)  # fmt: skip
_row("open-25-condyles", "25 mm open, right landmarks",
     lambda: members.sculpted_open("mean", "condyles", 25.0)[0].snapshot)  # fmt: skip
_row("throat", "a thin piece under the chin",
     lambda: members.keyed().wearing(pieces.chin_piece(members.keyed().head)).snapshot)  # fmt: skip
_row("slabs", "flush slabs", lambda: slabs.slabs().snapshot)
_row("graze", "slabs that graze", lambda: slabs.slabs(beside_mm=3.9).snapshot)
for _identity in ("man", "child", "old_man"):
    _row(_identity, f"{_identity}, cheek piece", lambda who=_identity: _worn(members.keyed(who, gap_mm=None)))


DESIGNS = {name: f"P-{name}" for name in demo_module("wardens").DESIGNS}
"""Demonstration design -> its row."""


def _design_row(name):
    @row(DESIGNS[name], PROOF, f"demonstration {name}: all checks", slow=True)
    def held():
        return none_of(sorted(set(beyond(whole_report(name)))), "such figure")


for _design in DESIGNS:
    _design_row(_design)

__all__ = ["DESIGNS", "beyond"]
