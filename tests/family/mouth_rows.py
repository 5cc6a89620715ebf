"""Rows about open mouths, the gap between the lips on the way and at rest."""

from functools import cache

import numpy as np

from . import asking, members
from .answers import Answer, at_most, near, none_of, one_of, row, within
from .truth import lip_gap

WIDE_OPEN_PASSES = "a wide-open mouth never passes"
GAP_BY_T = "the gap against t is the true one, smooth and monotone"
STATIC_OPEN = "a static open sculpt with right landmarks"
REST_GAP = "the gap at rest"
RESTING_SHOWS_MM = 3.0
GAP_MM = 0.8
"""A gap over 3 mm is true to this: what the head's upright may be off (1.5 degrees) over a lip 30 mm below."""
WORDS = {
    "turn": "turned as a whole mandible does",
    "condyles": "turned about the condyles",
    "slide": "turned and slid",
}
OPENINGS = (("mean", 10), ("mean", 34), ("old_man", 25), ("child", 25))
FAR_OFF_MM = 10.0


def _open_rows(identity, opening_mm):
    who = f"{identity} {opening_mm} mm"
    slow = (identity, opening_mm) != ("mean", 34)

    def proposed():
        return members.sculpted_open(identity, "turn", float(opening_mm))[0].proposed()

    @row(f"1-verdict-{identity}-{opening_mm}", WIDE_OPEN_PASSES, f"{who} open, landmarks as proposed: closure", slow)
    def verdict():
        return one_of(asking.status(proposed(), "closure"), "review", "fail", "not_checked")

    @row(
        f"1-excuse-{identity}-{opening_mm}",
        WIDE_OPEN_PASSES,
        f"{who} open: gap left that passes for the bare lips' own",
        slow,
    )
    def excused():
        passes = asking.status(proposed(), "closure") == "pass"
        return at_most(asking.measure(proposed(), "closure", "residual_gap_mm") if passes else 0.0, RESTING_SHOWS_MM)

    @row(
        f"1-proposals-{identity}-{opening_mm}",
        WIDE_OPEN_PASSES,
        f"{who} open: proposals over 10 mm off, not said so",
        slow,
    )
    def proposals():
        member, _ = members.sculpted_open(identity, "turn", float(opening_mm))
        found, true = members.proposal(member.snapshot), member.head.landmarks()
        far = {name: float(np.linalg.norm(at - true[name])) for name, at in found.points_mm.items()}
        return none_of(
            [
                f"{name} {far[name]:.0f} mm ({found.confidence[name].word})"
                for name in far
                if far[name] > max(FAR_OFF_MM, found.confidence[name].bound_mm)
                and found.confidence[name].word != "look at it"
            ],
            "such proposal",
        )


for _identity, _opening_mm in OPENINGS:
    _open_rows(_identity, _opening_mm)


def _gap_rows(name, says, member):
    slow = name not in ("turn", "condyles")

    @cache
    def compared():
        t, gap_mm = asking.curve(member(), "gap_by_t")
        inside = t >= 0.0
        true = np.array([lip_gap(member().head, member().skin_at(each)).largest_mm for each in t[inside]])
        return t[inside], gap_mm[inside], true

    @row(f"3-error-{name}", GAP_BY_T, f"{says}: gap over 3 mm, farthest from the truth at any t", slow)
    def error():
        t, gap_mm, true = compared()
        off = np.where(true > RESTING_SHOWS_MM, np.abs(gap_mm - true), 0.0)
        worst = int(off.argmax())
        return Answer(
            f"{gap_mm[worst]:.2f} mm at t = {t[worst]:.3f}",
            f"{true[worst]:.2f} ± {GAP_MM:g} mm",
            bool(off[worst] <= GAP_MM),
        )

    @row(f"3-back-{name}", GAP_BY_T, f"{says}: largest shrinking of the gap while the jaw opens", slow)
    def backward():
        _, gap_mm, _ = compared()
        return at_most(float(np.maximum(-np.diff(gap_mm), 0.0).max()), 0.1)

    @row(f"3-step-{name}", GAP_BY_T, f"{says}: largest jump of the error between neighbouring t", slow)
    def step():
        _, gap_mm, true = compared()
        return at_most(float(np.abs(np.diff(gap_mm - true)).max()), 0.6)


for _name, _says, _member in (
    ("turn", "jaw turns 25°", lambda: members.keyed()),
    ("condyles", "jaw turns 25° about the condyles", lambda: members.keyed(path="condyles")),
    ("slide", "jaw turns and slides", lambda: members.keyed(path="slide")),
    ("stored", "stored jaw shape", lambda: members.keyed(path="stored")),
    ("old_man", "old man, jaw turns", lambda: members.keyed("old_man")),
    ("child", "child, jaw turns", lambda: members.keyed("child")),
    ("apart", "lips 1.2 mm apart, jaw turns", lambda: members.keyed(gap_mm=1.2)),
    ("4x", "4x finer, jaw turns", lambda: members.keyed(times=4)),
):
    _gap_rows(_name, _says, _member)


for _height_mm in (3.0, 7.0, 12.0):

    @row(
        f"3-residual-{_height_mm:g}",
        GAP_BY_T,
        f"a block {_height_mm:g} mm over a molar: residual_gap_mm",
        _height_mm == 12.0,
    )
    def residual(height_mm=_height_mm):
        member = members.blocked(height_mm)
        true = lip_gap(member.head, member.skin_at(members.block_stop_t(height_mm))).largest_mm
        return near(asking.measure(member, "closure", "residual_gap_mm"), true, GAP_MM)


