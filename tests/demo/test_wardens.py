"""The designs: honest where they should be, at a distance from lids, lips and nostrils, the same every time."""

import hashlib
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from dryfit.demo_door import demo_module
from dryfit.geometry import Surface
from dryfit.model.snapshot import Role

snapshots = demo_module("variant_snapshots")
wardens = demo_module("wardens")
pieces = demo_module("pieces")
castings = demo_module("castings")
dentition = demo_module("dentition")

pytestmark = pytest.mark.slow
MARGIN_MM = 5.0
"""Edges keep this far from lid margins, lips and nostrils: common practice, no source."""


@pytest.fixture(scope="module")
def plain():
    return snapshots.variant_snapshot("01-warden-plain")


def margins(performer):
    """Return points on the lid margins, the lips' red and the nostrils' rims."""
    landmarks = [
        point
        for name, point in performer.landmarks.items()
        if name.startswith(("endocanthion", "exocanthion", "cheilion", "labiale", "stomion", "alare"))
    ]
    lips = [performer.vertices_mm[performer.areas[f"dryfit_lip_{which}"] > 0] for which in ("upper", "lower")]
    nostrils = [performer.vertices_mm[performer.areas[f"dryfit_nostril_{side}"] > 0] for side in ("left", "right")]
    eyes = Surface(
        np.concatenate([eye.vertices_mm for eye in performer.eyes.values()]),
        np.concatenate(
            [
                performer.eyes["eye_left"].faces,
                performer.eyes["eye_right"].faces + len(performer.eyes["eye_left"].vertices_mm),
            ]
        ),
    )
    skin = performer.vertices_mm[performer.outer]
    lids = skin[(eyes.closest(skin).distance_mm < 0.8) & (skin[:, 1] < -80.0)]
    return np.concatenate([np.array(landmarks), *lips, *nostrils, lids])


@pytest.mark.parametrize("name", ["01-warden-plain", "06-warden-bronze"])
def test_pieces_keep_clear_of_lids_lips_and_nostrils(name):
    performer = demo_module("performer").performer()
    base = Surface(performer.vertices_mm, performer.faces)
    points = margins(performer)
    for part in snapshots.variant_snapshot(name).with_role(Role.APPLIANCE):
        lifted = base.clearance_mm(part.vertices_mm) > 0.05
        worn = part.vertices_mm[lifted]
        for first in range(0, len(worn), 2000):
            apart = np.linalg.norm(worn[first : first + 2000, None] - points[None, ::3], axis=2)
            assert apart.min() > MARGIN_MM, part.name


def test_topologies_differ(plain):
    borders = {part.name: len(pieces.border_edges(part.faces)) for part in plain.with_role(Role.APPLIANCE)}
    assert borders["BrowBark"] == 0
    assert borders["CheekBarkLeft"] > 100
    assert borders["ChinBark"] > 100
    whole = snapshots.variant_snapshot("06-warden-bronze").part("FaceBark")
    assert np.ptp(whole.vertices_mm[:, 1]) > 150.0


def test_brow_shell_is_closed_and_turned_outward(plain):
    brow = plain.part("BrowBark")
    assert dentition.volume_mm3(brow.vertices_mm, brow.faces) > 1000.0


def test_bowl_is_as_deep_as_stated():
    plain, hollow = wardens.cheek("left"), wardens.cheek("left", hollow=True)
    assert len(plain.vertices_mm) == len(hollow.vertices_mm)
    head = demo_module("performer").performer()
    clearance = Surface(head.vertices_mm, head.faces).clearance_mm(hollow.vertices_mm)
    assert clearance.min() == pytest.approx(-wardens.HOLLOW.depth_mm, abs=0.02)


def test_castings_have_the_volume_of_turned_bodies():
    for casting in castings.CASTINGS:
        vertices, faces = castings.casting_mesh(casting)
        assert dentition.volume_mm3(vertices, faces) == pytest.approx(casting.volume_mm3, rel=0.01)


def test_cap_outline_encloses_the_volume_of_a_cap():
    outline = castings.cap_outline(6.0, 4.0)
    turned = castings.Casting(0.0, 0.0, 1e-6, outline).volume_mm3
    assert turned == pytest.approx(castings.cap_volume_mm3(6.0, 4.0), rel=0.01)


def test_castings_lie_on_the_piece_and_not_in_it():
    bronze = snapshots.variant_snapshot("06-warden-bronze")
    piece = bronze.part("FaceBark")
    surface = Surface(piece.vertices_mm, piece.faces)
    for casting in bronze.with_role(Role.HARDWARE):
        assert len(surface.crossings(Surface(casting.vertices_mm, casting.faces))) == 0
        assert surface.closest(casting.vertices_mm).distance_mm.min() < 0.6


PRINT = """
import hashlib, sys
sys.path.insert(0, {addon!r})
from dryfit.demo_door import demo_module
meshes = demo_module("wardens").DESIGNS["03-warden-hollow-cheek"]()
digest = hashlib.sha256()
for mesh in meshes:
    digest.update(mesh.vertices_mm.tobytes()); digest.update(mesh.faces.tobytes())
print(digest.hexdigest())
"""


def test_two_builds_are_the_same_to_the_last_bit():
    digest = hashlib.sha256()
    for mesh in wardens.DESIGNS["03-warden-hollow-cheek"]():
        digest.update(mesh.vertices_mm.tobytes())
        digest.update(mesh.faces.tobytes())
    addon = str(Path(sys.modules["dryfit"].__file__).parents[1])
    again = subprocess.run(
        [sys.executable, "-c", PRINT.format(addon=addon)], capture_output=True, text=True, check=True
    )
    assert again.stdout.strip() == digest.hexdigest()
