"""Heads with their mouths open: the stored CC0 ones turned at the jaw, and the shipped one by its own open shape."""

from functools import cache

import numpy as np
from test_proposal import head

from dryfit.geometry import Surface
from dryfit.model.brief import HingeBrief
from dryfit.performer.motion.hinge import Hinge, head_axes
from dryfit.performer.motion.jaw_field import Parting, jaw_field
from public_head import open_landmarks, part_of, public_head

SLIDING, TURNING = 1.5, 1e9
"""Degrees of turn for each millimetre of slide: a living jaw, and one that only turns."""


@cache
def turned_head(name, open_deg, deg_per_mm=SLIDING):
    """A stored head with its mandible turned about its own hinge: surface and landmarks."""
    vertices, faces, marks = head(name)
    hinge = Hinge.from_landmarks(marks, HingeBrief(open_deg=open_deg, slide_deg_per_mm=deg_per_mm))
    weights = jaw_field(vertices, faces, Parting.of(marks, head_axes(marks), hinge), hinge).weights
    opened = hinge.carried(vertices, weights, 1.0)
    at = {mark: int(np.flatnonzero((vertices == point).all(axis=1))[0]) for mark, point in marks.items()}
    return Surface(opened, faces), {mark: opened[vertex] for mark, vertex in at.items()}


@cache
def shipped_head(share):
    """The shipped head with a share of its own open shape baked in: surface and landmarks."""
    rest, opened, faces = part_of("skin")
    shut, wide, _ = public_head()
    marks = open_landmarks()
    at = {mark: int(np.linalg.norm(wide - point, axis=1).argmin()) for mark, point in marks.items()}
    return Surface(rest + share * (opened - rest), faces), {
        mark: shut[vertex] + share * (wide[vertex] - shut[vertex]) for mark, vertex in at.items()
    }
