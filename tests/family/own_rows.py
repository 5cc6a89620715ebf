"""Rows about what the bare head and its own teeth do without the design, where the jaw stops, and figures' limits."""

import math
from functools import cache

from dryfit.checks.registry import check_named
from dryfit.report.figures import key_figures

from . import asking, members, pieces, smiles, teeth
from .answers import Answer, at_least, at_most, near, none_of, one_of, row, within
from .truth import lip_gap

OWN = "only what the design adds is judged"
REACHED = "coverage is judged at the pose that is reached"
ONE_LIMIT = "each printed figure carries the limit that judged it"
ONE_CONTACT = "one collision, one contact, one figure"
OVERLAP_MM = 0.7
LONG = teeth.Bite(edge_mm=6.5)
BLOCK_MM = 7.0


@cache
def _overlapping():
    return members.with_cheek_piece(members.keyed(bite=teeth.Bite(apart_mm=-OVERLAP_MM))).with_own_teeth()


@cache
def _wide_smiling():
    return members.with_cheek_piece(members.smiling(members.keyed(), 2.5)).with_own_teeth()


@cache
def _half_blinking():
    member = members.with_cheek_piece(members.keyed())
    return member.with_motions(smiles.half_blink(member.head))


@cache
def _throat():
    member = members.keyed()
    return member.wearing(pieces.chin_piece(member.head))


@row("6-bite-closure", OWN, "own teeth 0.7 mm into each other in the scan, cheek piece: closure")
def bite_closure():
    return one_of(asking.status(_overlapping(), "closure"), "pass")


@row("6-bite-interference", OWN, "own teeth 0.7 mm into each other in the scan, cheek piece: interference")
def bite_interference():
    return one_of(asking.status(_overlapping(), "interference"), "pass")


@row("6-bite-told", OWN, "own teeth 0.7 mm into each other in the scan: notes that say so")
def bite_told():
    notes = [
        each.message
        for check in ("closure", "interference")
        for each in asking.result(_overlapping(), check).findings
        if each.severity == "info" and "teeth" in each.message
    ]
    return Answer(f"{len(notes)} notes", "1 note", len(notes) == 1)


@row("6-lids", OWN, "lids that never close by themselves, cheek piece: blink")
def lids():
    return one_of(asking.status(_half_blinking(), "blink"), "pass")


@row("6-smile", OWN, "a smile that draws the own lips over the own teeth, cheek piece: interference")
def smile():
    return one_of(asking.status(_wide_smiling(), "interference"), "pass")


@row("6-throat", OWN, "skin under the chin that folds by itself, thin piece on it: strain")
def throat():
    return one_of(asking.status(_throat(), "strain"), "pass")


@row("6-design", OWN, "a high block on a sound bite is the design's: interference")
def design():
    return one_of(asking.status(members.blocked(BLOCK_MM), "interference"), "fail")


@row("8-reached", REACHED, "long incisors, a block holds the mouth open: coverage")
def reached():
    return one_of(asking.status(members.blocked(BLOCK_MM, bite=LONG), "coverage"), "review", "fail", "not_checked")


@row("8-height", REACHED, "long incisors, a block holds the mouth open: display_height_mm")
def height():
    member = members.blocked(BLOCK_MM, bite=LONG)
    return at_least(asking.measure(member, "coverage", "display_height_mm"), round(_shown_mm(member) - 0.7, 1))


def _shown_mm(member):
    """Return how much of a long upper incisor shows from the front past the upper lip with the jaw where it stops."""
    stop_t = members.block_stop_t(BLOCK_MM, bite=LONG)
    gap = lip_gap(member.head, member.skin_at(stop_t))
    up = member.head.frame[2]
    edge_mm = (teeth._one(member.rows.upper, 21)[0] @ up).min()
    margin_mm = member.head.vertices_mm[member.head.marks["stomion_superius"]] @ up
    return float(min(margin_mm - edge_mm, gap.midline_mm))


@row("8-closed", REACHED, "long incisors, nothing in the way: coverage")
def closed():
    return one_of(asking.status(members.keyed(bite=LONG), "coverage"), "pass")


