"""A room in words: for the terminal, the page, and ``dryfit explain room``."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator

from ..model.sentences import capital
from ..rooms.rims import NEAR_MM, SuggestedRim
from ..rooms.room import Region, Room
from ..rooms.skin import REACH_MM
from ..rooms.teeth import LONGEST_MM, ToothRoom
from .wording import ascii_only

WIDTH = 96
LITTLE_MM = 0.05
ABOUT = (
    (
        "room: how much may be added to this head, where, and what stops it",
        "For every point of the bare skin the greatest thickness that may be added along its outward direction with "
        "every check still passing, and what stops it there. Every constraint is the inverse of a check and takes its "
        "limits, poses and areas: change a limit and the room changes.",
    ),
    (
        "How",
        "Outward is a mean over about 2 mm of skin. sight: the ellipse of the eye-protector standard, the lines to "
        "both sides and down, and the share of the field, for which the skin round the eyes is built up evenly, rising "
        "from the lids, until no more may be hidden; what that leaves free is kept free. nostrils, ears: the same with "
        "their ways out. lids: over the blink, pressed into a lid or met across the opening; and the distance to the "
        "eye. mouth: the wide-open mouth, narrowed evenly from above and below. meeting: the largest ball that touches "
        "the skin and holds no other, in every pose, where a motion changes the distance by more than soft pieces give "
        "way; both sides take half. A crease that moves as one may be filled. moving zones: the thickness over lips, "
        "lids, folds and cheeks, of ordinary silicone. A hollow is stopped where its own outward lines cross. Every "
        "point takes the least of its own and its neighbours' room.",
        "Teeth: straight on from the tip, jaw at nine poses: opposing teeth, flesh less what it yields, and what shows "
        "past the lips. Edges: skin that lengthens by less than rim_skin_strain in every pose, off the margins of "
        "lids, lips and nostrils, on strips as wide as a blend. Weight: what is left of mass and moment, with what is "
        "worn counted; the moment for a mass spread over the face as its skin is.",
        "Methods: shrinking ball (Ma, Bae & Choi 2012, doi 10.1007/s00371-011-0594-7); equal-area map of directions "
        "(Snyder 1987, USGS Professional Paper 1395, ch. 24); fast marching (Kimmel & Sethian 1998).",
    ),
    (
        "What it cannot tell you",
        "Many places share what sight, breath, mouth, mass and moment allow: each is said for a skin at its room "
        "everywhere, so one place alone may be higher. A hollow may be filled further than to where its outward lines "
        "cross: no check stops that, but heights along lines of their own end there. Forms that overhang, pieces "
        "stiffer than ordinary silicone, what motions that the file lacks bring together, and several motions at once "
        "are not seen. What a missing motion or landmark leaves unknown is said so and is never shown as free.",
    ),
    (
        "Caution",
        "A warning aid, never a clearance: sight, breath and load belong to the performer's own comfort, to licensed "
        "practitioners and to local rules.",
    ),
)


def explain_room(ascii_signs: bool = False) -> str:
    """Return what a room is, how it is measured and what it cannot tell, as plain text."""
    lines: list[str] = []
    for title, *paragraphs in ABOUT:
        lines += ([""] if lines else []) + [title]
        for paragraph in paragraphs:
            lines += textwrap.wrap(paragraph, WIDTH, initial_indent="  ", subsequent_indent="  ")
    text = "\n".join(lines) + "\n"
    return ascii_only(text) if ascii_signs else text


def said_mm(value: float) -> str:
    """Return a height in words, for instance ``18 mm``; what is not known is said so."""
    if math.isnan(value):
        return "not known"
    if value >= REACH_MM:
        return f"{REACH_MM:.0f} mm and more"
    return f"{value:.0f} mm" if value >= 9.95 else f"{value:.1f} mm"


def said_region(region: Region, room: Room) -> str:
    """Return what a region allows, for instance ``brow: up to 18 mm, stopped by sight downward``."""
    if math.isnan(region.most_mm):
        return f"{region.name}: not known"
    stop = room.words_of(region.at_most)
    most = f"up to {said_mm(region.most_mm)}" + (f", stopped by {stop}" if stop else "")
    common = room.words_of(region.stop)
    usual = f"mostly {said_mm(region.usual_mm)}" + (f" ({common})" if common and common != stop else "")
    least = "" if region.least_mm > LITTLE_MM else "; nothing in places"
    unknown = f"; {100.0 * region.unknown_share:.0f} % not known" if region.unknown_share > 0.005 else ""
    same = region.most_mm - region.usual_mm < LITTLE_MM
    return f"{region.name}: {most}{'' if same else f'; {usual}'}{least}{unknown}"


def said_tooth(tooth: ToothRoom) -> str:
    """Return how much longer a tooth may become."""
    if math.isnan(tooth.longer_mm):
        return f"{tooth.name}: not known"
    if tooth.longer_mm >= LONGEST_MM:
        return f"{tooth.name}: {LONGEST_MM:.0f} mm longer and more"
    return f"{tooth.name}: {tooth.longer_mm:.1f} mm longer, until {tooth.stop}"


def said_rim(rim: SuggestedRim) -> str:
    """Return how a drawn rim may lie."""
    if rim.why:
        return f"{rim.name}: {rim.why}"
    lost = 100.0 * rim.lost_share
    if lost > 99.5:
        return f"{rim.name}: no skin within {NEAR_MM:.0f} mm of it allows an edge"
    kept = f"{100.0 * rim.kept_share:.0f} % may stay as drawn, the rest moves by up to {said_mm(rim.furthest_mm)}"
    words = "may stay as drawn" if rim.kept_share > 0.995 else kept
    gap = f"; no skin within {NEAR_MM:.0f} mm of {max(lost, 1.0):.0f} % of it allows an edge" if lost > 0.0 else ""
    return f"{rim.name}: {words}{gap}"


def room_sentences(room: Room) -> dict[str, list[str]]:
    """Return what a room says, a sentence each: of regions, teeth, the weight that is left, and what is not known."""
    teeth = [said_tooth(tooth) for tooth in (*room.teeth.teeth, *room.teeth.slabs)]
    return {
        "regions": [said_region(region, room) for region in room.regions],
        "teeth": [*teeth, *([room.teeth.why] if room.teeth.why else [])],
        "rims": [said_rim(rim) for rim in room.rims],
        "weight": _weight_sentences(room),
        "notes": [why for why in (*room.reasons, room.edges.why, *room.notes) if why],
    }


def room_summary(room: Room) -> str:
    """Return a room as text for a terminal."""
    return "\n".join(_summary_lines(room)) + "\n"


def _weight_sentences(room: Room) -> list[str]:
    """Return what is left in each material; a cause that they share is said once."""
    causes = list(dict.fromkeys(left.why for left in room.weights if left.why))
    if len(causes) == 1 and all(math.isnan(left.volume_cm3) for left in room.weights):
        return [f"Not known: {causes[0]}"]
    return [f"{left.material}: {_cm3(left.volume_cm3)}" for left in room.weights] + causes


def _summary_lines(room: Room) -> Iterator[str]:
    said = room_sentences(room)
    yield f"{capital(room.name)}: room to sculpt"
    yield from (f"  {sentence}" for sentence in said["regions"])
    for title, sentences in (("Teeth", said["teeth"]), ("Rims", said["rims"]), ("Weight left", said["weight"])):
        yield from [title, *(f"  {sentence}" for sentence in sentences)] if sentences else []
    yield from (f"Note: {sentence}" for sentence in said["notes"])


def _cm3(volume: float) -> str:
    return "not known" if math.isnan(volume) else f"{volume:.0f} cm3"
