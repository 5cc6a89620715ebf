"""The strain check on sheets whose stretch is known."""

import numpy as np
import pytest

import dryfit
from dryfit.model.brief_reading import parse_brief
from dryfit.model.snapshot import Motion, Part, Snapshot
from shapes import sheet

SIDE_MM = 40.0


def worn(move, material="silicone", motion="smile", steps=20, thick_mm=0.5):
    """A square piece half a millimetre over a flat base that a motion moves to ``move(vertices)``."""
    base, faces = sheet(120.0, 48)
    piece, piece_faces = sheet(SIDE_MM, steps, lambda x, y: thick_mm + 0 * x)
    moved = Motion(motion, [0.0, 1.0], {"Scan": np.stack([base, move(base)])})
    parts = (Part("Scan", "base", base, faces), Part("Piece", "appliance", piece, piece_faces, material))
    return Snapshot("sheet", parts=parts, motions={motion: moved})


def measured(snapshot, brief=None):
    return dryfit.check(snapshot, brief, only=["strain"]).check("strain")


def stretched_in_x(factor):
    return lambda points: points * [factor, 1.0, 1.0]


def test_a_piece_without_keys_stretches_as_the_skin_beneath_it():
    result = measured(worn(stretched_in_x(1.5)))
    assert result.measures["max_stretch"] == pytest.approx(1.5, rel=1e-6)
    assert result.measures["stretch_p99"] == pytest.approx(1.5, rel=1e-6)
    assert result.measures["min_stretch"] == pytest.approx(1.0, abs=1e-6)
    assert result.measures["compressed_area_mm2"] == 0.0
    assert result.status == "pass"
    assert result.curves["stretch_by_t_smile"].y == pytest.approx([1.0, 1.125, 1.25, 1.375, 1.5], rel=1e-6)


def test_a_head_that_only_turns_stretches_nothing():
    angle = 0.6
    turn = np.array([[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0], [0, 0, 1]])
    snapshot = worn(lambda points: points @ turn.T + [5, 6, 7])
    frames = np.stack([snapshot.base.vertices_mm @ np.linalg.matrix_power(turn, n).T for n in (0, 1)])
    result = measured(
        Snapshot("turned", parts=snapshot.parts, motions={"turn": Motion("turn", [0, 1], {"Scan": frames})})
    )
    at_end = result.curves["stretch_by_t_turn"].y[-1]
    assert at_end == pytest.approx(1.0, abs=1e-9)
    assert result.measures["rim_in_motion_mm"] == 0.0


@pytest.mark.parametrize(
    ("factor", "edge", "bulk"),
    [(1.2, None, None), (1.4, "review", None), (1.6, "fail", "review"), (2.2, "fail", "fail")],
)
def test_edge_and_bulk_are_each_held_to_their_share_of_what_breaks_the_material(factor, edge, bulk):
    """Gelatin breaks at 100 % (from memory). Bulk: half is looked at, all of it fails; edge: a quarter, and half.

    The square's outermost two rows of faces, 2 mm each, reach into the 3 mm band: 40 x 40 less 32 x 32 mm is edge.
    """
    brief = parse_brief("[limits]\nrim_skin_strain = 3.0\nglue_line_j_m2 = 999")
    result = measured(worn(stretched_in_x(factor), "gelatin"), brief)
    told = {
        ("edge" if "The edge of" in each.message else "bulk"): each for each in result.findings if each.kind == "faces"
    }
    assert {what: str(each.severity) for what, each in told.items()} == {
        what: severity for what, severity in (("edge", edge), ("bulk", bulk)) if severity
    }
    assert result.measures["edge_strain_share"] == pytest.approx(factor - 1.0, rel=1e-6)
    assert result.measures["bulk_strain_share"] == pytest.approx(factor - 1.0, rel=1e-6)
    for what, finding in told.items():
        assert finding.value == pytest.approx(factor - 1.0, rel=1e-6)
        area = (SIDE_MM - 8.0) ** 2 if what == "bulk" else SIDE_MM**2 - (SIDE_MM - 8.0) ** 2
        assert f"over {area:.0f} mm²" in finding.message
        assert "smile at t = 1" in finding.message


def stored(stiffness_kpa, thick_mm, factor):
    """Energy a square metre of a film stretched in one direction and held in the other stores, from its stress.

    The nominal stress of a neo-Hookean sheet in pure shear is E / 3 (a - 1 / a3); summed over the way there.
    """
    steps = np.linspace(1.0, factor, 20001)
    stress = stiffness_kpa / 3.0 * (steps - steps**-3)
    return thick_mm * float(np.sum((stress[1:] + stress[:-1]) / 2.0) * (steps[1] - steps[0]))


