"""Motions written as a brief states them read as the same motions, by another reader of TOML too."""

import json
import tomllib

import pytest

from dryfit.model.adopting import adopt, settled
from dryfit.model.brief import Brief, ExcursionBrief, HingeBrief, MotionBrief, Way
from dryfit.model.brief_reading import motions_from, parse_brief
from dryfit.model.errors import UnknownKey
from dryfit.model.motion_tables import motion_tables
from dryfit.model.own_figures import OwnFigures
from dryfit.model.snapshot import Snapshot
from dryfit.model.snapshot_file import load_saved_snapshot, save_snapshot

STATED = """
[motions.smile]
keys = { SmileLeft = [0.0, 1.0], SmileRight = [0.1, 0.9] }
[motions.jaw]
hinge = { open_deg = 31.0, slide_deg_per_mm = 2.0, slide_down_deg = 12.0, rest_deg = 0.0, axis_offset_mm = 9.0, \
axis_left_mm = [70.0, 1.0, 2.0], axis_right_mm = [-70.0, 1.0, 2.0] }
[motions.usual]
hinge = {}
[motions.laterotrusion_left]
excursion = {}
[motions.protrusion]
excursion = { way = "right", amount_mm = 10.2, part_mm = 0.0 }
[motions.lisp]
excursion = { way = "ahead" }
"""
READ = {
    "smile": MotionBrief(keys={"SmileLeft": (0.0, 1.0), "SmileRight": (0.1, 0.9)}),
    "jaw": MotionBrief(hinge=HingeBrief(31.0, 2.0, 12.0, 0.0, 9.0, (70.0, 1.0, 2.0), (-70.0, 1.0, 2.0))),
    "usual": MotionBrief(hinge=HingeBrief()),
    "laterotrusion_left": MotionBrief(excursion=ExcursionBrief(Way.LEFT)),
    "protrusion": MotionBrief(excursion=ExcursionBrief(Way.RIGHT, 10.2, 0.0)),
    "lisp": MotionBrief(excursion=ExcursionBrief(Way.AHEAD)),
}


def test_every_kind_comes_back_with_every_figure():
    motions = dict(parse_brief(STATED).motions)
    assert motions == READ
    assert motions_from(json.loads(json.dumps(motion_tables(motions))), "scene") == motions


def test_only_what_was_stated_is_written():
    """What the standard library reads of the brief is what is written, but for the way that a name says by itself."""
    stated = tomllib.loads(STATED)["motions"]
    stated["laterotrusion_left"] = {"excursion": {"way": "left"}}
    assert motion_tables(READ) == stated


OWN = OwnFigures(motions={"jaw": {"hinge": {"open_deg": 31.0}}, "side": {"excursion": {"way": "left"}}})


def test_a_files_motions_are_used_where_the_brief_has_none_of_that_name():
    beside = parse_brief("[motions.jaw]\nkeys = { JawOpen = [0.0, 1.0] }")
    for explicit in (False, True):
        used, noted = settled(beside, Snapshot("design", own=OWN), explicit)
        assert used.motions["jaw"].keys and used.motions["side"].excursion == ExcursionBrief(Way.LEFT)
        assert noted.notes == ("Motions stated in the file itself are used: side (excursion).",)
    assert adopt(beside, OWN).motions == used.motions, "the sidebar's way to the same brief"
    alone, noted = settled(Brief(), Snapshot("design", own=OWN))
    assert alone.motions["jaw"].hinge == HingeBrief(31.0)
    assert noted.notes[-1].endswith("jaw (hinge), side (excursion).")


def test_figures_and_motions_are_told_apart_under_a_brief_that_was_named():
    own = OwnFigures({"additive_tolerance_mm": 3.0}, motions=OWN.motions)
    used, noted = settled(Brief(), Snapshot("design", own=own), explicit=True)
    assert used.limits.additive_tolerance_mm != 3.0 and used.motions["side"].excursion
    assert [note.partition(" ")[0] for note in noted.notes] == ["Motions", "The"]
    assert "jaw" not in noted.notes[1]


def test_a_motion_that_means_nothing_is_refused_by_name():
    with pytest.raises(UnknownKey, match="open_deg"):
        adopt(Brief(), OwnFigures(motions={"jaw": {"hinge": {"open_degrees": 3.0}}}), "warden.blend")


def test_a_saved_snapshot_keeps_them(tmp_path):
    again = load_saved_snapshot(save_snapshot(Snapshot("design", own=OWN), tmp_path / "design.npz"))
    assert again.own == OWN
