"""The four checks on the demonstration's real head: the honest design passes, known faults are found where they are."""

import importlib
from dataclasses import replace

import pytest
import trimesh

import dryfit
from dryfit.demo_door import demo_package
from dryfit.model.fingerprint import fingerprint
from dryfit.model.materials import MATERIALS
from dryfit.model.snapshot import Lock

pytestmark = pytest.mark.slow
ASKED = ["base_lock", "thickness", "load", "release"]


def variant(name):
    package = demo_package()
    shot = importlib.import_module(".variant_snapshots", package.__name__).variant_snapshot(name)
    base = shot.base
    return replace(shot, lock=Lock(fingerprint(base.vertices_mm, base.faces), base.vertices_mm))


def test_the_honest_design_passes():
    report = dryfit.check(variant("01-warden-plain"), only=ASKED)
    assert {check.id: str(check.status) for check in report.checks} == dict.fromkeys(ASKED, "pass")


def test_the_hollow_cheek_is_thin_where_it_is_hollow():
    thick = dryfit.check(variant("03-warden-hollow-cheek"), only=["thickness"]).check("thickness")
    assert thick.status == "fail"
    assert thick.findings[0].region == "left cheek"
    assert thick.measures["min_interior_mm"] == 0.0


def test_bronze_weighs_its_volume_by_another_library_times_the_handbook_density():
    shot = variant("06-warden-bronze")
    load = dryfit.check(shot, only=["load"]).check("load")
    stud = shot.part("BronzeStud1")
    volume = abs(trimesh.Trimesh(stud.vertices_mm, stud.faces, process=False).volume)
    expected = volume / 1000 * MATERIALS["bronze"].density_g_cm3
    assert load.measures["piece_mass_g.BronzeStud1"] == pytest.approx(expected, rel=1e-6)
