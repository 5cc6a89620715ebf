"""The materials library against handbook figures, and what the brief may change in it."""

import numpy as np
import pytest

import dryfit
import shapes
from dryfit.checks.casting import load
from dryfit.model.brief_reading import parse_brief
from dryfit.model.errors import BadValue, UnknownKey
from dryfit.model.materials import MATERIALS
from dryfit.report.explain import explain
from head_marks import snapshot

G_CM3_PER_LB_IN3 = 453.59237 / 16.387064


@pytest.mark.parametrize(("name", "lb_in3"), [("bronze", 0.318), ("bronze_c90500", 0.315)])
def test_bronze_density_is_the_handbook_figure_of_its_alloy(name, lb_in3):
    """ASTM B505 data sheets: UNS C90300 0.318 lb/in3, UNS C90500 0.315 lb/in3."""
    assert MATERIALS[name].density_g_cm3 == pytest.approx(lb_in3 * G_CM3_PER_LB_IN3, rel=0.002)
    assert ("C90300" if name == "bronze" else "C90500") in MATERIALS[name].source


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [("silicone", 1.07, 1.15), ("foam_latex", 0.12, 0.25), ("gelatin", 1.15, 1.25), ("urethane", 1.02, 1.10),
     ("acrylic", 1.17, 1.20), ("printed_resin", 1.15, 1.20)],
)  # fmt: skip
def test_densities_lie_in_the_ranges_the_texts_give(name, low, high):
    assert low <= MATERIALS[name].density_g_cm3 <= high


@pytest.mark.parametrize("name", MATERIALS)
def test_every_figure_has_its_provenance(name):
    source = MATERIALS[name].source
    for figure in ("density", "shrinkage", "wall", "edge"):
        assert figure in source
    assert any(words in source for words in ("from memory", "common practice", "tables", "sheets"))


@pytest.mark.parametrize("material", MATERIALS.values())
def test_walls_and_edges_are_in_order(material):
    assert material.min_edge_mm > 0.0
    assert 0.0 < material.min_wall_mm <= material.safe_wall_mm
    assert (material.forgiven_stretch == 0.0) == material.rigid


@pytest.mark.parametrize(
    ("inch_per_foot", "of_mould", "of_piece"),
    [(5 / 32, 1.01319, 1.01302), (3 / 16, 1.01587, 1.01562), (7 / 32, 1.01857, None)],
)
def test_pattern_factors_are_the_pattern_makers(inch_per_foot, of_mould, of_piece):
    """Pattern-maker's allowances per foot; the shrink rule reads 1 + s."""
    percent = 100 * inch_per_foot / 12
    brief = parse_brief(f'[materials.bronze]\nshrink_percent = {percent}\nshrink_of = "mould"\n[materials.rule]\ndensity_g_cm3 = 8.8\nmax_strain = 0\n'
                        f'shrink_percent = {percent}\nshrink_of = "piece"')  # fmt: skip
    assert brief.materials["bronze"].pattern_factor == pytest.approx(of_mould, abs=6e-6)
    if of_piece:
        assert brief.materials["rule"].pattern_factor == pytest.approx(of_piece, abs=6e-6)


def test_what_a_pattern_of_bronze_gets_is_added_to_the_piece_and_is_for_sand():
    """5/32 in a foot of bronze added to the pattern: Dooley, Applied Science for Metal Workers; sand, not investment."""
    bronze = MATERIALS["bronze"]
    assert 100 * bronze.pattern_factor == pytest.approx(100 * (1 + 5 / 32 / 12), abs=0.005)
    assert bronze.shrink_range_percent == pytest.approx((100 * 5 / 32 / 12, 100 * 3 / 16 / 12), abs=0.01)
    assert "sand" in bronze.process and "wax" in bronze.process and "investment" not in bronze.process


def test_a_material_that_shrinks_by_much_or_little_says_both():
    assert MATERIALS["foam_latex"].shrink_range_percent == (3, 10)
    own = parse_brief("[materials.foam_latex]\nshrink_percent = 4.2").materials["foam_latex"]
    assert own.shrink_range_percent == (4.2, 4.2), "the shop's own figure is no range"
    with pytest.raises(BadValue, match="shrink_most_percent"):
        parse_brief("[materials.foam_latex]\nshrink_least_percent = 12")


