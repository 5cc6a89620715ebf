"""What a motion has to know of a design; a fitting offers it."""

from typing import Protocol

from ..geometry import Surface
from ..geometry.binding import Binding
from ..model.brief import Brief, HingeBrief
from ..model.snapshot import Part, Snapshot
from .motion.jaw_field import JawField
from .motion.mandible import Mandible


class PosableDesign(Protocol):
    """A design whose surfaces are indexed and whose pieces are bound to the base."""

    @property
    def snapshot(self) -> Snapshot:
        """The design."""

    @property
    def brief(self) -> Brief:
        """The brief it is measured against."""

    @property
    def base(self) -> Part:
        """The performer's scan."""

    @property
    def base_surface(self) -> Surface:
        """The base at rest, indexed, facing outward."""

    @property
    def mandible(self) -> Mandible | None:
        """The path of the lower jaw, or None where no motion shows one."""

    def surface(self, part: Part) -> Surface:
        """Return the part at rest, indexed."""

    def gap_mm(self, part: Part, other: Part) -> float:
        """Return how near a part comes to another at rest, mm: its nearest vertex."""

    def binding(self, part: Part) -> Binding:
        """Return how a part without keys is bound to the base."""

    def jaw_field(self, stated: HingeBrief) -> JawField:
        """Return how much of a hinge's turn each point of the base takes."""
