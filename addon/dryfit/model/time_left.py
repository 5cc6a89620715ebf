"""How long a job will still take, from the pace of its last steps."""

import time
from collections import deque
from collections.abc import Callable

PACE_STEPS = 40
"""Steps that the pace is taken from: results kept from an earlier run, which take no time, are soon forgotten."""
SHORT_S = 10.0
"""Nothing is said of a job before it has run for this long."""


class TimeLeft:
    """Watches a job's progress and says how long it will still take.

    Parameters
    ----------
    clock
        Seconds that never go back.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._started = clock()
        self._steps = deque([(self._started, 0.0)], maxlen=PACE_STEPS)

    def words_at(self, fraction: float) -> str:
        """Return words such as ``about 12 min left``, or ``""`` where it is too early to tell.

        Parameters
        ----------
        fraction
            Share that is finished, 0 to 1.
        """
        now = self._clock()
        then, before = self._steps[0]
        self._steps.append((now, fraction))
        if now - self._started < SHORT_S or fraction <= before or fraction >= 1.0:
            return ""
        return f"about {in_words((1.0 - fraction) * (now - then) / (fraction - before))} left"


def in_words(seconds: float) -> str:
    """Return a length of time in the one unit that suits it."""
    if seconds < 90.0:
        return f"{max(1.0, seconds):.0f} s"
    return f"{seconds / 60.0:.0f} min" if seconds < 90.0 * 60.0 else f"{seconds / 3600.0:.1f} h"
