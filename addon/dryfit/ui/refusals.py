"""Errors whose words are meant for users: an operator shows them and stops."""

from ..geometry.errors import GeometryError
from ..model.errors import DryfitError

MEANT_FOR_USERS = (DryfitError, GeometryError, OSError)


class LibraryMissing(DryfitError):
    """Blender's Python lacks a library that one hand-out needs."""

    def __init__(self, what: str, error: ImportError) -> None:
        super().__init__(f"{what} needs a Python library that this Blender does not have ({error}).")
