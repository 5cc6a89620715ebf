"""Which teeth are the performer's own: kept in a snapshot, stated by a brief, contributed by the base's file."""

import json

import numpy as np

from dryfit.model.adopting import with_own_teeth
from dryfit.model.brief import Brief, TeethBrief
from dryfit.model.snapshot import Part, Snapshot
from dryfit.model.snapshot_file import load_saved_snapshot, save_snapshot
from dryfit.performer.tried_on import design_of
from dryfit.scene.base_file import body, combined
from shapes import icosphere


def snapshot(**own):
    ball = icosphere(1, 100.0)
    roles = {"Head": "base", "Upper": "upper_teeth", "Lower": "lower_teeth", "EyeL": "eye_left", "Bolt": "hardware"}
    return Snapshot("s", parts=tuple(Part(name, role, *ball, own=own.get(name, False)) for name, role in roles.items()))


def owned(found):
    return {part.name for part in found.parts if part.own}


def test_a_saved_snapshot_keeps_them(tmp_path):
    whole = snapshot(Upper=True, EyeL=True)
    assert owned(load_saved_snapshot(save_snapshot(whole, tmp_path / "a.npz"))) == {"Upper", "EyeL"}


def test_a_file_from_before_loads_with_none(tmp_path):
    path = save_snapshot(snapshot(Upper=True), tmp_path / "a.npz")
    with np.load(path) as stored:
        arrays = dict(stored)
    header = json.loads(str(arrays["header"]))
    for part in header["parts"]:
        del part["own"]
    np.savez(path, **{**arrays, "header": np.array(json.dumps(header))})
    assert owned(load_saved_snapshot(path)) == set()


def test_a_brief_marks_teeth_and_eyes_and_nothing_else():
    everything = Brief(teeth=TeethBrief(("*",)))
    assert owned(with_own_teeth(snapshot(), everything)) == {"Upper", "Lower", "EyeL"}
    assert owned(with_own_teeth(snapshot(Lower=True), Brief(teeth=TeethBrief(("Up*",))))) == {"Upper", "Lower"}
    assert owned(with_own_teeth(snapshot(Lower=True), Brief())) == {"Lower"}
    assert owned(design_of(snapshot(), everything).snapshot) == {"Upper", "Lower", "EyeL"}


def test_what_the_base_s_file_brings_is_the_performer_s_own(tmp_path):
    performer = body(snapshot(), tmp_path / "performer.npz", "")
    assert owned(performer) == {"Upper", "Lower", "EyeL"}
    caps = Snapshot("d", parts=(Part("Caps", "upper_teeth", *icosphere(1, 6.0)),))
    both = combined(performer, caps)
    assert owned(both) == {"Lower", "EyeL"}, "the design's own row stands in place of the base's, and is the design's"
