"""How sentences are put together from their parts, so that none has to be changed once it is finished."""

BETWEEN = " / "
"""Stands between two names that a measure gives as one text."""


MOST_QUOTED = 120
"""So many letters of what a file holds stand in a sentence about it."""


def quoted(words: str) -> str:
    """Return a file's own words as a sentence quotes them: cut off where they are long, with how long they are.

    Examples
    --------
    >>> quoted("lip" * 100).replace("lip" * 40, "lip ... ")
    'lip ... … (300 letters)'
    """
    return words if len(words) <= MOST_QUOTED else f"{words[:MOST_QUOTED]}… ({len(words)} letters)"


def capital(words: str) -> str:
    """Return words as a sentence begins: the first letter large, the others as they are."""
    return words[:1].upper() + words[1:]


def paired(first: str, second: str) -> str:
    """Return two names as a measure gives them, as ``pair_names`` reads them."""
    return first + BETWEEN + second


def pair_names(pair: object) -> tuple[str, str] | None:
    """Return the two names of a measure, or None where it names no pair."""
    first, found, second = str(pair or "").partition(BETWEEN)
    return (first, second) if found else None