@pytest.mark.parametrize(("thick_mm", "status"), [(0.5, "pass"), (2.0, "pass"), (3.2, "review")])
def test_the_glue_line_carries_what_the_stretched_piece_stores(thick_mm, status):
    """Silicone of 200 kPa stretched by half: 23 J/m2 for each millimetre, against half of 142 that tape held."""
    result = measured(worn(stretched_in_x(1.5), thick_mm=thick_mm))
    assert result.measures["glue_line_j_m2"] == pytest.approx(stored(200.0, thick_mm, 1.5), rel=1e-4)
    assert result.status == status
    if status == "review":
        (finding,) = result.findings
        assert "peels itself off" in finding.message and "3.2 mm thick" in finding.message
        assert f"to {70 / stored(200.0, 1.0, 1.5):.1f} mm" in finding.fix


def test_a_softer_material_may_be_thicker_on_the_same_skin():
    """Foam latex, 40 kPa, at five times the thickness pulls as silicone of 200 kPa does."""
    foam = measured(worn(stretched_in_x(1.4), "foam_latex", thick_mm=5.0))
    silicone = measured(worn(stretched_in_x(1.4), "silicone", thick_mm=1.0))
    assert foam.measures["glue_line_j_m2"] == pytest.approx(silicone.measures["glue_line_j_m2"], rel=1e-6)


def test_an_encapsulated_piece_pulls_with_its_skins_and_breaks_where_they_do():
    """Two skins of 0.05 mm at 1 MPa are as stiff as 3.33 mm of the 30 kPa core; they break at 200 %, it at 600 %."""
    result = measured(worn(stretched_in_x(1.5), "silicone_gel", thick_mm=3.1))
    film = stored(1000.0, 0.1, 1.5) + stored(30.0, 3.0, 1.5)
    assert result.measures["glue_line_j_m2"] == pytest.approx(film, rel=1e-4)
    assert result.measures["bulk_strain_share"] == pytest.approx(0.5 / 2.0, rel=1e-6)


def test_skin_that_only_shortens_pulls_at_no_glue():
    assert measured(worn(stretched_in_x(0.8))).measures["glue_line_j_m2"] == 0.0


def test_without_stiffness_the_glue_line_is_not_judged():
    brief = parse_brief("[materials.pith]\ndensity_g_cm3 = 0.3\nmax_strain = 2.0")
    result = measured(worn(stretched_in_x(1.2), "pith"), brief)
    assert result.status == "not_checked"
    assert "stiffness_kpa" in result.reason
    assert np.isnan(result.measures["glue_line_j_m2"])
    assert result.measures["bulk_strain_share"] == pytest.approx(0.1, rel=1e-6)


@pytest.mark.parametrize(("material", "word"), [("", "names no material"), ("chewing gum", "no material 'chewing gum'"),
                                                ("acrylic", "no max_strain")])  # fmt: skip
def test_without_a_known_material_it_measures_but_does_not_judge(material, word):
    result = measured(worn(stretched_in_x(1.5), material))
    assert result.status == "not_checked"
    assert word in result.reason
    assert result.measures["max_stretch"] == pytest.approx(1.5, rel=1e-6)


def test_one_piece_without_a_material_keeps_the_rest_from_passing():
    snapshot = worn(stretched_in_x(1.2))
    other = Part("Bare", "appliance", *sheet(10.0, 4, lambda x, y: 1.0 + 0 * x))
    result = measured(Snapshot("two", parts=(*snapshot.parts, other), motions=snapshot.motions))
    assert result.status == "not_checked"
    assert "Bare" in result.reason
    assert "Piece" not in result.reason


@pytest.mark.parametrize(("thick_mm", "status", "word"), [(2.9, "pass", "by itself"), (3.1, "review", "buckle")])
def test_skin_that_folds_by_itself_takes_a_thin_piece_along(thick_mm, status, word):
    """A uniform squeeze: the bare skin does all of it, so a piece up to 3 mm thick adds nothing, and that is noted once."""
    result = measured(worn(stretched_in_x(0.6), thick_mm=thick_mm))
    assert result.measures["compressed_area_mm2"] == pytest.approx(SIDE_MM**2, rel=1e-6)
    assert result.measures["min_stretch"] == pytest.approx(0.6, rel=1e-6)
    assert result.status == status
    (said,) = [finding for finding in result.findings if finding.unit == "mm2"]
    assert word in said.message
    assert said.value == pytest.approx(SIDE_MM**2, rel=1e-6)


def test_a_piece_that_is_squeezed_further_than_its_skin_folds_by_itself():
    """Keys squeeze the piece to a half while the skin beneath stays as it is."""
    snapshot = worn(stretched_in_x(1.0))
    piece = snapshot.part("Piece")
    frames = {"Piece": np.stack([piece.vertices_mm, piece.vertices_mm * [1.0, 0.5, 1.0]])}
    result = measured(Snapshot("keyed", parts=snapshot.parts, motions={"smile": Motion("smile", [0, 1], frames)}))
    assert result.status == "review"
    assert "buckle" in result.findings[0].message


