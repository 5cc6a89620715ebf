"""How much tooth people show with the lips at rest, by age and sex: published means, on whom, and how they scatter."""

from collections.abc import Iterator
from dataclasses import dataclass

WOMEN, MEN = "woman", "man"
CENTRAL_INCISOR = 1
"""The place in the row, counted from the midline, of the only tooth that the publications measured."""


@dataclass(frozen=True)
class Norm:
    """What one publication measured on one group: central incisors, lips at rest, seen from the front.

    Attributes
    ----------
    people
        Who they were, in words, with the publication.
    sex
        ``woman`` or ``man``.
    from_years, to_years
        The ages that the group covers; ``to_years`` is not in it.
    upper
        Whether it is about the upper teeth.
    mean_mm
        Mean display.
    scatter_mm
        The standard deviation in the same group; None where only the mean was seen.
    """

    people: str
    sex: str
    from_years: float
    to_years: float
    upper: bool
    mean_mm: float
    scatter_mm: float | None = None

    def covers(self, age_years: float, sex: str, upper: bool) -> bool:
        """Tell whether it is about people of this age and sex (``""``: either) and about this row of teeth."""
        return self.upper == upper and sex in ("", self.sex) and self.from_years <= age_years < self.to_years


MOTTA = "white Brazilian {} (30 of each sex; da Motta et al. 2010, Aust Orthod J 26:27-32)"
TURKS = "Turkish {} of 20-27 years (Scientific World Journal 2013, 806203, table 2)"
BAGHDAD = "{} of 16-70 years, all ages together (J Bagh Coll Dent 2009, 21(1))"
GIRLS, BOYS = MOTTA.format("girls of 12-15"), MOTTA.format("boys of 12-15")
OLDER_WOMEN, OLDER_MEN = MOTTA.format("women from 51 on"), MOTTA.format("men from 51 on")
NORMS = (
    Norm(GIRLS, WOMEN, 12.0, 16.0, True, 4.45),
    Norm(BOYS, MEN, 12.0, 16.0, True, 3.35),
    Norm(GIRLS, WOMEN, 12.0, 16.0, False, 0.47),
    Norm(BOYS, MEN, 12.0, 16.0, False, 0.61),
    Norm(BAGHDAD.format("women"), WOMEN, 16.0, 20.0, True, 2.68, 1.80),
    Norm(BAGHDAD.format("men"), MEN, 16.0, 20.0, True, 1.38, 1.41),
    Norm(TURKS.format("women"), WOMEN, 20.0, 28.0, True, 3.2, 1.9),
    Norm(TURKS.format("men"), MEN, 20.0, 28.0, True, 2.7, 1.8),
    Norm(BAGHDAD.format("women"), WOMEN, 28.0, 51.0, True, 2.68, 1.80),
    Norm(BAGHDAD.format("men"), MEN, 28.0, 51.0, True, 1.38, 1.41),
    Norm(OLDER_WOMEN, WOMEN, 51.0, 120.0, True, 1.32),
    Norm(OLDER_MEN, MEN, 51.0, 120.0, True, 0.57),
    Norm(OLDER_WOMEN, WOMEN, 51.0, 120.0, False, 2.22),
    Norm(OLDER_MEN, MEN, 51.0, 120.0, False, 3.05),
)
"""Each age stands with the publication whose group is nearest to it; ages of one group read from two are split.

The figures of da Motta et al. are those of the abstract, which states no scatter and not the groups between 16 and 50.
"""


def norms_for(age_years: float, sex: str, upper: bool) -> tuple[Norm, ...]:
    """Return the norms about people of this age and sex (``""``: not stated, so either); none where nobody measured.

    Raises
    ------
    ValueError
        When the age is not over zero.
    """
    if not age_years > 0.0:
        raise ValueError(f"an age is over zero, not {age_years}")
    return tuple(norm for norm in NORMS if norm.covers(age_years, sex, upper))


def norm_for(age_years: float, sex: str, upper: bool) -> Norm | None:
    """Return the norm to hold a display against: where the sex is not stated, that of those who show more.

    Raises
    ------
    ValueError
        When the age is not over zero.
    """
    fitting = norms_for(age_years, sex, upper)
    return max(fitting, key=lambda norm: norm.mean_mm) if fitting else None


def means_by_age(upper: bool) -> Iterator[tuple[float, float]]:
    """Yield the middle of each group's ages, years, and the mean of both sexes, mm; ascending."""
    for group in sorted({(norm.from_years, norm.to_years) for norm in NORMS if norm.upper == upper}):
        both = [norm.mean_mm for norm in NORMS if norm.upper == upper and (norm.from_years, norm.to_years) == group]
        yield 0.5 * (group[0] + min(group[1], 70.0)), sum(both) / len(both)