def limits_of(member, check, value):
    """Return the limits that one figure is printed with anywhere in a check's report."""
    report = asking.report(member, check)
    result = report.check(check)
    shown = [(each.value, each.limit) for each in key_figures(result, check_named(check))]
    shown += [(each.value, each.limit) for each in result.findings]
    return {
        limit for each, limit in shown if isinstance(each, float) and abs(each - value) < 0.005 and math.isfinite(limit)
    }


def _limit_row(name, says, member):
    @row(f"9-limit-{name}", ONE_LIMIT, f"{says}: limits that the residual gap is printed with")
    def printed():
        value = asking.measure(member(), "closure", "residual_gap_mm")
        limits = sorted(limits_of(member(), "closure", value))
        return Answer(" and ".join(f"{limit:g} mm" for limit in limits) or "none", "one limit", len(limits) == 1)


_limit_row("blocked", "a block holds the mouth open", lambda: members.blocked(BLOCK_MM))
_limit_row("bite", "own teeth in each other", _overlapping)
_limit_row("open", "25 mm open, turned and slid", lambda: members.sculpted_open("mean", "slide", 25.0)[0])


def _contact_rows(name, says, member, stop_t=None, pairs=None, slow=False):
    @row(f"7-same-start-{name}", ONE_CONTACT, f"{says}: contact_t less interference's start_t", slow)
    def start():
        contact = asking.measure(member(), "closure", "contact_t")
        return at_most(abs(contact - asking.measure(member(), "interference", "start_t")), 0.002, "")

    @row(f"7-same-pair-{name}", ONE_CONTACT, f"{says}: pairs that closure and interference name", slow)
    def pair():
        words = {
            asking.measure(member(), "closure", "contact_pair"),
            asking.measure(member(), "interference", "worst_pair"),
        }
        return Answer(" and ".join(sorted(map(str, words))), "one pair", len(words) == 1)

    @row(f"7-one-cause-{name}", ONE_CONTACT, f"{says}: figures for how far the two run into each other", slow)
    def figures():
        told = [each for each in asking.judged(member(), "interference") if "closure" not in each.message]
        must = asking.measure(member(), "closure", "must_lose_mm")
        off = [f"{each.value:.1f} mm" for each in told if abs(each.value - must) > 0.3]
        return Answer(f"{must:.1f} mm; {', '.join(off) or 'the same'}", "one figure, or a reference", not off)

    if stop_t is not None:

        @row(f"7-contact-{name}", ONE_CONTACT, f"{says}: contact_t", slow)
        def contact():
            return near(asking.measure(member(), "closure", "contact_t"), stop_t(), 0.005, "")

        @row(f"7-lose-{name}", ONE_CONTACT, f"{says}: must_lose_mm, from the overlap when closed to a level cut", slow)
        def lose():
            met = pairs(member(), 0.0)
            low, high = -members.least_room_mm(met), max(teeth.levelled_mm(*pair) for pair in met)
            return within(asking.measure(member(), "closure", "must_lose_mm"), low - 0.3, high + 0.3)


for _height_mm in (3.0, 7.0, 12.0):
    _contact_rows(
        f"block-{_height_mm:g}", f"a block {_height_mm:g} mm over a molar",
        lambda mm=_height_mm: members.blocked(mm), lambda mm=_height_mm: members.block_stop_t(mm),
        members.block_pairs, slow=_height_mm == 12.0,
    )  # fmt: skip
_contact_rows("caps", "caps on the upper back teeth", members.capped, members.cap_stop_t, members.cap_pairs)
_contact_rows(
    "bite", "teeth of the design 0.7 mm into each other", lambda: members.keyed(bite=teeth.Bite(apart_mm=-OVERLAP_MM))
)


@row("6-clean", OWN, "a thin clean cheek piece on a sound head: checks that hold it back")
def clean():
    member = members.with_cheek_piece(members.keyed()).with_motions(smiles.smile(members.keyed().head)).with_own_teeth()
    checks = ("base_lock", "additive", "edge", "thickness", "closure", "coverage", "interference", "strain")
    return none_of([check for check in checks if asking.status(member, check) != "pass"], "such check")
