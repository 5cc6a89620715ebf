"""The type of a pose: where some points are at any t of a motion."""

from collections.abc import Callable

from ...model.arrays import FloatArray

Posed = Callable[[float], FloatArray]
"""``t -> (k, 3)`` mm."""


def remembering(posed: Posed, count: int = 1) -> Posed:
    """Return the same pose function, keeping its last answers: several questions are asked at each t in turn."""
    last: dict[float, FloatArray] = {}

    def at(t: float) -> FloatArray:
        answer = last.get(t)
        if answer is None:
            answer = posed(t)
            for oldest in [*last][: len(last) - count + 1]:
                last.pop(oldest, None)
            last[t] = answer
        return answer

    return at
