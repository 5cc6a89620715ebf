"""What was worked out on the base of the last design, kept for the next one on it: many variants, one scan."""

from threading import Lock
from typing import TypeVar

from ..geometry import Surface
from ..model.arrays import FloatArray, IntArray
from ..model.content import HasContent
from ..model.kept_answers import KeptAnswers

Head = TypeVar("Head", bound=HasContent)


class IndexedBases:
    """Keeps one base's index and one bare head, with all that was worked out on them, found again by content.

    Safe to ask from several threads.

    Parameters
    ----------
    answers
        Answers kept by content, shared with whoever else has them; None for new ones.
    """

    def __init__(self, answers: KeptAnswers | None = None) -> None:
        self.built = 0
        self.answers = answers or KeptAnswers()
        self._lock = Lock()
        self._content = b""
        self._surface: Surface | None = None
        self._head: HasContent | None = None

    def surface(self, vertices_mm: FloatArray, faces: IntArray) -> Surface:
        """Return the indexed surface; it must not be refitted.

        Parameters
        ----------
        vertices_mm
            ``(n, 3)``, mm.
        faces
            ``(m, 3)``.

        Raises
        ------
        NoSurface, BadFaces, NotFinite
            As ``Surface``.
        """
        content = self.answers.contents.of(vertices_mm, faces)
        with self._lock:
            if self._surface is None or content != self._content:
                self._surface, self._content = Surface(vertices_mm, faces), content
                self.built += 1
            return self._surface

    def known_head(self, head: Head) -> Head:
        """Return the bare head that was kept where it is the same as this one, else keep this one."""
        with self._lock:
            if isinstance(self._head, type(head)) and self._head.content == head.content:
                return self._head
            self._head = head
            return head
