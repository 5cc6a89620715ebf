"""Answers kept by the content of what was asked: the same question of the same values is worked out once."""

import time
from collections import Counter, OrderedDict
from collections.abc import Callable, Iterator, Mapping
from threading import Lock
from typing import Any, ParamSpec, TypeVar

import numpy as np

from .answer_folder import AnswerFolder, shared_folder
from .content import Contents
from .progress import Job

Asked = ParamSpec("Asked")
Answer = TypeVar("Answer")

OWN_MB = 16.0
"""Memory that kept answers may take where there is only one design: what it asks more than once."""
SHARED_MB = 400.0
"""The same where the next design is asked too: a full one takes 250 to 400 MB."""
LARGEST_SHARE = 0.25
"""One answer that takes more of it than this is not kept."""


class KeptAnswers:
    """What functions gave, found again by the content of their arguments.

    Only for functions that look at nothing but their arguments. Arrays in their answers are frozen: whoever changes
    one gets an error, and not another design's figures. What was not asked for the longest time goes first when memory
    runs out; what several answers hold counts once. Safe to ask from several threads.

    Parameters
    ----------
    most_mb
        Memory that the answers may take together; 0 keeps none.
    contents
        Digests shared with whoever else has them; None for new ones.
    folder
        Gives the folder that answers are looked for and written in as well, asked each time.
    """

    def __init__(
        self,
        most_mb: float = OWN_MB,
        contents: Contents | None = None,
        folder: Callable[[], AnswerFolder | None] = shared_folder,
    ) -> None:
        self.contents = contents or Contents()
        self.worked_out = 0
        self.taken = 0
        self._most_bytes = most_mb * 1e6
        self._folder = folder
        self._lock = Lock()
        self._bytes = 0
        self._answers: OrderedDict[bytes, tuple[Any, list[object]]] = OrderedDict()
        self._held: Counter[int] = Counter()

    def of(self, find: Callable[Asked, Answer], *asked: Asked.args, **named: Asked.kwargs) -> Answer:
        """Return what ``find`` gives for its arguments, worked out only where that is not known.

        Raises
        ------
        TypeError
            When the content of an argument is not known.
        """
        key = self.contents.of(find.__module__, find.__qualname__, asked, named)
        kept = self.recall(key)
        if kept is None:
            started = time.perf_counter()
            kept = (find(*asked, **named),)
            self.keep(key, kept[0], time.perf_counter() - started)
        answer: Answer = kept[0]
        return answer

    def job(self, find: Callable[Asked, Job[Answer]], *asked: Asked.args, **named: Asked.kwargs) -> Job[Answer]:
        """Return what a long search gives for its arguments, searched for only where that is not known.

        Raises
        ------
        TypeError
            When the content of an argument is not known.
        """
        key = self.contents.of(find.__module__, find.__qualname__, asked, named)
        kept = self.recall(key)
        if kept is None:
            started = time.perf_counter()
            kept = ((yield from find(*asked, **named)),)
            self.keep(key, kept[0], time.perf_counter() - started)
        answer: Answer = kept[0]
        return answer

    def recall(self, key: bytes) -> tuple[Any] | None:
        """Return what was kept under a key, in a tuple of its own; None where nothing was."""
        with self._lock:
            if key in self._answers:
                self._answers.move_to_end(key)
                self.taken += 1
                return (self._answers[key][0],)
        folder = self._folder()
        read = folder.read(key) if folder else None
        if read is not None:
            with self._lock:
                self.taken += 1
            self._hold(key, read[0])
        return read

    def keep(self, key: bytes, answer: object, seconds: float = 0.0) -> None:
        """Keep an answer under a key, which has to cover all that it depends on; its arrays are frozen.

        Parameters
        ----------
        key, answer
            As ``recall`` will have them.
        seconds
            What it took to work out; what took long is written to the folder too.
        """
        with self._lock:
            self.worked_out += 1
        self._hold(key, answer)
        folder = self._folder()
        if folder:
            folder.write(key, answer, seconds)

    def _hold(self, key: bytes, answer: object) -> None:
        made_of = [*_all_in(answer)]
        for one in made_of:
            if isinstance(one, np.ndarray):
                one.setflags(write=False)
        with self._lock:
            if key in self._answers or sum(map(_own_bytes, made_of)) > LARGEST_SHARE * self._most_bytes:
                return
            self._answers[key] = answer, made_of
            for one in made_of:
                self._bytes += 0 if self._held[id(one)] else _own_bytes(one)
                self._held[id(one)] += 1
            while self._bytes > self._most_bytes:
                self._let_go(*self._answers.popitem(last=False)[1])

    def _let_go(self, _answer: object, made_of: list[object]) -> None:
        """Count an answer out; what others are made of too stays. The answer itself lives until this is done."""
        for one in made_of:
            self._held[id(one)] -= 1
            if not self._held[id(one)]:
                del self._held[id(one)]
                self._bytes -= _own_bytes(one)


def answered(
    kept: KeptAnswers | None, find: Callable[Asked, Answer], *asked: Asked.args, **named: Asked.kwargs
) -> Answer:
    """Return what ``find`` gives for its arguments: from what is kept, or worked out where nothing is kept."""
    return find(*asked, **named) if kept is None else kept.of(find, *asked, **named)


def size_bytes(value: object) -> int:
    """Return about how much memory a value takes, bytes; what it holds twice counts once."""
    return sum(map(_own_bytes, _all_in(value)))


def _all_in(value: object) -> Iterator[object]:
    """Yield a value and all that it holds, each once."""
    seen, todo = set(), [value]
    while todo:
        one = todo.pop()
        if id(one) not in seen:
            seen.add(id(one))
            todo.extend(_held(one))
            yield one


def _own_bytes(value: object) -> int:
    return value.nbytes if isinstance(value, np.ndarray) else 64 + int(getattr(value, "index_bytes", 0))


def _held(value: object) -> list[object]:
    if isinstance(value, Mapping):
        return [*value.values()]
    if isinstance(value, (tuple, list, set, frozenset)):
        return [*value]
    return (
        [] if isinstance(value, (type, np.ndarray)) or callable(value) else [*getattr(value, "__dict__", {}).values()]
    )
