"""Names of teeth from the two-digit notation of ISO 3950:2016, marked by vertex groups ``dryfit_tooth_33``."""

import numpy as np

from ..model.arrays import BoolArray, IntArray
from ..model.snapshot import Part, Role

GROUP = "dryfit_tooth_"
QUADRANTS = {1: "right upper", 2: "left upper", 3: "left lower", 4: "right lower"}
"""First digit: the performer's own quadrant."""
POSITIONS = {
    1: "central incisor",
    2: "lateral incisor",
    3: "canine",
    4: "first premolar",
    5: "second premolar",
    6: "first molar",
    7: "second molar",
    8: "third molar",
}
"""Second digit: counted from the midline."""


def tooth_name(number: int) -> str:
    """Return the words for a tooth, for instance 33 -> "left lower canine".

    A number that ISO 3950 does not give to a permanent tooth is called by its digits.
    """
    quadrant, position = divmod(number, 10)
    if quadrant in QUADRANTS and position in POSITIONS:
        return f"{QUADRANTS[quadrant]} {POSITIONS[position]}"
    return f"tooth {number}"


def teeth_of(part: Part) -> dict[int, BoolArray]:
    """Return which vertices belong to each marked tooth of a part: ISO 3950 number -> ``(n,)``, ascending."""
    marked = {}
    for name, weights in part.areas.items():
        digits = name.removeprefix(GROUP)
        if name.startswith(GROUP) and digits.isdigit():
            marked[int(digits)] = np.asarray(weights > 0.5)
    return dict(sorted(marked.items()))


def pieces_of(part: Part) -> list[tuple[str, IntArray]]:
    """Return the named pieces of a rigid part and their vertices: its marked teeth, then whatever is left."""
    marked = teeth_of(part)
    pieces: list[tuple[str, IntArray]]
    pieces = [(tooth_name(number), np.flatnonzero(inside)) for number, inside in marked.items() if inside.any()]
    claimed = np.any(list(marked.values()), axis=0) if marked else np.zeros(len(part.vertices_mm), bool)
    used = np.zeros(len(part.vertices_mm), bool)
    used[part.faces] = True
    rest = np.flatnonzero(used & ~claimed)
    if len(rest):
        pieces.append((plain_name(part), rest))
    return pieces


def plain_name(part: Part) -> str:
    """Return what a part is called in a sentence when no tooth of it is marked."""
    words = {Role.UPPER_TEETH: "upper teeth", Role.LOWER_TEETH: "lower teeth"}
    return f"{words[part.role]} '{part.name}'" if part.role in words else f"'{part.name}'"


def the(name: str, article: str = "the") -> str:
    """Return what a piece is called with its article: "the upper lip", and "'Bolt'", which takes none.

    Parameters
    ----------
    name
        As ``pieces_of`` and ``plain_name`` give it.
    article
        ``The`` where a sentence begins.
    """
    return name if name.startswith("'") else f"{article} {name}"


def piece_at(part: Part, vertex: int) -> str:
    """Return the name of the piece of a part that a vertex belongs to."""
    for number, inside in teeth_of(part).items():
        if inside[vertex]:
            return tooth_name(number)
    return plain_name(part)
