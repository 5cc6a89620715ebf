"""Geometry of triangle surfaces: arrays in, arrays out. Lengths are millimetres."""

from .errors import BadFaces, BadShape, GeometryError, NoSurface, NotFinite
from .geodesic import distance_along
from .surface import Closest, Hits, Surface

__all__ = [
    "BadFaces",
    "BadShape",
    "Closest",
    "GeometryError",
    "Hits",
    "NoSurface",
    "NotFinite",
    "Surface",
    "distance_along",
]
