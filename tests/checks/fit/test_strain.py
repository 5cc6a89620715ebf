"""The strain check on sheets whose stretch is known."""

import numpy as np
import pytest

import dryfit
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


@pytest.mark.parametrize(("factor", "status"), [(1.4, "pass"), (1.6, "review"), (2.2, "fail")])
def test_stretch_is_held_against_the_material(factor, status):
    """Gelatin breaks at 100 % (from memory): half of that is looked at, all of it fails."""
    brief = dryfit.model.brief_reading.parse_brief("[limits]\nrim_skin_strain = 3.0")
    result = measured(worn(stretched_in_x(factor), "gelatin"), brief)
    assert result.status == status
    judged = [finding for finding in result.findings if finding.kind == "faces"]
    assert len(judged) == (status != "pass")
    if judged:
        assert judged[0].value == pytest.approx(factor - 1.0, rel=1e-6)
        assert judged[0].limit == pytest.approx(1.0 if status == "fail" else 0.5)
        assert "smile at t = 1" in judged[0].message
        assert len(judged[0].elements) == 800


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
