"""What a check is: a question, a way to measure it, an honest explanation, and what of it is shown."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from fnmatch import fnmatchcase

from ..model.brief import Brief
from ..model.finding import Outcome
from ..model.progress import Job
from ..performer.fitting import Fitting

Measure = Callable[[Fitting, Brief], Job[Outcome]]


@dataclass(frozen=True)
class LeadingFigure:
    """A measure worth the front page, in short words, with its limit's name; ``at_least`` where more is better."""

    measure: str
    words: str = ""
    limit: str = ""
    at_least: bool = False


@dataclass(frozen=True)
class PlotLine:
    """A reference line in a plot: along ``x`` or ``y``, at a measure or a limit, with words.

    It goes over the whole plot, or, where it applies to a part of it only, up to ``until``: the name of a measure or a
    limit along the other axis.
    """

    axis: str
    source: str
    words: str
    until: str = ""


class Drawn(StrEnum):
    """How a curve is drawn."""

    OVER = "over"
    """Values over a straight axis."""
    ROUND = "round"
    """Degrees off straight ahead, round about, as the performer looks out: left is left, up is up."""
    SECTION = "section"
    """Heights over lengths, both to one scale, as a cut through a piece."""


@dataclass(frozen=True)
class Plotted:
    """How a curve is plotted; one that a check says nothing of is plotted under its own name.

    Attributes
    ----------
    curve
        The curve's name, without what tells its bare, sided or moving companions apart.
    title
        The plot's title.
    lines
        Reference lines.
    own_words
        What the curve itself is called where companions stand beside it.
    compared
        Whether a batch lays the variants' curves over each other.
    drawn
        How it is drawn.
    needs
        Measures of which one at least must be known; without any the plot has nothing to say and is left out.
    """

    curve: str
    title: str = ""
    lines: tuple[PlotLine, ...] = ()
    own_words: str = ""
    compared: bool = False
    drawn: Drawn = Drawn.OVER
    needs: tuple[str, ...] = ()


class MouthPictures(StrEnum):
    """Which plain pictures of the mouth go with a check."""

    NONE = "none"
    AT_REST = "at rest"
    """As it stands, where nothing of it is painted."""
    CLOSING = "closing"
    """Where the jaw stops, and wide open where its steps are not shown."""


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
    leading
        The few figures that stand for it, the first held against a limit before all.
    plots
        How its curves are plotted.
    yes_no
        Measures that say yes (1) or no (0); patterns may be given.
    mouth_pictures
        Which plain pictures of the mouth go with it.
    landmarks
        Names of the landmarks that its answer rests on, where the design has them.
    moves
        Whether it looks at motions, so that it rests on what they are made from as well.
    of_base
        Whether it asks about the base itself, which every other check measures against.
    caution
        The safety caution that goes with every output of it, or ``""``.
    painted
        The fields that it may yield, each with the words of a tooltip: ``(field, words)``. No two checks have the same.
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
    landmarks: tuple[str, ...] = ()
    moves: bool = False
    of_base: bool = False
    leading: tuple[LeadingFigure, ...] = ()
    plots: tuple[Plotted, ...] = ()
    yes_no: tuple[str, ...] = ()
    mouth_pictures: MouthPictures = MouthPictures.NONE
    painted: tuple[tuple[str, str], ...] = ()

    @property
    def leading_figure(self) -> LeadingFigure | None:
        """The one figure that stands for it: the first held against a limit, else the first; None without any."""
        return next((figure for figure in self.leading if figure.limit), self.leading[0] if self.leading else None)

    def says_yes_or_no(self, measure: str) -> bool:
        """Tell whether a measure is a yes or a no."""
        return any(fnmatchcase(measure, pattern) for pattern in self.yes_no)

    def plotted(self, curve: str) -> Plotted:
        """Return how a curve is plotted."""
        return next((plot for plot in self.plots if plot.curve == curve), Plotted(curve))
