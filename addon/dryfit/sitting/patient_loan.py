"""Properties changed for a while from another thread than the window's, and put back.

While Blender draws its window it forbids writing to the file, in every thread. A render's handlers run beside the
window in a thread of their own, so they wait for the drawing to end.
"""

import time
from collections.abc import Callable
from functools import partial

from ..scene.blender import BlenderData
from ..scene.borrowing import Borrowed

TRIES, PAUSE_SECONDS = 500, 0.01


class PatientLoan(Borrowed):
    """A context as ``Borrowed``, whose changes wait until Blender allows them."""

    def set(self, owner: BlenderData, attribute: str, value: object) -> None:
        """Set ``owner.attribute`` until the context ends.

        Raises
        ------
        AttributeError, TypeError
            When the owner does not take it, or Blender forbids it for five seconds; nothing is remembered then.
        """
        before = getattr(owner, attribute)
        if before == value:
            return
        patiently(partial(setattr, owner, attribute, value))
        self.callback(patiently, partial(setattr, owner, attribute, before))


def patiently(change: Callable[[], None]) -> None:
    """Make a change as soon as Blender allows it.

    Raises
    ------
    AttributeError
        When it is still not allowed after five seconds.
    """
    for _ in range(TRIES):
        try:
            change()
        except AttributeError:
            time.sleep(PAUSE_SECONDS)
        else:
            return
    change()
