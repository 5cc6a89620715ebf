"""What names of shape keys, bones, properties and actions say: ``EyeBlink_L`` is a blink, ``jaw_master`` the jaw.

A name counts only when nothing of it is left over: ``JawOpen_Smile`` is a corrective and ``jaw_forward`` no opening.
"""

import re
from collections.abc import Mapping
from functools import lru_cache

from ...performer.motion.base_motion import JAW

BLINK = "blink"
WORD = re.compile(r"[A-Z]+(?![a-z])|[A-Z]?[a-z]+")
SIDES = frozenset({"l", "r", "left", "right"})
NOISE = frozenset(
    {
        "action", "anim", "animation", "b", "bind", "bone", "c", "char", "character", "con", "control", "ctl", "ctrl",
        "def", "exp", "expression", "fac", "face", "facial", "jnt", "joint", "key", "main", "master", "mch", "mesh",
        "morph", "org", "rig", "rigged", "shape", "sk", "slider", "test", "the", "x",
    }
)  # fmt: skip
"""Words of a rig's own order, which say nothing of what it does."""
SAYINGS: Mapping[str, tuple[str, ...]] = {
    JAW: ("jaw open", "jaw opened", "mouth open", "mouth opened", "open jaw", "open mouth", "jaw drop", "jaw down"),
    BLINK: ("blink", "eye blink", "eyes blink", "eye close", "eyes close", "eye closed", "eyes closed", "close eyes",
            "lids close", "lids closed", "lid close"),
    "smile": ("smile", "mouth smile", "lips smile", "smile open"),
    "brow_raise": ("brow raise", "brows raise", "brow up", "brows up", "raise brows", "eyebrow raise", "eyebrows raise",
                   "eyebrows up", "eyebrow up"),
    "pucker": ("pucker", "mouth pucker", "lip pucker", "lips pucker", "kiss"),
}  # fmt: skip
"""Motion -> what a name may say for it, in lower case."""
BONES = frozenset({"jaw", "mandible", "jawbone", "lower jaw", "jaw lower", "mandibula"})
INSIDE = frozenset({"def", "org", "mch"})
"""Words of bones that follow others in a layered rig: what sets them is another bone."""


@lru_cache(maxsize=1 << 14)
def motion_said(name: str) -> str:
    """Return the motion that a name of a key, property or action says, or ``""``."""
    words = _words(name)
    said = " ".join(word for word in words if word not in SIDES)
    if said == JAW and not SIDES & {*words}:
        return JAW
    return next((motion for motion, sayings in SAYINGS.items() if said in sayings), "")


@lru_cache(maxsize=1 << 14)
def has_side(name: str) -> bool:
    """Tell whether a name is of one side alone."""
    return not SIDES.isdisjoint(_words(name))


@lru_cache(maxsize=1 << 14)
def is_jaw_bone(name: str) -> bool:
    """Tell whether a bone is the lower jaw's by its name."""
    return " ".join(_words(name)) in BONES


def inner_words(name: str) -> int:
    """Return how many words of a name say that another bone sets this one."""
    return len(INSIDE & {word.lower() for word in WORD.findall(name)})


def _words(name: str) -> list[str]:
    return [word for found in WORD.findall(name) if (word := found.lower()) not in NOISE]
