"""What was worked out on the base of the last design, kept for the next one on it: many variants, one scan."""

from __future__ import annotations

from threading import Lock
from typing import TypeVar

from ..geometry import Surface
from ..model.arrays import FloatArray, IntArray
from ..model.content import HasContent
from ..model.kept_answers import KeptAnswers

Head = TypeVar("Head", bound=HasContent)

HEAD_MB = 100.0
"""Memory that kept answers about the bare head may take: with 140,000 triangles and five motions they take 60 MB."""


class IndexedBases:
    """Keeps one base's index and one bare head, with all that was worked out on them, found again by content.

    Safe to ask from several threads.

    Parameters
    ----------
    answers
        Answers kept by content, shared with whoever else has them; None for new ones.
    of_heads
        The same about bare heads.
    """

    def __init__(self, answers: KeptAnswers | None = None, of_heads: KeptAnswers | None = None) -> None:
        self.built = 0
        self.answers = answers or KeptAnswers()
        # those about the head are few and serve every design on it: theirs do not push them out
        self.of_heads = of_heads or KeptAnswers(HEAD_MB, self.answers.contents)
        self._lock = Lock()
        self._content = b""
        self._surface: Surface | None = None
        self._head: HasContent | None = None
        self._lanes: dict[int, IndexedBases] = {}

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

    def of_lane(self, number: int) -> IndexedBases:
        """Return the bases of another thread: a head of its own, whose surfaces it moves, and the same answers."""
        with self._lock:
            if number not in self._lanes:
                self._lanes[number] = IndexedBases(self.answers, self.of_heads)
            return self._lanes[number]
