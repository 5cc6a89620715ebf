"""The lips of one head and of what is worn on it, found once for every question about them."""

from ...model.snapshot import TISSUE, Part
from ..fitting import Fitting
from ..motion.base_motion import JAW
from .edges import FacingEdges
from .lip_skin import Sides, sides
from .lips import BareLines, GapProfile, Lips
from .mouth_skin import MouthSkin

BothEdges = tuple[FacingEdges, FacingEdges]


def bare_lips(fitting: Fitting) -> Lips:
    """Return the bare head's lips, the same ones for every design on it.

    Raises
    ------
    NoMotion
        When there is no motion of the jaw.
    KeyError
        When a landmark of the mouth is missing; ask ``missing_landmarks`` first.
    """
    head = fitting.head
    return head.found(bare_lips, lambda: _bare(head))


def _bare(head: Fitting) -> Lips:
    lips = Lips(head, head.poses(JAW), (head.base,))
    lips.known_lines = lambda: head.kept.of(_bare_lines, head)
    return lips


def _bare_lines(head: Fitting) -> BareLines:
    return bare_lips(head).find_bare_lines()


def worn_lips(fitting: Fitting) -> Lips:
    """Return the lips of a design; which skin faces which is looked for again only where worn skin changed there.

    Raises
    ------
    NoMotion, KeyError
        As for ``bare_lips``.
    """
    return fitting.found(worn_lips, lambda: _worn(fitting))


def _worn(fitting: Fitting) -> Lips:
    lips = bare_lips(fitting).wearing(fitting.snapshot.with_role(*TISSUE), fitting, fitting.poses(JAW))
    lips.known_sides = lambda part: fitting.kept.of(_sides, part, _with_alone(fitting, part))
    lips.edges = fitting.kept.of(_facing_edges, fitting.head, lips.worn_skins)
    if lips.edges is not None:
        edges, carrying = lips.edges, fitting.among(*_carrying(fitting, lips.edges))
        lips.known_profile = lambda t: fitting.kept.of(_profile, carrying, edges, t)
    return lips


def _with_alone(fitting: Fitting, part: Part) -> Fitting:
    return fitting.head if part.name == fitting.base.name else fitting.alone(part)


def _sides(part: Part, alone: Fitting) -> Sides:
    return sides(alone.poses(JAW), bare_lips(alone).line, part)


def _carrying(fitting: Fitting, edges: BothEdges) -> list[Part]:
    """Return the worn parts that some of the edges are on."""
    names = {carrier.part for each in edges for carrier in each.carriers}
    return [part for part in fitting.snapshot.with_role(*TISSUE) if part.name in names - {fitting.base.name}]


def _profile(carrying: Fitting, edges: BothEdges, t: float) -> GapProfile:
    """Return the gap between edges that are known, at ``t``: it depends on nothing but what carries them."""
    return carrying.found((_profile, id(edges)), lambda: _with_edges(carrying, edges)).read_profile(t)


def _with_edges(carrying: Fitting, edges: BothEdges) -> Lips:
    lips = bare_lips(carrying).wearing(carrying.snapshot.with_role(*TISSUE), carrying, carrying.poses(JAW))
    lips.edges = edges
    return lips


def _facing_edges(head: Fitting, worn: tuple[MouthSkin, ...]) -> BothEdges | None:
    return bare_lips(head).edges_over(worn)
