"""How much tooth faces show at rest, by age: published means."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Norm:
    """Mean display of the central incisors at rest in one age group, mm; negative where the lip hangs below them.

    Attributes
    ----------
    ages
        The group in words.
    from_years, middle_years
        Its first year, and the age at which a plot puts it.
    upper_mm, lower_mm
        Means of the upper and the lower central incisor.
    """

    ages: str
    from_years: float
    middle_years: float
    upper_mm: float
    lower_mm: float

    def mean_mm(self, upper: bool) -> float:
        """Return the mean of the upper or of the lower teeth, mm."""
        return self.upper_mm if upper else self.lower_mm


NORMS = (
    Norm("up to 29", 0.0, 22.0, 3.37, 0.51),
    Norm("30 to 39", 30.0, 35.0, 1.58, 0.80),
    Norm("40 to 49", 40.0, 45.0, 0.95, 1.96),
    Norm("50 to 59", 50.0, 55.0, 0.46, 2.44),
    Norm("60 and over", 60.0, 65.0, -0.04, 2.95),
)
"""Ascending by age: Vig & Brundo 1978, J Prosthet Dent 39:502-504 (from memory)."""


def norm_at(age_years: float) -> Norm:
    """Return the group that an age belongs to.

    Raises
    ------
    ValueError
        When the age is not over zero.
    """
    if not age_years > 0.0:
        raise ValueError(f"an age is over zero, not {age_years}")
    return next(norm for norm in reversed(NORMS) if age_years >= norm.from_years)
