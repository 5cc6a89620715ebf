"""What of the teeth shows at one pose, from every view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry import Surface
from ..model.arrays import FloatArray
from ..model.snapshot import Part, Role
from .coverage_poses import Pose
from .exposure import Exposure, ToothSamples, expose
from .fitting import Fitting
from .views import ViewPoint

WORN = (Role.APPLIANCE, Role.HARDWARE)


@dataclass(frozen=True)
class Display:
    """What of the teeth shows past one set of occluders.

    Attributes
    ----------
    pose
        The pose.
    rows
        One exposure for each row of teeth.
    """

    pose: Pose
    rows: tuple[Exposure, ...]

    @property
    def area_mm2(self) -> FloatArray:
        """Seen area from each view, ``(v,)``, mm2."""
        return np.asarray(np.sum([row.area_mm2.sum(axis=1) for row in self.rows], axis=0))

    @property
    def height_mm(self) -> FloatArray:
        """Tallest display of any tooth from each view, ``(v,)``, mm."""
        return np.asarray(np.max([row.height_mm.max(axis=1) for row in self.rows], axis=0))

    @property
    def whole_mm2(self) -> float:
        """Area of all teeth, seen or not, mm2."""
        return float(sum(row.teeth.samples.area_mm2.sum() for row in self.rows))


class Audience:
    """Looks at one design's teeth from the same views, pose after pose.

    Parameters
    ----------
    fitting
        The design.
    teeth
        Its rows of teeth.
    views
        Where they are looked at from.
    up
        The head's upright, ``(3,)``.
    worn
        Whether what is worn hides teeth too, or only the base and the teeth themselves.
    """

    def __init__(
        self, fitting: Fitting, teeth: Sequence[Part], views: Sequence[ViewPoint], up: FloatArray, worn: bool = True
    ) -> None:
        self._fitting, self._teeth, self._views, self._up = fitting, teeth, views, up
        self._hiding = (fitting.base, *teeth, *(fitting.snapshot.with_role(*WORN) if worn else ()))
        self._occluders: Surface | None = None

    def display(self, pose: Pose) -> Display:
        """Return what shows at a pose."""
        occluders = self._posed(pose)
        rows = [sampled(self._fitting, part, pose) for part in self._teeth]
        return Display(pose, tuple(expose(row, self._views, occluders, self._up) for row in rows))

    def _posed(self, pose: Pose) -> Surface:
        """Return everything that hides teeth as one surface; indexed once, then moved to the next pose."""
        vertices = [pose.vertices_mm(self._fitting, part) for part in self._hiding]
        if self._occluders is None:
            starts = np.cumsum([0, *(len(each) for each in vertices[:-1])])
            faces = [part.faces + start for part, start in zip(self._hiding, starts, strict=True)]
            self._occluders = Surface(np.concatenate(vertices), np.concatenate(faces))
        else:
            self._occluders.refit(np.concatenate(vertices))
        return self._occluders


def sampled(fitting: Fitting, part: Part, pose: Pose) -> ToothSamples:
    """Return samples on a row of teeth at a pose."""
    faces = np.asarray(fitting.surface(part).oriented_faces, dtype=np.int64)
    return ToothSamples.on(part, pose.vertices_mm(fitting, part), faces)
