"""Every question asked of the family of heads, with its truth. Importing this fills ``answers.ROWS``."""

from . import landmark_rows, mandible_rows, mouth_rows, own_rows, pass_rows, stop_rows, word_rows
from .answers import ROWS

SUBJECTS = (mouth_rows, mandible_rows, stop_rows, own_rows, landmark_rows, word_rows, pass_rows)

__all__ = ["ROWS", "SUBJECTS"]