def test_the_brief_changes_one_figure_and_keeps_the_rest_saying_so():
    silicone = parse_brief("[materials.silicone]\nmin_wall_mm = 1.25").materials["silicone"]
    assert silicone.min_wall_mm == 1.25
    assert silicone.density_g_cm3 == MATERIALS["silicone"].density_g_cm3
    assert "stated in the brief: min_wall_mm" in silicone.source


@pytest.mark.parametrize(
    ("text", "error"),
    [
        ("[materials.silicone]\nmin_wall = 1", UnknownKey),
        ("[materials.mud]\ndensity_g_cm3 = 0", BadValue),
        ("[materials.silicone]\nmin_wall_mm = -1", BadValue),
        ("[materials.silicone]\nshrink_percent = 100", BadValue),
        ('[materials.silicone]\nshrink_of = "volume"', BadValue),
        ('[materials.silicone]\nedge_work = "vanishes"', BadValue),
        ("[materials.silicone]\nstiffness_kpa = -1", BadValue),
    ],
)
def test_what_means_nothing_is_refused(text, error):
    with pytest.raises(error):
        parse_brief(text)


def test_a_layered_sheet_resists_and_bends_as_its_layers_do():
    """Summed layer by layer: force E t, bending E z2 about the middle, over 20,000 slices of the thickness."""
    gel, thick_mm = MATERIALS["silicone_gel"], np.array([6.0, 1.0, 0.08])
    for thick, film, bends in zip(thick_mm, gel.film_n_m(thick_mm), gel.bending_kpa(thick_mm), strict=True):
        z = (np.arange(20000) + 0.5) / 20000 * thick - thick / 2.0
        young = np.where(np.abs(z) > thick / 2.0 - gel.skin_mm, gel.skin_stiffness_kpa, gel.stiffness_kpa)
        assert film == pytest.approx(young.mean() * thick, rel=1e-3)
        assert bends == pytest.approx((young * z**2).sum() / (z**2).sum(), rel=3e-3)


def test_a_plain_sheet_is_as_stiff_as_its_material():
    silicone = MATERIALS["silicone"]
    assert silicone.bending_kpa(np.array([0.1, 5.0])) == pytest.approx([200.0, 200.0])
    assert silicone.film_n_m(np.array([5.0])) == pytest.approx([1000.0])


def test_a_soft_material_has_a_stiffness_and_says_where_from():
    for material in MATERIALS.values():
        assert material.stiffness_known != material.rigid
        assert material.rigid or "stiffness" in material.source


def test_reports_and_explanations_carry_the_materials_with_their_sources():
    shot = snapshot(shapes.icosphere(4), ("Cap", "appliance", shapes.cap(4)[:2], "silicone"))
    report = dryfit.check(shot, only=["load"])
    assert report.inputs["materials"]["silicone"]["source"] == MATERIALS["silicone"].source
    page = explain(load.CHECK)
    assert "density_g_cm3 = 8.8" in page
    assert "C90300" in page


def test_a_figure_is_asked_for_by_the_check_that_needs_it():
    brief = parse_brief("[materials.mud]\ndensity_g_cm3 = 2.0\n[materials.straw]\nmax_strain = 0.1")
    assert brief.notes == (
        "[materials.mud] states no max_strain: it was taken as rigid, and its stretch is not judged.",
    )
    shot = snapshot(shapes.icosphere(4), ("Cap", "appliance", shapes.cap(4)[:2], "mud"))
    weighed = dryfit.check(shot, brief, only=["load"]).checks[0]
    assert weighed.measures["mass_g"] > 0.0 and "density" not in weighed.reason
    bare = snapshot(shapes.icosphere(4), ("Cap", "appliance", shapes.cap(4)[:2], "straw"))
    load_of = dryfit.check(bare, brief, only=["load"]).checks[0]
    assert str(load_of.status) == "not_checked"
    assert "the brief states no density_g_cm3 of 'straw': add it" in load_of.reason
