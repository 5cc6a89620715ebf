"""Every part of a design in one pose, standing ready to be looked at."""

import copy
from collections.abc import Mapping, Sequence
from functools import cached_property

import numpy as np
import numpy.typing as npt

from ...geometry import Surface
from ...model.arrays import BoolArray, FloatArray, IntArray
from ...model.snapshot import Part, Role
from .normals import face_normals, outward_faces, vertex_normals
from .openness import Openness

Posed = Mapping[str, FloatArray]
"""Part name -> vertices ``(n, 3)``, mm; parts that are not named stand as they rest."""


SHOWN_THROUGH_MM = 8.0
"""A painted appliance this little behind the base, along the ray, is drawn as if the base gave way."""

THIN_MM = 0.4
"""The same for edges that run out to the skin, in every picture: less than a thick edge shows, along a slanting ray."""


class Stage:
    """Parts gathered into one surface.

    Parameters
    ----------
    parts
        What is seen, at least one.
    posed
        Vertices of the parts that stand otherwise than at rest.
    outward
        Part name -> faces turned outward, where that is known already.

    Raises
    ------
    BadShape, NotFinite, NoSurface
        When vertices do not fit a part or make no surface.
    """

    def __init__(
        self, parts: Sequence[Part], posed: Posed | None = None, outward: Mapping[str, IntArray] | None = None
    ) -> None:
        posed, outward = posed or {}, outward or {}
        self.parts = tuple(parts)
        counts = [len(part.vertices_mm) for part in self.parts]
        self.starts = np.concatenate([[0], np.cumsum(counts)])
        vertices = [np.asarray(posed.get(part.name, part.vertices_mm)) for part in self.parts]
        turned = [outward[part.name] if part.name in outward else outward_faces(part) for part in self.parts]
        faces = [each + start for each, start in zip(turned, self.starts, strict=False)]
        self.surface = Surface(np.concatenate(vertices), np.concatenate(faces))
        self.shown_through: tuple[str, ...] = ()
        self.reach_mm = SHOWN_THROUGH_MM
        self.part_of_face: IntArray = np.repeat(np.arange(len(self.parts)), list(map(len, turned)))

    @property
    def veil_mm(self) -> float:
        """How far behind the base, along the ray, a piece is still drawn in front of it."""
        return self.reach_mm if self.shown_through else THIN_MM

    @cached_property
    def middle_mm(self) -> FloatArray:
        """The middle of the base, ``(3,)``; of everything where there is no base on stage."""
        bases = [part.name for part in self.parts if part.role == Role.BASE]
        vertices = self.vertices_of(bases[0]) if bases else self.surface.vertices_mm
        middle: FloatArray = (vertices.min(axis=0) + vertices.max(axis=0)) / 2.0
        return middle

    def skin_normal(self, place_mm: FloatArray) -> FloatArray:
        """Return the outward direction ``(3,)`` of the base nearest to a place; of anything where there is no base.

        A piece's own rims and backs face any way; what it lies on faces out of the head.
        """
        bases = [part.name for part in self.parts if part.role == Role.BASE]
        start, end = (self.starts[self.index(bases[0]) :][:2]) if bases else (0, len(self.vertex_normals))
        away = np.linalg.norm(self.surface.vertices_mm[start:end] - place_mm, axis=1)
        normal: FloatArray = self.vertex_normals[start + int(away.argmin())]
        return normal

    @cached_property
    def faces(self) -> IntArray:
        """Faces of all parts, ``(m, 3)``."""
        return np.asarray(self.surface.faces, dtype=np.int64)

    @cached_property
    def vertex_normals(self) -> FloatArray:
        """Outward unit normals ``(n, 3)``."""
        return vertex_normals(np.asarray(self.surface.vertices_mm), self.faces)

    @cached_property
    def face_normals(self) -> FloatArray:
        """Outward unit normals of the faces, ``(m, 3)``."""
        return face_normals(np.asarray(self.surface.vertices_mm), self.faces)

    @cached_property
    def openness(self) -> Openness:
        """How much of its surroundings each place sees."""
        return Openness(self.surface, self.vertex_normals, np.repeat(np.arange(len(self.parts)), np.diff(self.starts)))

    def index(self, part_name: str) -> int:
        """Return the place of a part.

        Raises
        ------
        KeyError
            When it is not on stage.
        """
        for place, part in enumerate(self.parts):
            if part.name == part_name:
                return place
        raise KeyError(part_name)

    def vertices_of(self, part_name: str) -> FloatArray:
        """Return the posed vertices ``(n, 3)`` of a part, mm.

        Raises
        ------
        KeyError
            When it is not on stage.
        """
        place = self.index(part_name)
        return self.surface.vertices_mm[self.starts[place] : self.starts[place + 1]]

    def showing_through(self, names: Sequence[str]) -> "Stage":
        """Return the same stage with appliances seen through the base where they lie just under it.

        Parameters
        ----------
        names
            Names of parts; those that are no appliances are left as they are.
        """
        _ = self.vertex_normals, self.face_normals, self.openness
        other = copy.copy(self)
        other.__dict__.pop("sunken", None)
        other.shown_through = tuple(
            part.name for part in self.parts if part.name in names and part.role == Role.APPLIANCE
        )
        return other

    @cached_property
    def sunken(self) -> tuple[Surface, IntArray] | None:
        """The appliances that are shown through the base, and each of their faces' number on stage; None for none.

        Where none is asked for all are, by next to nothing: an edge that runs out to the skin would else be drawn as
        a scribble of both.
        """
        shown = self.shown_through or [part.name for part in self.parts if part.role == Role.APPLIANCE]
        numbers = np.flatnonzero(np.isin(self.part_of_face, [self.index(name) for name in shown]))
        if not len(numbers):
            return None
        return Surface(self.surface.vertices_mm, self.surface.faces[numbers]), numbers

    def is_base(self, faces: IntArray) -> BoolArray:
        """Tell for faces ``(k,)``, -1 for none, whether they belong to the base."""
        base = np.array([part.role == Role.BASE for part in self.parts])
        belongs: BoolArray = (faces >= 0) & base[self.part_of_face[faces]]
        return belongs

    def sees(self, points_mm: FloatArray, toward: FloatArray, lift_mm: npt.ArrayLike = 1.0) -> BoolArray:
        """Tell for points ``(k, 3)`` whether nothing stands between them and a viewer far away in one direction."""
        points = np.asarray(points_mm).reshape(-1, 3)
        directions = np.broadcast_to(toward, points.shape)
        lifted = points + np.asarray(lift_mm).reshape(-1, 1) * toward
        seen: BoolArray = ~self.surface.blocked(lifted, directions)
        return seen
