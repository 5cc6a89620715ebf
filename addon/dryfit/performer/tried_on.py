"""A design tried on its performer: settled with its brief, admitted, ready to be measured."""

from dataclasses import dataclass

from ..model.admission import admit
from ..model.adopting import settled, with_own_teeth
from ..model.brief import Brief
from ..model.snapshot import Snapshot
from .fitting import Fitting
from .indexed_bases import IndexedBases


@dataclass(frozen=True)
class Design:
    """One design that can be measured.

    Attributes
    ----------
    fitting
        The design on its base.
    own_notes
        What of the figures and motions that its file states itself counts, a sentence each; the snapshot has them too.
    """

    fitting: Fitting
    own_notes: tuple[str, ...] = ()

    @property
    def snapshot(self) -> Snapshot:
        """What is measured."""
        return self.fitting.snapshot

    @property
    def brief(self) -> Brief:
        """What it is held against."""
        return self.fitting.brief


def design_of(
    snapshot: Snapshot,
    brief: Brief,
    *,
    explicit: bool = False,
    bases: IndexedBases | None = None,
    bare: bool = False,
) -> Design:
    """Return the design that a snapshot holds, wherever that was read from.

    Parameters
    ----------
    snapshot
        As it was read, not yet admitted.
    brief
        What the design was read with.
    explicit
        Whether the user named the brief, so that it goes over figures that the design's own file states.
    bases
        Bases that were indexed for other designs; None where there are no others.
    bare
        Whether the head itself is asked about, so that nothing has to be worn on it.

    Raises
    ------
    UnknownKey, BadValue
        Naming the first figure of the file's own that means nothing.
    InputError
        When the snapshot cannot be measured at all; see ``model.admission.admit``.
    """
    adopted, noted = settled(brief, snapshot, explicit)
    bases = bases or IndexedBases()
    admitted = admit(with_own_teeth(noted, adopted), bare=bare, kept=bases.answers)
    return Design(Fitting(admitted, adopted, bases), noted.notes[len(snapshot.notes) :])