def test_an_edge_on_skin_that_folds_by_itself_is_noted_not_judged():
    """Only x > 0 is squeezed to 0.3: two half sides and one whole side of the square's edge lie on it."""
    result = measured(worn(lambda points: np.where(points[:, :1] > 0, points * [0.3, 1.0, 1.0], points)))
    assert result.measures["rim_in_motion_mm"] == pytest.approx(2 * SIDE_MM, rel=1e-3)
    assert result.status == "pass"
    assert f"{2 * SIDE_MM:.1f} mm of its edge" in result.findings[0].message


def test_the_rim_on_moving_skin_is_as_long_as_the_moving_half():
    """Only x > 0 is stretched by 1.7: two half sides and one whole side of the square."""
    result = measured(worn(lambda points: np.where(points[:, :1] > 0, points * [1.7, 1.0, 1.0], points)))
    assert result.measures["rim_in_motion_mm"] == pytest.approx(2 * SIDE_MM, rel=1e-3)
    assert result.measures["max_rim_skin_strain"] == pytest.approx(0.7, rel=1e-6)
    spans = [finding for finding in result.findings if finding.unit == "mm"]
    assert len(spans) == 1
    assert spans[0].value == pytest.approx(2 * SIDE_MM, rel=1e-3)
    assert spans[0].severity == "review"


def test_skin_that_slides_without_stretching_carries_the_rim_along():
    result = measured(worn(lambda points: points + [12.0, -3.0, 0.0]))
    assert result.measures["rim_in_motion_mm"] == 0.0
    assert result.status == "pass"


def test_without_a_motion_it_says_what_to_add():
    snapshot = worn(stretched_in_x(1.5))
    result = measured(Snapshot("still", parts=snapshot.parts))
    assert result.status == "not_checked"
    assert "[motions.jaw]" in result.reason


def test_a_key_framed_piece_is_read_from_its_keys():
    snapshot = worn(stretched_in_x(1.0))
    piece = snapshot.part("Piece")
    frames = {"Piece": np.stack([piece.vertices_mm, piece.vertices_mm * [1.0, 1.3, 1.0]])}
    result = measured(Snapshot("keyed", parts=snapshot.parts, motions={"smile": Motion("smile", [0, 1], frames)}))
    assert result.measures["max_stretch"] == pytest.approx(1.3, rel=1e-9)


@pytest.mark.parametrize(
    ("x", "y", "material", "status"),
    [
        (0.66, 1.0, "silicone", "pass"),
        (0.64, 1.0, "silicone", "review"),
        (0.73, 0.73, "silicone", "review"),
        (0.77, 0.77, "silicone", "pass"),
        (0.60, 0.60**-0.5, "silicone", "pass"),
        (0.54, 0.54**-0.5, "silicone", "review"),
        (0.80, 1.0, "silicone_gel", "review"),
        (0.85, 1.0, "silicone_gel", "pass"),
        (0.64, 1.0, "foam_latex", "pass"),
    ],
)
def test_a_piece_creases_by_both_stretches_and_its_make(x, y, material, status):
    """Neo-Hookean creases: 35.6 % in plane strain (arXiv 1904.09337, 2019), 44 % along one way (arXiv 1704.01531, 2017).

    A quarter where both stretches are the same (Hong, Zhao & Suo 2009) and 0.83 under a stiffer skin are from memory.
    """
    base, faces = sheet(120.0, 48)
    piece, piece_faces = sheet(SIDE_MM, 20, lambda x, y: 0.5 + 0 * x)
    frames = {"Piece": np.stack([piece, piece * [x, y, 1.0]])}
    parts = (Part("Scan", "base", base, faces), Part("Piece", "appliance", piece, piece_faces, material))
    result = measured(Snapshot("keyed", parts=parts, motions={"smile": Motion("smile", [0, 1], frames)}))
    assert result.status == status
    told = [finding for finding in result.findings if finding.unit == "mm2"]
    assert len(told) == (status == "review" or material == "foam_latex")
    if material == "foam_latex":
        assert "A foam gives in volume" in told[0].message


def test_an_edge_on_skin_that_shortens_has_a_limit_of_its_own():
    """Measured stretch of skin (Hsu et al. 2014, PRS Global Open 2(9):e211) says nothing of skin that shortens."""
    half = lambda factor: lambda points: np.where(points[:, :1] > 0, points * [factor, 1.0, 1.0], points)  # noqa: E731
    assert measured(worn(half(0.6))).measures["rim_in_motion_mm"] == pytest.approx(2 * SIDE_MM, rel=1e-3)
    assert measured(worn(half(1.5))).measures["rim_in_motion_mm"] == 0.0
