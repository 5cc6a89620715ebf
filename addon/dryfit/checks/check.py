"""What a check is: a question, a way to measure it, and an honest explanation."""

from collections.abc import Callable
from dataclasses import dataclass

from ..model.brief import Brief
from ..model.finding import Outcome
from ..model.progress import Job
from ..performer.fitting import Fitting

Measure = Callable[[Fitting, Brief], Job[Outcome]]


@dataclass(frozen=True)
class Check:
    """One question asked of a design.

    Attributes
    ----------
    id
        Stable name, as in reports and on the command line.
    question
        What it asks, in a user's words.
    measure
        A generator of ``Progress`` that returns an ``Outcome``.
    measured
        What the measures mean, one line each: ``(measure, words with unit)``.
    method
        How it is measured, with the papers the method comes from.
    limits
        Names of the limits it compares with.
    blind_spots
        What it cannot see.
    material_figures
        Names of the figures of a piece's material that it compares with.
    of_base
        Whether it asks about the base itself, which every other check measures against.
    caution
        The safety caution that goes with every output of it, or ``""``.
    """

    id: str
    question: str
    measure: Measure
    measured: tuple[tuple[str, str], ...]
    method: str
    limits: tuple[str, ...]
    blind_spots: str
    caution: str = ""
    material_figures: tuple[str, ...] = ()
    of_base: bool = False
