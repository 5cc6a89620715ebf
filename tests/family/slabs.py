"""Two slabs of teeth in a mouth that a jaw key moves straight down: what stops it, and where, in closed form."""

from dataclasses import replace

import numpy as np

from dryfit.model.snapshot import Motion, Part, Snapshot

from . import members
from .pieces import block
from .truth import lip_gap

DROP_MM = 30.0
SHIFT_MM = np.array([0.0, 0.0, -55.0])
"""From the coordinates the slabs are written in to where they stand in the head's mouth."""
UPPER_LOW, UPPER_HIGH = (-15.0, -78.0, 8.0), (15.0, -74.0, 16.0)
LOWER_FOOT_MM, LOWER_TOP_MM = 2.0, 14.0
MEET_MM = LOWER_TOP_MM - UPPER_LOW[2]
"""How far the lower slab has to go down before the two are clear of each other: 6 mm, at t = 0.2."""
DEPTH_MM = UPPER_HIGH[1] - UPPER_LOW[1]


def slabs(narrower_mm=0.0, beside_mm=0.0, steps=1, drop_mm=DROP_MM):
    """Return the scene, a ``members.Member``.

    Parameters
    ----------
    narrower_mm
        How much less the lower slab is wide than the upper one, half of it at either end; 0 leaves their walls flush.
    beside_mm
        How far the lower slab stands behind the place where it overlaps the whole depth of the upper one.
    steps
        Into how many parts each side of a slab is cut.
    drop_mm
        How far the jaw key moves the mandible down.
    """
    low = np.array([UPPER_LOW[0] + narrower_mm / 2.0, UPPER_LOW[1] + beside_mm, LOWER_FOOT_MM])
    high = np.array([UPPER_HIGH[0] - narrower_mm / 2.0, UPPER_HIGH[1] + beside_mm, LOWER_TOP_MM])
    upper = block(UPPER_LOW + SHIFT_MM, UPPER_HIGH + SHIFT_MM, steps)
    lower = block(low + SHIFT_MM, high + SHIFT_MM, steps)
    head, down = members.resting(), np.array([0.0, 0.0, -drop_mm])
    skin = np.stack([head.vertices_mm, head.vertices_mm + np.outer(head.jaw_share, down)])
    frames = {"Head": skin, "Lower": np.stack([lower[0], lower[0] + down])}
    snapshot = Snapshot(
        f"slabs {narrower_mm:g} {beside_mm:g} {steps} {drop_mm:g}",
        parts=(*members.parts_of(head), Part("Upper", "upper_teeth", *upper), Part("Lower", "lower_teeth", *lower)),
        landmarks=head.landmarks(),
        motions={"jaw": Motion("jaw", np.array([0.0, 1.0]), frames)},
        lock=members.locked(head),
    )
    return replace(members.keyed(), snapshot=snapshot, head=head, jaw=None, rows=None, frames=skin)


def left_mm(scene, t):
    """Return the tallest gap between the lips at ``t``."""
    return lip_gap(scene.head, scene.skin_at(t)).largest_mm
