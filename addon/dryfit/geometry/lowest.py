"""The lowest of many values that change a few at a time, without looking at all of them again."""

import numpy as np

from ..model.arrays import FloatArray, IntArray
from .rows import row_lows

BLOCK = 1024


class Lowest:
    """Keeps the lowest value of each block of ``BLOCK`` values.

    Parameters
    ----------
    values
        ``(n,)``; nan never counts.
    """

    def __init__(self, values: FloatArray) -> None:
        blocks = -(-len(values) // BLOCK)
        self._values = np.full((blocks, BLOCK), np.inf)
        self._values.ravel()[: len(values)] = np.where(np.isnan(values), np.inf, values)
        self._lows = row_lows(self._values)

    def change(self, which: IntArray, values: FloatArray) -> None:
        """Give the values at ``which`` ``(k,)`` the new ``values`` ``(k,)``; nan never counts."""
        self._values.ravel()[which] = np.where(np.isnan(values), np.inf, values)
        touched = np.zeros(len(self._lows), bool)
        touched[which // BLOCK] = True
        self._lows[touched] = row_lows(self._values[touched])

    @property
    def value(self) -> float:
        """The lowest of all; infinity where there is none."""
        return float(self._lows.min(initial=np.inf))
