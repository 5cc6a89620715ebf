"""Landmarks as labels: what and where in plain words, with the Latin beside it."""

from collections.abc import Mapping
from types import MappingProxyType

PLAIN: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "tragion": ("Notch above the ear canal", "the small dip at the upper end of the flap before the ear canal"),
        "cheilion": ("Corner of the mouth", "where the red of both lips meets"),
        "labiale_superius": ("Upper edge of the upper lip", "at the midline, where the red begins"),
        "labiale_inferius": ("Lower edge of the lower lip", "at the midline, where the red ends"),
        "stomion_superius": ("Upper lip where the lips meet", "at the midline, the lowest point of the upper lip"),
        "stomion_inferius": ("Lower lip where the lips meet", "at the midline, the highest point of the lower lip"),
        "subnasale": ("Below the nose", "at the midline, where the nose's wall meets the upper lip"),
        "pronasale": ("Tip of the nose", "the point that stands out furthest"),
        "gnathion": ("Underside of the chin", "at the midline, the lowest point of the chin"),
        "endocanthion": ("Inner corner of the eye", "where the lids meet beside the nose"),
        "exocanthion": ("Outer corner of the eye", "where the lids meet beside the temple"),
        "pupil": ("Middle of the pupil", "on the front of the eye, looking straight ahead"),
        "alare": ("Side of the nostril", "the point of the nose's wing furthest to the side"),
        "sellion": ("Root of the nose", "the deepest point between the eyes"),
        "vertex_top": ("Top of the head", "the highest point of the skull"),
        "opisthocranion": ("Back of the head", "the point of the skull furthest back"),
    }
)
"""A landmark's Latin name without its side -> what it is, and where."""


def landmark_word(name: str, room: int = 99) -> str:
    """Return a landmark as a label: ``Corner of the mouth, left``; shorter where so many letters do not fit."""
    latin, side = _parted(name)
    plain = PLAIN[latin][0] if latin in PLAIN else latin.replace("_", " ").capitalize()
    label = f"{plain}, {side}" if side else plain
    return label if len(label) <= room or not side else f"{plain}, {side[0].upper()}"


def latin_word(name: str) -> str:
    """Return a landmark's Latin name as a label: ``cheilion``."""
    return _parted(name)[0].replace("_", " ")


def landmark_place(name: str) -> str:
    """Return where on the head a landmark is, as a clause; ``""`` for one that nobody described."""
    return PLAIN.get(_parted(name)[0], ("", ""))[1]


def full_landmark_word(name: str) -> str:
    """Return a landmark with its Latin name: ``Corner of the mouth, left · cheilion``."""
    return f"{landmark_word(name)} · {latin_word(name)}"


def _parted(name: str) -> tuple[str, str]:
    """Return a landmark's name and its side, ``""`` where it is in the middle."""
    latin, _, side = name.rpartition("_")
    return (latin, side) if side in ("left", "right") else (name, "")
