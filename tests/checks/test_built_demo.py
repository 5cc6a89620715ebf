"""The four checks on the demonstration's real head: the honest design passes, known faults are found where they are."""

import pytest
import trimesh

from demo_reports import variant_snapshot, whole_report
from dryfit.model.materials import MATERIALS

pytestmark = pytest.mark.slow
ASKED = ["base_lock", "thickness", "load", "release"]


@pytest.mark.parametrize("name", ["01-warden-plain"])
def test_the_honest_design_passes(name):
    report = whole_report(name)
    assert {asked: str(report.check(asked).status) for asked in ASKED} == dict.fromkeys(ASKED, "pass")


@pytest.mark.parametrize("name", ["03-warden-hollow-cheek"])
def test_the_hollow_cheek_is_thin_where_it_is_hollow(name):
    thick = whole_report(name).check("thickness")
    assert thick.status == "fail"
    assert thick.findings[0].region == "left cheek"
    assert thick.measures["min_interior_mm"] == 0.0


@pytest.mark.parametrize("name", ["06-warden-bronze"])
def test_bronze_weighs_its_volume_by_another_library_times_the_handbook_density(name):
    shot = variant_snapshot(name)
    load = whole_report(name).check("load")
    stud = shot.part("BronzeStud1")
    volume = abs(trimesh.Trimesh(stud.vertices_mm, stud.faces, process=False).volume)
    expected = volume / 1000 * MATERIALS["bronze"].density_g_cm3
    assert load.measures["piece_mass_g.BronzeStud1"] == pytest.approx(expected, rel=1e-6)
