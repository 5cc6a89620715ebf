"""The lips of one head and of what is worn on it, found once for every question about them."""

from ...model.snapshot import TISSUE
from ..fitting import Fitting
from ..motion.base_motion import JAW
from .edges import FacingEdges
from .lips import Lips
from .mouth_skin import MouthSkin


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
    return head.found(bare_lips, lambda: Lips(head, head.poses(JAW), (head.base,)))


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
    lips.edges = fitting.kept.of(_facing_edges, fitting.head, lips.worn_skins)
    return lips


def _facing_edges(head: Fitting, worn: tuple[MouthSkin, ...]) -> tuple[FacingEdges, FacingEdges] | None:
    return bare_lips(head).edges_over(worn)
