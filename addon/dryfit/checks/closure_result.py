"""Everything one closing of one mouth came to, for findings, figures and paint."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from ..model.brief import Brief
from ..model.snapshot import Role
from .closing import Closing, Mouth
from .contact import Watch
from .fitting import Fitting
from .lips import GapProfile
from .poses import Poses
from .shortening import Excess, excesses


@dataclass(frozen=True)
class ClosureResult:
    """How a mouth closed, with what it is held against.

    Attributes
    ----------
    fitting, brief, poses, mouth
        What was closed.
    closing
        How it went.
    bare_rest, bare_wide
        The bare base's gap closed and wide open.
    """

    fitting: Fitting
    brief: Brief
    poses: Poses
    mouth: Mouth
    closing: Closing
    bare_rest: GapProfile
    bare_wide: GapProfile

    @property
    def wide(self) -> GapProfile:
        """The design's gap wide open."""
        return self.closing.profiles[0]

    @property
    def blocked(self) -> bool:
        """Whether something stopped the jaw on its way, before the lips met."""
        contact = self.closing.contact
        return contact is not None and contact.t > 0.0 and not self.closing.sealed

    @cached_property
    def excesses(self) -> tuple[Excess, ...]:
        """What each piece that is in the way must lose with the jaw closed, the largest first, each piece once."""
        found = [excess for watch in self.mouth.watches for excess in self._of(watch)]
        kept: dict[tuple[str, str], Excess] = {}
        for excess in sorted(found, key=lambda entry: (-entry.shorten_mm, entry.piece)):
            kept.setdefault((excess.part_name, excess.piece), excess)
        return tuple(kept.values())

    def _of(self, watch: Watch) -> list[Excess]:
        part = watch.pair.first.part
        up = self.mouth.lips.frame.up
        toward = -up if part is not None and part.role == Role.UPPER_TEETH else up
        if self.closing.contact is None or not self.mouth.pressed(watch, 0.0).any():
            return []
        poses = [profile.t for profile in self.closing.profiles if 0.0 <= profile.t <= self.closing.contact.t]
        return excesses(watch, poses, toward, self.brief.limits.contact_mm)
