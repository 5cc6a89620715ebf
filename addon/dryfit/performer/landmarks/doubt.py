"""Something that looks wrong with some landmarks."""

from dataclasses import dataclass

from ...model.arrays import FloatArray
from ...model.finding import Severity


@dataclass(frozen=True)
class Doubt:
    """Something that looks wrong with some landmarks.

    Attributes
    ----------
    severity
        ``review`` where measures built on them cannot be trusted, ``info`` where a face may be unusual.
    names
        The landmarks meant.
    message
        What looks wrong, by how much.
    at_mm
        Where the first of them is, ``(3,)``.
    value_mm, limit_mm
        The figure and what it was held against.
    remedy
        What to do.
    impossible
        Whether no head has its landmarks so: nothing may be measured from these. Else it is merely unlikely.
    """

    severity: Severity
    names: tuple[str, ...]
    message: str
    at_mm: FloatArray
    value_mm: float
    limit_mm: float
    remedy: str
    impossible: bool = False
