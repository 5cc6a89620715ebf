"""Materials in the sidebar: chosen for each part, their figures seen and changed, used by the checks and the shell."""

import json
import subprocess
import sys

import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from blender_module import needs_module  # noqa: E402
from dryfit.model.adopting import FIGURES  # noqa: E402
from dryfit.model.materials import MATERIALS  # noqa: E402
from dryfit.sitting.materials_state import SHOWN, material_items, worn_parts  # noqa: E402


def measures(scene, check):
    return next(each for each in json.loads(scene["dryfit_report"])["checks"] if each["id"] == check)["measures"]


def test_every_material_can_be_chosen_and_every_figure_seen(design):
    assert [name for name, _, _ in material_items(None, bpy.context)] == list(MATERIALS)
    assert set(SHOWN) == set(FIGURES)
    shown = design.bench.material
    for name in MATERIALS:
        shown.material = name
        assert {figure: getattr(shown, figure) for figure in FIGURES} == pytest.approx(
            {figure: getattr(MATERIALS[name], figure) for figure in FIGURES}
        )


def test_a_part_weighs_as_its_material_says(design):
    """The mass follows the density exactly: foam latex and silicone of one volume weigh as 0.15 to 1.07."""
    weighed = {}
    for name in ("silicone", "foam_latex"):
        assert bpy.ops.dryfit.assign_material(part="CheekBark", material=name) == {"FINISHED"}
        assert design.piece["dryfit_material"] == name
        bpy.ops.dryfit.check_fit(only="load")
        weighed[name] = measures(design.scene, "load")["mass_g"]
    assert weighed["silicone"] > 0.0
    assert weighed["foam_latex"] / weighed["silicone"] == pytest.approx(0.15 / 1.07, rel=1e-3)


def test_a_changed_figure_is_stored_plainly_used_and_reset(design):
    bpy.ops.dryfit.assign_material(part="CheekBark", material="silicone")
    bpy.ops.dryfit.check_fit(only="load")
    before = measures(design.scene, "load")["mass_g"]
    design.bench.material.density_g_cm3 = 2.14
    assert json.loads(design.scene["dryfit_materials"]) == {"silicone": {"density_g_cm3": 2.14}}
    bpy.ops.dryfit.check_fit(only="load")
    assert measures(design.scene, "load")["mass_g"] == pytest.approx(2.0 * before, rel=1e-3)
    inputs = json.loads(design.scene["dryfit_report"])["inputs"]
    assert any("silicone density_g_cm3 = 2.14" in note for note in inputs["notes"])
    bpy.ops.dryfit.reset_material()
    assert "dryfit_materials" not in design.scene


def test_each_changed_figure_is_shown_and_kept_beside_the_others(design):
    shown = design.bench.material
    shown.material = "silicone"
    shown.density_g_cm3, shown.max_strain = 2.14, 3.0
    assert (shown.density_g_cm3, shown.max_strain) == pytest.approx((2.14, 3.0))
    assert json.loads(design.scene["dryfit_materials"]) == {"silicone": {"density_g_cm3": 2.14, "max_strain": 3.0}}
    shown.material = "bronze"
    assert shown.density_g_cm3 == pytest.approx(MATERIALS["bronze"].density_g_cm3)


def test_setting_a_figure_back_by_hand_forgets_the_change(design):
    design.bench.material.material = "bronze"
    design.bench.material.density_g_cm3 = 8.7
    design.bench.material.density_g_cm3 = MATERIALS["bronze"].density_g_cm3
    assert "dryfit_materials" not in design.scene


def test_only_what_is_worn_has_a_material(design):
    assert [part.item.name for part in worn_parts(design.scene)] == ["CheekBark"]


def test_a_material_of_the_brief_beside_the_file_can_be_chosen(design, tmp_path):
    (tmp_path / "brief.toml").write_text("[materials.pith]\ndensity_g_cm3 = 0.2\nmax_strain = 0.5\n")
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "design.blend"))
    assert bpy.ops.dryfit.assign_material(part="CheekBark", material="pith") == {"FINISHED"}
    assert bpy.context.scene.dryfit.material.density_g_cm3 == pytest.approx(0.2)


@needs_module
def test_the_shell_uses_the_files_own_figures_says_so_and_a_named_brief_wins(design, tmp_path):
    design.bench.limits.additive_tolerance_mm = 3.0
    path = str(tmp_path / "design.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)

    def shell(*more):
        command = [sys.executable, "-m", "dryfit", "check", path, "--only", "additive", "--json", *more]
        return subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)

    own = shell()
    assert own.returncode == 0, own.stderr
    assert "additive_tolerance_mm = 3" in own.stderr
    assert json.loads(own.stdout)["limits"]["additive_tolerance_mm"]["value"] == 3.0
    (tmp_path / "named.toml").write_text("[limits]\nrim_thickness_mm = 0.4\n")
    named = shell("--brief", str(tmp_path / "named.toml"))
    assert named.returncode == 1, named.stderr
    assert "not used" in named.stderr


def test_damaged_figures_are_refused_by_name_and_break_no_panel(design):
    design.scene["dryfit_limits"] = "{"
    assert design.bench.limits.additive_tolerance_mm == pytest.approx(0.2)
    with pytest.raises(RuntimeError, match="dryfit_limits"):
        bpy.ops.dryfit.check_fit(only="additive")