def _static_rows(identity, opening_mm, path):
    who = f"{identity} {opening_mm} mm open, {WORDS[path]}"
    slow = (identity, opening_mm, path) != ("mean", 25, "slide")

    def member():
        return members.sculpted_open(identity, path, float(opening_mm))[0]

    @row(f"4-doubts-{identity}-{path}-{opening_mm}", STATIC_OPEN, f"{who}: landmarks called wrong", slow)
    def doubts():
        return none_of(
            [each.message.split(" is ")[0] for each in asking.judged(member(), "base_lock")], "landmark called wrong"
        )

    @row(
        f"4-behind-{identity}-{path}-{opening_mm}",
        STATIC_OPEN,
        f"{who}: lower lip behind the upper one once closed",
        slow,
    )
    def behind():
        true = lip_gap(members.sculpted_open(identity, path, float(opening_mm))[1].shut).behind_mm
        measured = asking.measure(member(), "closure", "lower_lip_behind_mm")
        told = near(measured, float(true[len(true) // 2]), 1.0)
        if asking.status(member(), "closure") == "review":
            return Answer(f"{told.measured}, review", f"{told.truth}, or review", True)
        return told

    @row(f"4-travel-{identity}-{path}-{opening_mm}", STATIC_OPEN, f"{who}: way of the lips that passes", slow)
    def travel():
        passes = asking.status(member(), "closure") == "pass"
        reach = asking.measure(member(), "closure", "lips_reach_limit_mm")
        return at_most(asking.measure(member(), "closure", "lips_travel_mm") if passes else 0.0, reach)


for _identity, _opening_mm, _path in (
    ("mean", 10, "condyles"), ("mean", 25, "condyles"), ("mean", 34, "condyles"), ("man", 25, "condyles"),
    ("woman", 25, "condyles"), ("child", 25, "condyles"), ("mean", 25, "turn"), ("mean", 25, "slide"),
):  # fmt: skip
    _static_rows(_identity, _opening_mm, _path)


QUICK = ("keys-0.4", "own-mean", "corners-4")


def _rest_row(name, says, member):
    @row(f"5-rest-{name}", REST_GAP, f"{says}: rest_gap_mm", name not in QUICK)
    def rest():
        true = lip_gap(member().head)
        height, column = max(true.largest_mm, 0.0), max(true.largest_column_mm, 0.0)
        return within(max(asking.measure(member(), "closure", "rest_gap_mm"), 0.0), height - 0.15, column + 0.15)


for _gap_mm in (-0.7, 0.4, 0.7, 1.0):
    _rest_row(f"keys-{_gap_mm}", f"lips {_gap_mm} mm apart, keyed", lambda gap=_gap_mm: members.keyed(gap_mm=gap))
    _rest_row(f"hinge-{_gap_mm}", f"lips {_gap_mm} mm apart, hinge", lambda gap=_gap_mm: members.hinged(gap_mm=gap))
for _identity in ("man", "woman", "child", "old_man", "elder_woman"):
    _rest_row(f"keys-{_identity}", f"{_identity}, lips 0.4 mm apart, keyed", lambda who=_identity: members.keyed(who))
    _rest_row(f"hinge-{_identity}", f"{_identity}, lips 0.4 mm apart, hinge", lambda who=_identity: members.hinged(who))


for _identity in ("mean", "woman", "old_man", "elder_woman"):
    _rest_row(
        f"own-{_identity}", f"{_identity}, lips as they are", lambda who=_identity: members.keyed(who, gap_mm=None)
    )
for _beyond_mm in (2.0, 4.0):
    _rest_row(
        f"corners-{_beyond_mm:g}", f"lips 0.4 mm apart, cheilia placed {_beyond_mm:g} mm beyond the corners",
        lambda mm=_beyond_mm: _corners_beyond(mm),
    )  # fmt: skip


@cache
def _corners_beyond(beyond_mm):
    member = members.keyed()
    for side, sign in (("left", 1.0), ("right", -1.0)):
        member = member.with_moved(f"cheilion_{side}", [sign * beyond_mm, 0.3 * beyond_mm, 0.0])
    return member


@row(
    "5-keys-hinge", REST_GAP, "the same rest mesh by keys and by a hinge: largest difference of rest_gap_mm", slow=True
)
def keys_against_hinge():
    pairs = [(members.keyed(who), members.hinged(who)) for who in ("mean", "woman", "old_man", "elder_woman")]
    pairs += [(members.keyed(gap_mm=1.0), members.hinged(gap_mm=1.0))]
    read = [[asking.measure(each, "closure", "rest_gap_mm") for each in pair] for pair in pairs]
    return at_most(max(abs(one - other) for one, other in read), 0.05)


@row("5-density", REST_GAP, "the same surface 1x and 4x as fine: difference of rest_gap_mm", slow=True)
def density():
    read = [asking.measure(members.keyed(times=times), "closure", "rest_gap_mm") for times in (1, 4)]
    return at_most(abs(read[0] - read[1]), 0.05)


@row("5-density-16", REST_GAP, "the same surface 1x and 16x as fine: difference of rest_gap_mm", slow=True)
def density_sixteen():
    read = [asking.measure(members.keyed(times=times), "closure", "rest_gap_mm") for times in (1, 16)]
    return at_most(abs(read[0] - read[1]), 0.05)
