"""Which landmarks nobody confirmed travels with the snapshot, and the brief says what of it is settled."""

import json
import math

import numpy as np
import pytest

import dryfit
from dryfit.model.brief_reading import parse_brief
from dryfit.model.errors import BadValue, UnknownKey
from dryfit.model.snapshot_file import load_saved_snapshot, save_snapshot
from shapes import icosphere, worn

MARKS = {"sellion": [0.0, -100.0, 20.0], "gnathion": [0.0, -95.0, -60.0], "tragion_left": [70.0, 0.0, 0.0]}
BRIEF = """\
[landmarks]
sellion = [0.0, -100.0, 21.0]
gnathion = [0.0, -95.0, -61.0]
[landmarks.proposed_mm]
gnathion = 4.5
tragion_left = 6
"""


def design(**proposed):
    vertices, faces = icosphere(2)
    return worn((vertices, faces), (vertices * 1.01, faces), landmarks=MARKS, proposed=proposed)


def test_nobody_proposed_anything_unless_it_is_said():
    assert dict(design().proposed) == {}


def test_the_mark_cannot_be_changed_and_only_landmarks_have_one():
    snapshot = design(gnathion=4, pronasale=1.0)
    assert dict(snapshot.proposed) == {"gnathion": 4.0}
    with pytest.raises(TypeError):
        snapshot.proposed["sellion"] = 1.0


@pytest.mark.parametrize("error_mm", [4.5, math.inf])
def test_a_saved_snapshot_brings_the_mark_back(tmp_path, error_mm):
    back = load_saved_snapshot(save_snapshot(design(gnathion=error_mm), tmp_path / "a.npz"))
    assert dict(back.proposed) == {"gnathion": error_mm}


def test_a_file_from_before_the_mark_has_none(tmp_path):
    path = save_snapshot(design(gnathion=4.5), tmp_path / "a.npz")
    with np.load(path) as stored:
        arrays = dict(stored)
    header = json.loads(str(arrays.pop("header")))
    del header["proposed"]
    np.savez(path, header=np.array(json.dumps(header)), **arrays)
    assert dict(load_saved_snapshot(path).proposed) == {}


def test_what_the_brief_states_is_confirmed_unless_it_says_otherwise(tmp_path):
    path = save_snapshot(design(sellion=3.0, gnathion=9.0, tragion_left=2.0), tmp_path / "a.npz")
    snapshot = dryfit.load_snapshot(path, parse_brief(BRIEF))
    assert dict(snapshot.proposed) == {"gnathion": 4.5, "tragion_left": 6.0}
    np.testing.assert_allclose(snapshot.landmarks["sellion"], [0.0, -100.0, 21.0])
    looked_at = parse_brief(BRIEF.replace("gnathion = 4.5\n", ""))
    assert dict(dryfit.load_snapshot(path, looked_at).proposed) == {"tragion_left": 6.0}
    assert dict(dryfit.load_snapshot(path, parse_brief("")).proposed) == {
        "sellion": 3.0, "gnathion": 9.0, "tragion_left": 2.0,
    }  # fmt: skip


def test_the_table_may_stand_on_one_line():
    brief = parse_brief("[landmarks]\nsellion = [1, 2, 3]\nproposed_mm = { sellion = 2.0 }")
    assert brief.proposed == {"sellion": 2.0} and brief.landmarks == {"sellion": (1.0, 2.0, 3.0)}


@pytest.mark.parametrize(
    ("text", "key", "nearest"),
    [
        ("proposed_mm = { selion = 2.0 }", "selion", "sellion"),
        ("proposd_mm = { sellion = 2.0 }", "proposd_mm", "proposed_mm"),
    ],
)
def test_an_unknown_name_is_an_error_with_the_nearest(text, key, nearest):
    with pytest.raises(UnknownKey, match=rf"{key}.*{nearest}"):
        parse_brief(f"[landmarks]\nsellion = [1, 2, 3]\n{text}")


@pytest.mark.parametrize("value", ["-1", '"far"', "[1, 2, 3]", "true", "nan"])
def test_an_error_that_is_no_length_is_refused(value):
    with pytest.raises(BadValue, match="sellion"):
        parse_brief(f"[landmarks]\nproposed_mm = {{ sellion = {value} }}")


def test_a_mark_that_is_no_table_is_refused():
    with pytest.raises(BadValue, match="proposed_mm"):
        parse_brief("[landmarks]\nproposed_mm = 3.0")
