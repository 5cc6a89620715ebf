"""Which landmarks an answer rests on, and whether they can carry it."""

from collections.abc import Iterator, Sequence

from ..model.arrays import FloatArray
from ..model.finding import Severity
from .fitting import Fitting
from .landmarks.doubt import Doubt
from .motion.base_motion import stated_excursion, stated_hinge
from .motion.hinge import HINGE_LANDMARKS
from .mouth.line import MOUTH_LANDMARKS

MOUTH = MOUTH_LANDMARKS
FRAME = ("tragion_left", "tragion_right", "exocanthion_left", "exocanthion_right", "sellion", "gnathion")
"""What first tells left, front and up."""
EYES = ("pupil_left", "pupil_right", "endocanthion_left", "endocanthion_right", "exocanthion_left", "exocanthion_right")
NOSE = ("alare_left", "alare_right", "subnasale", "pronasale")
EARS = ("tragion_left", "tragion_right")


def rests_on(fitting: Fitting, named: Sequence[str], moves: bool) -> tuple[str, ...]:
    """Return which landmarks of a design an answer rests on, each once.

    Parameters
    ----------
    fitting
        The design.
    named
        Those that the question itself is built on.
    moves
        Whether it also looks at motions: a jaw on a hinge or in an excursion is built on the hinge's landmarks.
    """
    all_named = (*named, *(HINGE_LANDMARKS if moves and _on_a_hinge(fitting) else ()))
    return tuple(name for name in dict.fromkeys(all_named) if name in fitting.snapshot.landmarks)


def _on_a_hinge(fitting: Fitting) -> bool:
    snapshot, brief = fitting.snapshot, fitting.brief
    return any(
        stated_hinge(snapshot, brief, name) or stated_excursion(snapshot, brief, name) for name in fitting.motion_names
    )


def impossible_doubts(fitting: Fitting, names: Sequence[str]) -> tuple[Doubt, ...]:
    """Return the doubts that leave nothing to be measured from some landmarks."""
    return tuple(doubt for doubt in fitting.landmark_doubts if doubt.impossible and {*doubt.names} & {*names})


def grave_doubts(fitting: Fitting, names: Sequence[str]) -> tuple[Doubt, ...]:
    """Return the doubts for which an answer that rests on some landmarks is to be looked at."""
    grave = (doubt for doubt in fitting.landmark_doubts if doubt.severity != Severity.INFO)
    return tuple(doubt for doubt in grave if {*doubt.names} & {*names})


def proposed(fitting: Fitting, names: Sequence[str]) -> Iterator[tuple[str, float, FloatArray]]:
    """Yield those of some landmarks that nobody confirmed, each with the error to reckon with, mm, and its place."""
    for name in names:
        if name in fitting.snapshot.proposed:
            yield name, fitting.snapshot.proposed[name], fitting.snapshot.landmarks[name]
