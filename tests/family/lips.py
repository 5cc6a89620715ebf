"""Lips brought to a known gap or overlap at rest, and mouths sculpted open."""

from dataclasses import dataclass, replace

import numpy as np

from .heads import Head
from .jaws import Jaw
from .truth import lip_gap

FALLOFF_MM = (4.0, 16.0)
CORNER_FADE = (0.86, 0.99)
"""Shares of the mouth's half width between which the lips are left more and more as they are."""
ROUNDS = 5
OPEN_PRECISION = 1e-4


def rested(head, gap_mm):
    """Return the head with its lower lip raised or sunk until the lips are ``gap_mm`` apart all along, corners aside.

    Negative gaps let the lips run into each other by so much. What the gap is in the end, ``truth.lip_gap`` says.
    """
    own_mm, other_mm = head.margin_mm[:, 1], head.margin_mm[:, 0]
    fade = np.where(own_mm < other_mm, 1.0 - _eased(own_mm, *FALLOFF_MM), 0.0)
    across = head.vertices_mm[:, 0]
    fade = fade * (
        1.0 - _eased(np.abs(across) / np.abs(head.vertices_mm[head.marks["cheilion_left"], 0]), *CORNER_FADE)
    )
    frame = head.frame
    for _ in range(ROUNDS):
        gap = lip_gap(head)
        known = np.isfinite(gap.column_mm)
        rise_mm = np.interp(across, gap.across_mm[known], gap.column_mm[known] - gap_mm)
        head = head.moved(np.outer(rise_mm * fade, frame[2]))
    return head


@dataclass(frozen=True)
class Sculpted:
    """A head whose rest is an open mouth.

    Attributes
    ----------
    head
        The open skin as rest, with nothing that moves.
    shut
        The same head closed.
    jaw, open_t
        How it came open: what turns it back.
    """

    head: Head
    shut: Head
    jaw: Jaw
    open_t: float

    @property
    def opening_mm(self):
        """Height between the lips at the midline, in the closed head's frame."""
        return lip_gap(self.head, frame=self.shut.frame).midline_mm


def baked_open(head, jaw, opening_mm):
    """Return a head sculpted with its lips ``opening_mm`` apart at the midline, posed by a jaw and then at rest.

    Raises
    ------
    ValueError
        When the jaw does not open so far.
    """
    shut_t, wide_t = 0.0, 2.0
    posed = lambda t: jaw.posed(head.vertices_mm, head.jaw_share, t)  # noqa: E731
    if lip_gap(head, posed(wide_t)).midline_mm < opening_mm:
        raise ValueError(f"the jaw opens the lips less than {opening_mm} mm")
    while wide_t - shut_t > OPEN_PRECISION:
        middle = 0.5 * (shut_t + wide_t)
        wider = lip_gap(head, posed(middle)).midline_mm > opening_mm
        shut_t, wide_t = (shut_t, middle) if wider else (middle, wide_t)
    opened = replace(head, name=f"{head.name}, {opening_mm} mm open", vertices_mm=posed(wide_t), shapes_mm={})
    return Sculpted(opened, head, jaw, wide_t)


def _eased(value, low, high):
    share = np.clip((value - low) / (high - low), 0.0, 1.0)
    return share * share * (3.0 - 2.0 * share)
