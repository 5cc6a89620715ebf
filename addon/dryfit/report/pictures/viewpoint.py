"""A place to look from, and where on the picture a point lands."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ...model.arrays import FloatArray

PORTRAIT_MM = 2000.0
"""Viewing distance of a portrait, about 2 m (common practice, no source): perspective as a camera would give it."""
FAR_MM = 5000.0
"""How far in front of the centre a parallel ray starts."""


@dataclass(frozen=True)
class Viewpoint:
    """A camera that looks at a centre.

    Attributes
    ----------
    name, words
        Short name for files, and words for a caption.
    centre_mm
        The point in the middle of the picture, ``(3,)``, world space.
    toward
        Unit vector ``(3,)`` from the centre to the viewer.
    up
        Unit vector ``(3,)`` that points up in the picture, at right angles to ``toward``.
    height_mm
        How much of the plane through the centre the picture shows, top to bottom.
    size
        Width and height of the picture in pixels.
    distance_mm
        Viewing distance; inf gives parallel rays.
    lettering
        How much larger than usual letters are drawn, for pictures that will be shown small.
    """

    name: str
    words: str
    centre_mm: FloatArray
    toward: FloatArray
    up: FloatArray
    height_mm: float
    size: tuple[int, int] = (640, 640)
    distance_mm: float = PORTRAIT_MM
    lettering: float = 1.0

    @property
    def right(self) -> FloatArray:
        """Unit vector ``(3,)`` that points right in the picture."""
        across: FloatArray = np.cross(self.up, self.toward)
        return across

    @property
    def mm_per_pixel(self) -> float:
        """Size of a pixel on the plane through the centre."""
        return self.height_mm / self.size[1]

    def resized(self, scale: float) -> "Viewpoint":
        """Return the same view with more or fewer pixels."""
        width, height = self.size
        size = max(round(width * scale), 1), max(round(height * scale), 1)
        return replace(self, size=size, lettering=max(self.lettering * scale, 0.75))

    def rays(self, pixels: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return origins and directions ``(k, 3)`` through places ``(k, 2)``: column, row; 0.5 is a pixel's middle."""
        places = np.asarray(pixels, dtype=np.float64)
        width, height = self.size
        across = (places[:, :1] - width / 2) * self.mm_per_pixel
        upward = (height / 2 - places[:, 1:]) * self.mm_per_pixel
        plane = self.centre_mm + across * self.right + upward * self.up
        if np.isinf(self.distance_mm):
            return plane + self.toward * FAR_MM, np.broadcast_to(-self.toward, plane.shape).copy()
        eye = self.centre_mm + self.toward * self.distance_mm
        return np.broadcast_to(eye, plane.shape).copy(), plane - eye

    def project(self, points_mm: npt.ArrayLike) -> FloatArray:
        """Return places ``(k, 2)`` on the picture, column and row in pixels, of points ``(k, 3)``."""
        offset = np.asarray(points_mm, dtype=np.float64).reshape(-1, 3) - self.centre_mm
        scale = np.ones(len(offset))
        if np.isfinite(self.distance_mm):
            scale = self.distance_mm / np.maximum(self.distance_mm - offset @ self.toward, 1e-6)
        width, height = self.size
        column = width / 2 + offset @ self.right * scale / self.mm_per_pixel
        row = height / 2 - offset @ self.up * scale / self.mm_per_pixel
        return np.stack([column, row], axis=1)
