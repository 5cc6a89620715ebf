"""ISO 3950:2016: first digit the quadrant (1 upper right), second digit counted from the midline."""

import numpy as np
import pytest

from dryfit.model.snapshot import Part
from dryfit.performer.tooth_names import pieces_of, the, tooth_name
from mouth_shapes import box

NAMES = {11: "right upper central incisor", 23: "left upper canine", 33: "left lower canine",
         42: "right lower lateral incisor", 36: "left lower first molar", 48: "right lower third molar"}  # fmt: skip


@pytest.mark.parametrize("number", NAMES)
def test_names(number):
    assert tooth_name(number) == NAMES[number]


def test_numbers_that_name_no_permanent_tooth_stay_numbers():
    assert tooth_name(51) == "tooth 51"
    assert tooth_name(19) == "tooth 19"


def test_a_name_in_quotation_marks_takes_no_article():
    assert [the("left lower canine"), the("upper teeth 'Fangs'")] == [
        "the left lower canine",
        "the upper teeth 'Fangs'",
    ]
    assert [the("'Bolt'"), the("'Bolt'", "The"), the("upper lip", "The")] == ["'Bolt'", "'Bolt'", "The upper lip"]
    assert the("'the 'thing''") == "'the 'thing''", "a user's own name is left as it is"


def test_pieces_are_the_marked_teeth_and_the_rest():
    weights = np.array([1, 1, 1, 0.2, 0, 0, 0, 0.0])
    part = Part("Row", "lower_teeth", *box([0, 0, 0], [1, 1, 1]), areas={"dryfit_tooth_33": weights, "other": weights})
    (canine, first), (row, rest) = pieces_of(part)
    assert (canine, row) == ("left lower canine", "lower teeth 'Row'")
    assert first.tolist() == [0, 1, 2]
    assert rest.tolist() == [3, 4, 5, 6, 7]
