"""Pictures of variants from one place, and heights over the base against closed forms."""

import io
import json
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from dryfit.batch.board_pictures import (
    STEP_MM,
    UNMEASURED,
    ZERO,
    board_views,
    camera_key,
    height_maps,
    packed,
    teeth_sizes,
    write_board,
)
from dryfit.batch.task import Task, measure
from dryfit.geometry import Surface
from dryfit.model.brief import Brief
from dryfit.model.progress import drain
from dryfit.model.snapshot import Part, Snapshot
from dryfit.model.snapshot_file import save_snapshot
from dryfit.performer.fitting import Fitting
from shapes import icosphere

MARKS = {
    "tragion_left": [100.0, 0, 0],
    "tragion_right": [-100.0, 0, 0],
    "sellion": [0, 30.0, 95.0],
    "gnathion": [0, -80.0, 60.0],
    "vertex_top": [0, 100.0, 0],
}
"""Left is +x, up +y, front +z."""


def cap(height_mm, level=5, reach=0.5):
    """The part of a sphere about +z that stands a height over it, one way round and thin at no edge."""
    vertices, faces = icosphere(level)
    keep = (vertices[faces][:, :, 2] > 100.0 * reach).all(axis=1)
    used, faces = np.unique(faces[keep], return_inverse=True)
    return vertices[used] * (1 + height_mm / 100.0), faces.reshape(-1, 3)


def sphere(*pieces):
    parts = [Part(f"Cap {number}", "appliance", *piece) for number, piece in enumerate(pieces)]
    return Snapshot("Sphere", parts=(Part("Head", "base", *icosphere(5)), *parts), landmarks=MARKS)


def tusked(snapshot):
    corners = np.array([[5.0, -60, 80], [-5, -60, 80], [0, -55, 80], [0, -60, 260]])
    faces = np.array([[0, 1, 2], [0, 3, 1], [1, 3, 2], [2, 3, 0]])
    return replace(snapshot, parts=(*snapshot.parts, Part("Tusk", "hardware", corners, faces)))


def heights(snapshot):
    return {each.view.name: each.height_mm for each in height_maps(Fitting(snapshot, Brief()))}


def test_every_variant_of_a_base_is_seen_through_the_same_cameras():
    plain, other = sphere(cap(4.0)), tusked(sphere(cap(9.0, reach=0.2)))
    for one, two in zip(board_views(plain), board_views(other), strict=True):
        assert {name: np.array2string(np.asarray(value), precision=17) for name, value in vars(one).items()} == {
            name: np.array2string(np.asarray(value), precision=17) for name, value in vars(two).items()
        }
    assert camera_key(plain) == camera_key(other)


def test_another_base_or_other_landmarks_are_another_camera():
    plain = sphere(cap(4.0))
    head = plain.base
    larger = replace(plain, parts=(replace(head, vertices_mm=head.vertices_mm * 1.01), plain.parts[1]))
    turned = replace(plain, landmarks={**MARKS, "gnathion": [0, -80.0, 80.0]})
    dented_mm = head.vertices_mm.copy()
    dented_mm[np.argmin(np.abs(dented_mm - [57.7, 57.7, 57.7]).sum(axis=1))] *= 0.99  # the cameras stay where they are
    dented = replace(plain, parts=(replace(head, vertices_mm=dented_mm), plain.parts[1]))
    assert len({camera_key(each) for each in (plain, larger, turned, dented)}) == 4


def test_heights_over_a_sphere_are_the_cap_s_own():
    seen = heights(sphere(cap(4.0)))["front"]
    worn = seen[np.abs(seen) > 1.0]
    assert worn.size > 1000
    # base and cap are the same faces scaled: a flat face's normal crosses both at nearly the same place
    np.testing.assert_allclose(worn, 4.0, atol=0.02)
    rest = seen[np.isfinite(seen) & (np.abs(seen) <= 1.0)]
    assert rest.size > 1000 and not rest.any()
    assert np.isnan(seen[0, 0])


def test_two_variants_differ_by_what_one_stands_out_further():
    low, high = heights(sphere(cap(4.0)))["front"], heights(sphere(cap(5.5)))["front"]
    both = (np.abs(low) > 1.0) & (np.abs(high) > 1.0)
    np.testing.assert_allclose((high - low)[both], 1.5, atol=0.02)
    assert both.sum() > 1000


def test_a_hollow_below_the_skin_is_negative_and_an_overhang_is_not_measured():
    hollow = heights(sphere(cap(-3.0)))["front"]
    np.testing.assert_allclose(hollow[np.abs(hollow) > 1.0], -3.0, atol=0.02)
    vertices, faces = cap(20.0)
    inner_vertices, inner_faces = cap(12.0)
    roof = np.concatenate([vertices, inner_vertices]), np.concatenate([faces, inner_faces[:, ::-1] + len(vertices)])
    both = heights(sphere(roof))["front"]
    assert (np.abs(both[np.abs(both) > 1.0] - 20.0) < 0.1).mean() > 0.999  # at its very rim a pixel may see under it


