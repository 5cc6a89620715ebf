"""Which pieces are judged, in which mould, and how their pull is told: each decision from both sides."""

from types import SimpleNamespace

import numpy as np
import pytest

import shapes
from dryfit.checks.casting import release, thickness, worn_mass
from dryfit.model.brief import Brief
from dryfit.model.brief_reading import parse_brief
from dryfit.model.limits import Limits
from dryfit.performer.fitting import Fitting
from dryfit.performer.mobile_zones import MobileZone
from head_marks import marks, snapshot

LIMITS = Limits()
SPHERE = shapes.icosphere(3, 45.0)


def plate(width_mm, lift_mm=60.0, at_mm=0.0):
    """A flat skin over the sphere."""
    vertices, faces = shapes.sheet(width_mm, 6)
    return vertices + [at_mm, 0.0, lift_mm], faces


def pieces(mesh, material="acrylic", words=""):
    brief = parse_brief(words) if words else Brief()
    shot = snapshot(SPHERE, ("Plate", "appliance", mesh, material), landmarks=marks())
    return release._pulled(shot.part("Plate"), Fitting(shot, brief), brief)


def test_a_speck_beside_a_piece_is_no_casting_of_its_own():
    speck_mm = 0.9 * np.sqrt(release.LEAST_PIECE_MM2)
    large, small = plate(20.0), plate(speck_mm, at_mm=40.0)
    (piece,) = pieces((np.concatenate([large[0], small[0]]), np.concatenate([large[1], small[1] + len(large[0])])))
    assert piece.skin.areas_mm2.sum() == pytest.approx(400.0)
    (enough,) = pieces(plate(speck_mm / 0.9 * 1.01))
    assert enough.skin.areas_mm2.sum() == pytest.approx(release.LEAST_PIECE_MM2, rel=0.03)


def post(draft_deg=0.5):
    """A square post whose walls lean by so much."""
    top = 10.0 - 20.0 * np.tan(np.radians(draft_deg))
    corners = np.array([[-1.0, -1], [1, -1], [1, 1], [-1, 1]])
    vertices = np.concatenate(
        [np.column_stack([corners * half, np.full(4, z)]) for half, z in ((10.0, 50.0), (top, 70.0))]
    )
    ring = np.arange(4)
    after = (ring + 1) % 4
    walls = np.concatenate([np.stack([ring, after, after + 4], 1), np.stack([ring, after + 4, ring + 4], 1)])
    return vertices, np.concatenate([walls, [[4, 5, 6], [4, 6, 7]]])


@pytest.mark.parametrize(
    ("material", "mould", "sticks", "peels_mm"),
    [("acrylic", "rigid", True, 0.0), ("acrylic", "flexible", False, LIMITS.mould_peel_mm),
     ("silicone", "rigid", False, 0.0), ("silicone", "flexible", False, LIMITS.mould_peel_mm)],
)  # fmt: skip
def test_only_a_rigid_casting_in_a_rigid_mould_wants_draft_and_only_rubber_peels(material, mould, sticks, peels_mm):
    (piece,) = pieces(post(), material, f'[materials.{material}]\nmould = "{mould}"')
    assert piece.mould_gives_mm == peels_mm
    assert (piece.low_draft_mm2 >= 2 * 20.0 * 20.0) == sticks, "two walls at least, whichever way the best pull leans"
    assert sticks or piece.low_draft_mm2 == 0.0


@pytest.mark.parametrize(
    ("pulls", "words"),
    [([[0.5, -0.5, np.sqrt(0.5)]], "45° to the performer's left of straight ahead, 45° up"),
     ([[-0.5, -0.5, -np.sqrt(0.5)]], "45° to the performer's right of straight ahead, 45° down"),
     ([[0.5, -0.5, np.sqrt(0.5)], [-0.5, 0.5, -np.sqrt(0.5)]],
      "45° to the performer's left of straight ahead, 45° up, in two halves")],
)  # fmt: skip
def test_a_pull_is_told_as_the_performer_stands(pulls, words):
    shot = snapshot(SPHERE, ("Plate", "appliance", plate(20.0), "acrylic"), landmarks=marks())
    assert release._way(SimpleNamespace(pulls=np.array(pulls)), Fitting(shot, Brief())) == words


