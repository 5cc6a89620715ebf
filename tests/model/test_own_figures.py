"""Figures that a file states itself: over the brief found beside it, under a brief that the user named."""

from dataclasses import fields, replace

import numpy as np
import pytest

import dryfit
from dryfit.model.adopting import FIGURES, adopt, settled
from dryfit.model.brief import Brief
from dryfit.model.brief_reading import parse_brief
from dryfit.model.errors import BadValue, UnknownKey
from dryfit.model.materials import MATERIALS, Material
from dryfit.model.own_figures import OwnFigures
from dryfit.model.snapshot import Part, Role, Snapshot

OWN = OwnFigures({"additive_tolerance_mm": 3.0}, {"silicone": {"density_g_cm3": 1.25}})
BESIDE = parse_brief(
    "[limits]\nadditive_tolerance_mm = 0.7\nrim_thickness_mm = 0.4\n"
    "[materials.silicone]\ndensity_g_cm3 = 1.1\nshrink_percent = 0.3\n"
)


def test_every_number_of_a_material_can_be_stated_and_nothing_else():
    assert set(FIGURES) == {
        entry.name for entry in fields(Material) if isinstance(getattr(Material(1.0), entry.name), float)
    }


def test_own_figures_go_over_the_brief_and_leave_the_rest_of_it():
    brief = adopt(BESIDE, OWN)
    assert (brief.limits.additive_tolerance_mm, brief.limits.rim_thickness_mm) == (3.0, 0.4)
    silicone = brief.materials["silicone"]
    assert (silicone.density_g_cm3, silicone.shrink_percent) == (1.25, 0.3)
    assert silicone.source.startswith("changed in the file: density_g_cm3; the rest:")
    assert brief.materials["bronze"] == MATERIALS["bronze"]


def test_a_brief_that_was_named_stands_as_it_is_and_both_ways_are_said():
    snapshot = Snapshot("design", own=OWN)
    used, noted = settled(BESIDE, snapshot)
    assert used.limits.additive_tolerance_mm == 3.0
    assert "additive_tolerance_mm = 3, silicone density_g_cm3 = 1.25" in noted.notes[-1]
    named, noted = settled(BESIDE, snapshot, explicit=True)
    assert named is BESIDE and "not used" in noted.notes[-1]


def test_without_own_figures_nothing_is_changed_or_said():
    snapshot = Snapshot("design")
    assert settled(BESIDE, snapshot) == (BESIDE, snapshot)


@pytest.mark.parametrize(
    ("own", "error", "words"),
    [
        (OwnFigures({"additive_tolerance": 1.0}), UnknownKey, "additive_tolerance_mm"),
        (OwnFigures({"additive_tolerance_mm": -1.0}), BadValue, "from 0 up to 10 mm"),
        (OwnFigures(materials={"silicon": {"density_g_cm3": 1.0}}), UnknownKey, "silicone"),
        (OwnFigures(materials={"silicone": {"density": 1.0}}), UnknownKey, "density_g_cm3"),
        (OwnFigures(materials={"silicone": {"density_g_cm3": 0.0}}), BadValue, "over zero"),
    ],
)
def test_figures_that_mean_nothing_are_refused_by_name(own, error, words):
    with pytest.raises(error, match=words):
        adopt(Brief(), own, "warden.blend")


def test_a_saved_snapshot_keeps_them_and_the_python_door_uses_them(tmp_path):
    square = np.array([[0, 0, 0], [30, 0, 0], [30, 30, 0], [0, 30, 0]], float)
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    parts = (
        Part("Head", Role.BASE, square * 8.0 - [100, 100, 0], faces),
        Part("Bark", Role.APPLIANCE, square - [0, 0, 2.0], faces),
    )
    design = Snapshot("design", parts=parts, own=OWN)
    again = dryfit.load_snapshot(dryfit.save_snapshot(design, tmp_path / "design.npz"))
    assert again.own == OWN
    deep = [each for each in dryfit.check(again, only=["additive"]).check("additive").findings if each.remedy == "lift"]
    assert not deep
    assert dryfit.check(again, Brief(), only=["additive"]).check("additive").status == "fail"
    plain = dryfit.check(replace(again, own=OwnFigures()), only=["additive"])
    assert plain.check("additive").status == "fail"
