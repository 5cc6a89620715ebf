"""Errors whose words are meant for users: an operator shows them and stops."""

from ..geometry.errors import GeometryError
from ..model.errors import DryfitError

MEANT_FOR_USERS = (DryfitError, GeometryError, OSError)
