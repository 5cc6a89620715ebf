"""Rows about landmarks that are proposed, missing or moved."""

import re

import numpy as np

from . import asking, members
from .answers import Answer, at_least, at_most, near, none_of, row
from .heads import IDENTITIES

HONEST = "proposed landmarks lie within their stated bounds"
MISSING = "a landmark that is missing or wrong is said so, or changes nothing"
SURE_MM = 2.5
QUICK = ("woman",)


def _proposed(member):
    """Return the proposal for a member and how far each point is off, mm."""
    found, true = members.proposal(member.snapshot), member.head.landmarks()
    return found, {name: float(np.linalg.norm(at - true[name])) for name, at in found.points_mm.items()}


def _proposal_rows(name, says, member, slow):
    @row(f"10-inside-{name}", HONEST, f"{says}: share of points within their bound", slow)
    def inside():
        found, off = _proposed(member())
        share = np.mean([off[each] <= found.confidence[each].bound_mm for each in off])
        return at_least(float(share), 0.9, "of all")

    @row(f"10-sure-{name}", HONEST, f"{says}: points called sure that are further off than their bound", slow)
    def sure():
        found, off = _proposed(member())
        return none_of(
            [
                f"{each} {off[each]:.1f} mm"
                for each in off
                if found.confidence[each].word == "sure" and off[each] > max(found.confidence[each].bound_mm, SURE_MM)
            ],
            "such point",
        )

    @row(f"10-sides-{name}", HONEST, f"{says}: largest unevenness of left and right on an even head", slow)
    def sides():
        points = _proposed(member())[0].points_mm
        pairs = [each for each in points if each.endswith("_left") and f"{each[:-5]}_right" in points]
        uneven = [np.linalg.norm(points[each] * [-1, 1, 1] - points[f"{each[:-5]}_right"]) for each in pairs]
        return at_most(float(max(uneven)), 2.0)

    @row(f"10-hinge-{name}", HONEST, f"{says}: axis offset tried against the tragions' error", slow)
    def hinge():
        _, off = _proposed(member())
        measures = asking.result(member().proposed(), "closure").measures
        tried = [float(found[1]) for found in map(re.compile(r"axis_(\d+)mm_").match, measures) if found]
        return at_least(max(tried, default=0.0), round(max(off["tragion_left"], off["tragion_right"]), 1))


for _identity in IDENTITIES:
    _proposal_rows(_identity, _identity, lambda who=_identity: members.hinged(who), _identity not in QUICK)
_proposal_rows("open", "mean, 34 mm open", lambda: members.sculpted_open("mean", "turn", 34.0)[0], True)


LIP_FIGURES = ("rest_gap_mm", "residual_gap_mm", "max_opening_mm")
UNCHANGED_MM = 0.5


def _changed(member, like):
    """Return what closure says otherwise of a member, while it passes, than of one with all landmarks in place."""
    if asking.status(member, "closure") != "pass":
        return []
    pairs = [(name, *(asking.measure(each, "closure", name) for each in (member, like))) for name in LIP_FIGURES]
    return [
        f"{name} {now:.1f} for {before:.1f} mm" for name, now, before in pairs if not abs(now - before) <= UNCHANGED_MM
    ]


def _missing_row(name, slow):
    @row(f"L-without-{name}", MISSING, f"without {name}, jaw with keys: what closure says otherwise and passes", slow)
    def without():
        return none_of(_changed(members.keyed().without(name), members.keyed()), "change")


for _name in members.keyed().snapshot.landmarks:
    _missing_row(_name, _name not in ("gnathion", "sellion", "cheilion_left", "stomion_inferius"))


def _upright_row(name, who):
    @row(f"L-upright-{name}-{who}", MISSING, f"{who}, without {name}: the widest opening, within what is said", True)
    def upright():
        """Up has to be read from other landmarks then, and faces differ in how those stand to each other."""
        whole, member = members.keyed(who), members.keyed(who).without(name)
        told = [each for each in asking.result(member, "closure").findings if f"no {name}" in each.message]
        wide = [asking.measure(each, "closure", "max_opening_mm") for each in (member, whole)]
        return near(wide[0], wide[1], told[0].value if told else 0.0)


for _identity in IDENTITIES:
    for _name in ("sellion", "gnathion"):
        _upright_row(_name, _identity)


MOVES = {
    "gnathion": (0.0, 0.0, 1.0), "sellion": (0.0, 0.0, 1.0), "cheilion_left": (1.0, 0.0, 0.0),
    "stomion_inferius": (0.0, 0.0, -1.0), "stomion_superius": (0.0, 0.0, 1.0), "tragion_left": (0.0, -0.7, -0.7),
    "exocanthion_left": (0.7, 0.7, 0.0), "subnasale": (0.0, 0.0, 1.0), "alare_left": (0.7, 0.0, 0.7),
}  # fmt: skip


def _moved_row(name, shift_mm):
    slow = shift_mm != 40 or name not in ("gnathion", "cheilion_left", "stomion_inferius")

    @row(f"L-moved-{name}-{shift_mm}", MISSING, f"{name} {shift_mm} mm off, jaw with keys: closure wrong, unsaid", slow)
    def moved():
        member = members.keyed().with_moved(name, shift_mm * np.array(MOVES[name]))
        said = any(name in each.message for each in asking.judged(member, "base_lock"))
        changed = _changed(member, members.keyed())
        if said and asking.status(member, "closure") == "pass" and changed:
            return Answer(
                f"named; closure passes with {'; '.join(changed)}", "no pass on a landmark called wrong", False
            )
        return none_of([] if said else changed, "unsaid change")

    if shift_mm == 40:

        @row(f"L-named-{name}-{shift_mm}", MISSING, f"{name} {shift_mm} mm off: called wrong by name", slow)
        def named():
            member = members.keyed().with_moved(name, shift_mm * np.array(MOVES[name]))
            named = [each for each in asking.judged(member, "base_lock") if name in each.message]
            return at_least(float(len(named)), 1.0, "finding")


for _name in MOVES:
    for _shift_mm in (5, 15, 40):
        _moved_row(_name, _shift_mm)
