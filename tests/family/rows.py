"""Every question asked of the family of heads, with its truth. Importing this fills ``answers.ROWS``."""

from . import landmark_rows, mandible_rows, mouth_rows, stop_rows
from .answers import ROWS

__all__ = ["ROWS", "landmark_rows", "mandible_rows", "mouth_rows", "stop_rows"]