def test_what_stands_over_other_skin_is_no_height_of_this():
    vertices, faces = icosphere(6)
    furrowed = vertices * (1.0 - 0.35 * np.exp(-((vertices[:, :1] / 18.0) ** 2)))
    normals = Surface(furrowed, faces).vertex_normals
    wall = (furrowed[:, 0] > 4.0) & (furrowed[:, 0] < 30.0) & (furrowed[:, 2] > 40.0)
    used, own = np.unique(faces[wall[faces].all(axis=1)], return_inverse=True)
    piece = Part("Wall bark", "appliance", furrowed[used] + 3.0 * normals[used], own.reshape(-1, 3))
    seen = heights(Snapshot("Furrow", parts=(Part("Head", "base", furrowed, faces), piece), landmarks=MARKS))["front"]
    assert (np.abs(seen - 3.0) < 0.3).sum() > 300
    assert np.nanmax(seen) < 3.0 / 0.5


def test_the_nearer_of_two_pieces_counts():
    seen = heights(sphere(cap(2.0), cap(6.0, reach=0.8)))["front"]
    assert set(np.round(seen[np.abs(seen) > 1.0]).tolist()) == {2.0, 6.0}


@pytest.mark.parametrize("height_mm", [0.0, -11.99, 3.14, 59.5])
def test_heights_are_packed_to_a_hundredth(height_mm):
    red, green, _ = packed(np.array([[height_mm]]))[0, 0].astype(int)
    assert (red * 256 + green - ZERO) * STEP_MM == pytest.approx(height_mm, abs=1e-9)
    red, green, _ = packed(np.array([[np.nan]]))[0, 0].astype(int)
    assert red * 256 + green == UNMEASURED


def test_bare_skin_is_the_same_pixels_in_every_variant(tmp_path):
    pictures = []
    for name, design in (("one", sphere(cap(4.0, reach=0.8))), ("two", tusked(sphere(cap(7.0, reach=0.8))))):
        files = drain(write_board(Fitting(design, Brief()), tmp_path / name))
        assert {path.name for path in files} >= {"front.png", "profile-left.png", "thumb.jpg", "heights.js"}
        pictures.append(np.asarray(Image.open(tmp_path / name / "board" / "profile-left.png")).astype(int))
    # seen from its left, the head looks to the left: its back is on the right of the picture, far from either cap
    back = np.s_[:, -pictures[0].shape[1] // 3 :]
    assert np.abs(pictures[0][back] - pictures[1][back]).max() <= 2
    assert np.abs(pictures[0] - pictures[1]).max() > 50
    keys = {json.loads((tmp_path / name / "board" / "camera.json").read_text())["key"] for name in ("one", "two")}
    assert len(keys) == 1


def test_a_folder_of_pictures_that_leads_elsewhere_is_not_followed(tmp_path):
    save_snapshot(sphere(cap(4.0)), tmp_path / "one.npz")
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "out" / "one").mkdir(parents=True)
    (tmp_path / "out" / "one" / "board").symlink_to(tmp_path / "elsewhere")
    row = measure(Task(str(tmp_path / "one.npz"), "", str(tmp_path / "out"), "one", ("additive",)))
    assert row.verdict == "unusable"
    assert "elsewhere" in row.reason
    assert not list((tmp_path / "elsewhere").iterdir())


def test_the_heights_script_calls_the_page_and_holds_the_maps(tmp_path):
    import base64

    design = sphere(cap(4.0))
    drain(write_board(Fitting(design, Brief()), tmp_path / "one"))
    text = (tmp_path / "one" / "board" / "heights.js").read_text(encoding="utf8")
    arguments = json.loads("[" + text[len("boardHeights(") : -3] + "]")
    assert arguments[0] == "one"
    pixels = np.asarray(Image.open(io.BytesIO(base64.b64decode(arguments[1]["front"].split(",")[1])))).astype(int)
    steps = pixels[..., 0] * 256 + pixels[..., 1]
    expected = heights(design)["front"]
    np.testing.assert_allclose(
        ((steps - ZERO) * STEP_MM)[steps != UNMEASURED], expected[~np.isnan(expected)], atol=0.0051
    )


def test_teeth_that_differ_are_told_beside_heights_of_skin():
    design = sphere(cap(4.0))
    assert teeth_sizes(design) == {}
    box = np.array([[x, y, z] for x in (0, 8) for y in (0, 5) for z in (0, 10)], float)
    faces = [[0, 1, 3], [4, 6, 7]]
    short, long = (
        replace(design, parts=(*design.parts, Part("Teeth", "upper_teeth", points, faces)))
        for points in (box, box * [1.0, 1.0, 1.2])
    )
    one, two = teeth_sizes(short)["upper_teeth"], teeth_sizes(long)["upper_teeth"]
    assert one["size_mm"] == [8.0, 5.0, 10.0] and two["size_mm"] == [8.0, 5.0, 12.0]
    assert one["print"] != two["print"] == teeth_sizes(long)["upper_teeth"]["print"]
