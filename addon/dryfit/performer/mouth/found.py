"""What kind of mouth was found on the base: open or shut, sealed in the scan or free, with an inside or without."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...geometry.rows import row_means
from ..fitting import Fitting
from ..head_frame import OPEN_MM, HeadFrame
from ..motion.poses import Poses

BAG_MM = (8.0, 40.0)
"""Skin this far behind the margins of the lips is the inside of a mouth."""
BAG_HEIGHT_MM = 15.0
BAG_SHARE = 0.6
"""It is looked for this far above and below the margins and over this share of the mouth's half width."""


@dataclass(frozen=True)
class MouthFound:
    """What was found.

    Attributes
    ----------
    open_mm
        How far the margins of the lips are apart at the midline in the scan, mm.
    sealed
        Whether the lips are one skin in the scan and were parted along the mouth line.
    bag
        Whether the base has the inside of a mouth.
    """

    open_mm: float
    sealed: bool
    bag: bool

    @property
    def words(self) -> str:
        """The same in words."""
        lips = "lips open in the scan" if self.open_mm > OPEN_MM else "lips shut in the scan"
        if self.sealed:
            lips = "lips sealed in the scan, parted along the mouth line"
        return f"{lips}; {'with' if self.bag else 'no'} inside of the mouth"


def mouth_found(fitting: Fitting, poses: Poses) -> MouthFound:
    """Look at the base's mouth; its landmarks must be there."""
    marks = fitting.snapshot.landmarks
    frame = HeadFrame.from_landmarks(marks)
    upper, lower = frame.coordinates(np.stack([marks["stomion_superius"], marks["stomion_inferius"]]))
    right, left = frame.coordinates(np.stack([marks["cheilion_right"], marks["cheilion_left"]]))[:, 0]
    places = frame.coordinates(row_means(fitting.base.vertices_mm[fitting.base.faces]))
    behind_mm = 0.5 * (upper[1] + lower[1]) - places[:, 1]
    inside = (behind_mm >= BAG_MM[0]) & (behind_mm <= BAG_MM[1])
    inside &= np.abs(places[:, 0] - 0.5 * (left + right)) <= BAG_SHARE * 0.5 * (left - right)
    inside &= (places[:, 2] <= upper[2] + BAG_HEIGHT_MM) & (places[:, 2] >= lower[2] - BAG_HEIGHT_MM)
    return MouthFound(float(upper[2] - lower[2]), poses.source.sealed, bool(inside.any()))
