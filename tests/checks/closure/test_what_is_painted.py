"""What stops a jaw is painted on both that meet: a piece wholly, a lip about the place."""

from types import SimpleNamespace

import numpy as np
import pytest

from dryfit.checks.closure.fields import TOUCHED_MM, _pair_fields
from dryfit.performer.contact.body import Matter
from head_marks import snapshot
from mouth_shapes import box
from shapes import sheet

FACE, STUD, ROW = sheet(60.0, 6), box((0, 0, 0), (2, 2, 2)), box((5, 5, 5), (9, 9, 9))
SHOT = snapshot(FACE, ("Stud", "hardware", STUD, ""), ("Row", "upper_teeth", ROW, ""))


def lip(ids):
    piece = SimpleNamespace(vertices=lambda t: FACE[0][ids], vertex_ids=[np.array(ids)])
    return SimpleNamespace(parts=("Scan",), pieces=(piece,))


UPPER, LOWER = [0, 1, 2], [40, 41, 48]


def painted(second):
    """Values by part, where a stud meets something at the place of vertex 40 or of vertex 0."""
    at_mm = FACE[0][0] if second.name == "upper lip" else FACE[0][40]
    first = SimpleNamespace(part=SHOT.part("Stud"), matter=Matter.RIGID, name="'Stud'")
    contact = SimpleNamespace(
        pair=SimpleNamespace(first=first, second=second), piece="'Stud'", other_name=second.name, at_mm=at_mm, t=0.25
    )
    result = SimpleNamespace(
        closing=SimpleNamespace(contact=contact), fitting=SimpleNamespace(snapshot=SHOT),
        mouth=SimpleNamespace(lips=SimpleNamespace(upper=lip(UPPER), lower=lip(LOWER))), poses=SimpleNamespace(name="jaw"),
    )  # fmt: skip
    fields = [*_pair_fields(result)]
    assert all((field.name, field.motion, field.t) == ("pair", "jaw", 0.25) for field in fields)
    return {field.part: field.values for field in fields}


@pytest.mark.parametrize(("name", "ids"), [("upper lip", UPPER), ("lower lip", LOWER)])
def test_a_lip_is_painted_about_the_place_and_on_its_own_side(name, ids):
    values = painted(SimpleNamespace(part=SHOT.part("Scan"), matter=Matter.SKIN, name=name))
    near = [at for at in ids if np.linalg.norm(FACE[0][at] - FACE[0][ids[0]]) <= TOUCHED_MM]
    assert np.flatnonzero(np.isfinite(values["Scan"])).tolist() == near and len(near) == 2
    assert (values["Scan"][near] == 1.0).all() and (values["Stud"] == 0.0).all()


def test_of_two_pieces_the_one_that_stops_the_jaw_is_0_and_what_it_meets_is_1():
    values = painted(SimpleNamespace(part=SHOT.part("Row"), matter=Matter.RIGID, name="upper teeth 'Row'"))
    assert (values["Stud"] == 0.0).all() and (values["Row"] == 1.0).all() and "Scan" not in values


def test_where_nothing_is_met_nothing_is_painted():
    assert [*_pair_fields(SimpleNamespace(closing=SimpleNamespace(contact=None)))] == []