@pytest.mark.parametrize(("count", "words"), [(1, "has 1 undercut ("), (2, "has 2 undercuts (")])
def test_forgiven_undercuts_are_counted(count, words):
    shot = snapshot(SPHERE, ("Plate", "appliance", plate(20.0), "silicone"), landmarks=marks())
    (piece,) = pieces(plate(20.0), "silicone")
    undercut = SimpleNamespace(area_mm2=9.0, overhang_mm=0.3, depth_mm=1.0, place_mm=np.zeros(3), faces=np.array([0]))
    assert words in release._forgiven(piece, [undercut] * count, Fitting(shot, Brief())).message


LARGE_MM2 = LIMITS.thin_patch_area_mm2


@pytest.mark.parametrize(
    ("areas_mm2", "share"),
    [((), 1.0), ((0.5 * LARGE_MM2,), thickness.SPECK_SHARE), ((0.5 * LARGE_MM2, LARGE_MM2), 1.0), ((LARGE_MM2,), 1.0)],
)
def test_where_only_specks_are_thin_the_thinnest_is_held_against_less(areas_mm2, share):
    thick = SimpleNamespace(least_mm=5.0, interior_mm=9.0, thin=())
    piece = SimpleNamespace(least_mm=1.0, interior_mm=0.2, thin=areas_mm2)
    bound = thickness._interior_bound([thick, piece], LIMITS)
    assert (bound.value, bound.at_least) == (share, True)


def test_where_zones_overlap_what_is_too_thick_counts_once_and_by_the_strictest():
    """Three places: two on the lids, whose limit is the strictest, two on the fold, one of them on both."""
    beyond = {"lids": np.array([-1.0, -1.0, 1.0]), "fold": np.array([-1.0, 1.0, -1.0])}
    zones = [MobileZone(name, kind, np.zeros((2, 3)), 1.0) for name, kind in (("fold", "fold"), ("lids", "lid"))]
    assert thickness.levels_mm("lid", LIMITS)[0] < thickness.levels_mm("fold", LIMITS)[0]
    counted = SimpleNamespace(
        beyond_mm=beyond, thick_mm=np.zeros(3),
        thick_patches=lambda own_mm, level: [SimpleNamespace(area_mm2=float((own_mm < 0.0).sum()))],
    )  # fmt: skip
    assert [*thickness._thick_areas_mm2(counted, tuple(zones), LIMITS)] == [2.0, 1.0]


def test_a_coarse_skin_over_a_round_face_is_weighed_down_to_the_face_and_not_to_its_corners_feet():
    """A square over a ball, between its pyramid to the ball's middle and the ball's sector: A h / 3 - r3 W / 3."""
    half_mm, high_mm, radius_mm = 20.0, 55.0, 50.0
    vertices, faces = shapes.sheet(2.0 * half_mm, 1)
    plates = snapshot(
        shapes.icosphere(5, radius_mm), ("Plate", "appliance", (vertices + [0.0, 0.0, high_mm], faces), "silicone"),
        landmarks=marks(),
    )  # fmt: skip
    solid_angle = 4.0 * np.arcsin(half_mm**2 / (half_mm**2 + high_mm**2))
    expected_mm3 = (4.0 * half_mm**2 * high_mm - radius_mm**3 * solid_angle) / 3.0
    weighed = worn_mass.weigh(plates.part("Plate"), Fitting(plates, Brief()), Brief())
    assert weighed.bulk.volume_mm3 == pytest.approx(expected_mm3, rel=0.01)


@pytest.mark.parametrize(
    ("overhang_mm", "gives_mm", "share"), [(0.5, 2.0, 0.25), (3.0, 2.0, 1.5), (0.0, 0.0, 0.0), (0.1, 0.0, np.inf)]
)
def test_an_overhang_is_a_share_of_what_gives_way_and_where_nothing_gives_beyond_all_measure(
    overhang_mm, gives_mm, share
):
    assert release._used(overhang_mm, gives_mm) == share


def test_a_brief_under_which_any_overhang_holds_a_rigid_casting_is_measured():
    (piece,) = pieces(plate(20.0), "bronze", "[limits]\nundercut_mm = 0")
    assert piece.gives_mm == 0.0 and piece.used == 0.0
