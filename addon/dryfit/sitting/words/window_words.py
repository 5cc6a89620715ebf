"""What checks say, in the words of a window: no tables of a file, no commands, no names that only scripts use.

A check says its reason once, for every reader; the parts that tell someone at a terminal what to type are left out
here, because a button stands there instead.
"""

import re
from collections.abc import Mapping
from types import MappingProxyType

from ...model.sentences import capital
from ...model.snapshot import LANDMARKS, Role
from .landmark_words import landmark_word
from .role_words import ROLE_WORDS

TYPED: Mapping[str, str] = MappingProxyType(
    {
        r"\s*\((?:set object\[|sidebar, or)[^)]*\)": "",
        r":\s*set object\[\"\w+\"\][^.]*": "",
        r"\bunder \[motions\.(\w+)\](?: hinge = \{\})? in the brief": r"for the motion \1",
        r"\bunder \[motions\] in the brief": "for a motion",
        r"\bunder \[(\w+)\] in the brief": r"for the \1",
        r"[:;,]? (?:[Aa]dd|or add|and) the landmarks? [^.]*\.": ".",
        r"(?:^|(?<=\. ))Add the landmarks? [^.]*\.": "",
    }
)
"""Something typed, as a pattern -> what stands for it in a window."""
CODE = re.compile(r"\[\w+[.\]]|object\[|`|= \{|--\w|\bdryfit \w+ FILE|\bdryfit_\w+")
"""What is left of something typed."""
SENTENCE = re.compile(r"(?<=[.!?])\s+(?=[A-Z'])")
_NAMES = sorted((*LANDMARKS, *(str(role) for role in Role if "_" in role)), key=len, reverse=True)
QUOTED = re.compile(rf"'({'|'.join(str(role) for role in Role)})'")
"""A role of one word as scripts name it: an ordinary word, so only in quotes."""
NAMES = re.compile(rf"'?\b({'|'.join(_NAMES)})\b'?")


def window_words(said: str) -> str:
    """Return what a check said without what is meant for a terminal; ``""`` where nothing else is left."""
    for pattern, words in TYPED.items():
        said = re.sub(pattern, words, said)
    said = said.replace("..", ".")
    kept = [sentence for sentence in SENTENCE.split(said) if not CODE.search(sentence)]
    return capital(NAMES.sub(_plain_name, QUOTED.sub(_plain_name, " ".join(kept))).strip())


def _plain_name(found: "re.Match[str]") -> str:
    name = found[1]
    if name in ROLE_WORDS:
        return ROLE_WORDS[name]
    words = landmark_word(name)
    return words[0].lower() + words[1:]
