"""Mandibles that go a known way: a turn, a turn with a slide, or the head's own stored jaw shape."""

from dataclasses import dataclass

import numpy as np

from dryfit.model.snapshot import Motion

NO_SLIDE = np.inf
SLIDE_DOWN_DEG = 18.0
"""The condyle slides forward and this far down (Leader et al. 2003, J Biomech 36:275-281: 6.95 mm on 21.07 mm)."""

CONDYLE_MM = 12.0
"""From tragion toward the outer eye corner (Simpson et al. 1984, J Prosthet Dent)."""


@dataclass(frozen=True)
class Jaw:
    """A turn about an axis parallel to x with a slide in proportion, both growing evenly with t.

    Attributes
    ----------
    hinge_mm
        A point of the axis, ``(3,)``.
    open_deg
        The turn at t = 1.
    deg_per_mm
        Degrees of turn for each millimetre of forward slide; ``NO_SLIDE`` for none.
    """

    hinge_mm: np.ndarray
    open_deg: float = 25.0
    deg_per_mm: float = NO_SLIDE

    @property
    def slide_mm(self):
        """The slide at t = 1, ``(3,)``."""
        down = np.radians(SLIDE_DOWN_DEG)
        return self.open_deg / self.deg_per_mm * np.array([0.0, -np.cos(down), -np.sin(down)])

    def posed(self, points_mm, share, t):
        """Return points ``(n, 3)`` that take a share ``(n,)`` of the motion, at ``t``; in closed form."""
        angle = np.radians(self.open_deg) * t * np.asarray(share)
        arm = np.asarray(points_mm) - self.hinge_mm
        back, up = arm[:, 1], arm[:, 2]
        turned = np.column_stack(
            [arm[:, 0], back * np.cos(angle) - up * np.sin(angle), back * np.sin(angle) + up * np.cos(angle)]
        )
        return turned + self.hinge_mm + np.outer(np.asarray(share) * t, self.slide_mm)

    def rigid(self, points_mm, t):
        """Return points ``(n, 3)`` of the mandible itself, at ``t``."""
        return self.posed(points_mm, np.ones(len(points_mm)), t)

    def travel_mm(self, point_mm):
        """Return the straight way of a point of the mandible from t = 0 to 1."""
        return float(np.linalg.norm(self.rigid(np.asarray(point_mm)[None], 1.0)[0] - point_mm))


def turn(head, open_deg=25.0):
    """Return a jaw that only turns."""
    return Jaw(head.hinge_mm, open_deg)


def turn_at_the_condyles(head, open_deg=25.0):
    """Return a jaw that only turns, about the line through both condyles."""
    marks = head.landmarks()
    tragion, eye = marks["tragion_left"], marks["exocanthion_left"]
    condyle = tragion + CONDYLE_MM * head.size * (eye - tragion) / np.linalg.norm(eye - tragion)
    return Jaw(condyle * [0.0, 1.0, 1.0], open_deg)


def turn_and_slide(head, open_deg=25.0, deg_per_mm=1.5):
    """Return a jaw that turns about the condyles while these slide."""
    return Jaw(turn_at_the_condyles(head).hinge_mm, open_deg, deg_per_mm)


def frames_t(count):
    """Return the times of ``count`` key frames; 2 are the ends of one shape key."""
    return np.linspace(0.0, 1.0, count)


def skin_frames(head, jaw, count=2):
    """Return where the skin is at the key frames, ``(count, n, 3)``; between them it goes straight."""
    return np.stack([jaw.posed(head.vertices_mm, head.jaw_share, t) for t in frames_t(count)])


def tooth_frames(points_mm, jaw, count=2):
    """Return where lower teeth are at the key frames, ``(count, n, 3)``."""
    return np.stack([jaw.rigid(points_mm, t) for t in frames_t(count)])


def stored_shape(head):
    """Return the key frames of the head's own stored jaw shape, ``(2, n, 3)``."""
    return np.stack([head.vertices_mm, head.vertices_mm + head.shapes_mm["jawOpen"]])


def motion(name, frames):
    """Return a motion from part name -> key frames ``(k, n, 3)``, evenly spaced."""
    count = len(next(iter(frames.values())))
    return Motion(name, frames_t(count), frames)
