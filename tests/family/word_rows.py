"""Rows about words: places that are named right, and what to do about missing landmarks."""

from functools import cache

import dryfit

from . import asking, members, pieces
from .answers import Answer, none_of, row

WORDS = "places and remedies are named right"
MOUTH_MM, NOSTRIL_MM = 30.0, 14.0


@cache
def _throat():
    member = members.keyed()
    return member.wearing(pieces.chin_piece(member.head, rim_mm=0.6))


@cache
def _masked():
    member = members.keyed()
    return member.wearing(pieces.mask(member.head))


@row("11-under-the-chin", WORDS, "a thick-rimmed piece under the chin: messages with a doubled preposition")
def under_the_chin():
    findings = [each for check in ("edge", "strain", "additive") for each in asking.result(_throat(), check).findings]
    said = [each for finding in findings for each in (finding.message, finding.fix)]
    return none_of([each for each in said if "the under the" in each], "such sentence")


def _rims():
    """Return the rim findings of a mask with holes, each with the rim it is on: mouth, nostril, eye or outer."""
    marks, scale = _masked().head.landmarks(), _masked().head.size
    mouth = 0.5 * (marks["stomion_superius"] + marks["stomion_inferius"])
    part = _masked().snapshot.part("Mask")
    for finding in (each for each in asking.judged(_masked(), "edge") if " of edge nearer " not in each.message):
        rim = part.vertices_mm[finding.elements]
        middle = 0.5 * (rim.min(axis=0) + rim.max(axis=0))
        span = rim.max(axis=0) - rim.min(axis=0)
        if span[0] > 80.0 * scale:
            yield "outer", finding
        elif abs(middle - mouth).max() < MOUTH_MM * scale and span[0] > 25.0 * scale and abs(middle[0]) < 3.0:
            yield "mouth", finding
        elif span.max() < NOSTRIL_MM * scale * 1.5:
            yield "nostril", finding
        else:
            yield "eye", finding


def _rim_row(rim, says, fits):
    @row(f"11-rim-{rim}", WORDS, f"a mask with holes: where the rim {says} is said to be")
    def named():
        regions = [finding.region for which, finding in _rims() if which == rim]
        return Answer(", ".join(regions) or "nowhere", fits[0], bool(regions) and all(map(fits[1], regions)))


_rim_row("mouth", "round the mouth", ("the mouth", lambda region: "mouth" in region))
_rim_row("nostril", "of each nostril", ("a nostril", lambda region: "nostril" in region))
_rim_row("eye", "round each eye", ("an eye", lambda region: "eye" in region))
_rim_row("outer", "round the face", ("no one side", lambda region: "left" not in region and "right" not in region))


@row("11-not-checked", WORDS, "no landmarks at all: checks that ask for them without a word on proposing them")
def not_checked():
    member = members.with_cheek_piece(members.keyed())
    bare = member.without(*member.snapshot.landmarks)
    results = dryfit.check(bare.snapshot, asking.Brief()).checks
    silent = [each.id for each in results if "landmark" in each.reason and "dryfit landmarks" not in each.reason]
    return none_of(silent, "such check")
