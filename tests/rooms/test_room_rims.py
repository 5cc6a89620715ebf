"""The rim nearest to a drawn one: by formula on a plane, on the real head, and said where none lies near."""

import json
from dataclasses import replace

import numpy as np
import pytest

import dryfit
from dryfit import cli
from dryfit.geometry import Surface
from dryfit.geometry.chains import chain_order, spread_along
from dryfit.model.brief import Brief, RoomBrief
from dryfit.model.brief_reading import parse_brief
from dryfit.model.errors import BadValue
from dryfit.model.limits import Limits
from dryfit.report.room_values import room_values, validate_room
from dryfit.report.room_words import said_rim
from dryfit.rooms.edges import EdgeRoom
from dryfit.rooms.rims import suggested_rim
from room_heads import bare_head, room_of_the_head


def plane(allowed, size_mm=60.0, steps=60):
    """A flat skin of which only some allows an edge."""
    x, y = (grid.ravel() for grid in np.meshgrid(*2 * (np.linspace(0.0, size_mm, steps + 1),), indexing="ij"))
    points = np.stack([x, y, 0.0 * x], axis=1)
    i, j = (grid.ravel() for grid in np.meshgrid(np.arange(steps), np.arange(steps), indexing="ij"))
    a = i * (steps + 1) + j
    quads = np.stack([a, a + steps + 1, a + steps + 2, a + 1], axis=1)
    faces = np.concatenate([quads[:, :3], quads[:, [0, 2, 3]]])
    return EdgeRoom(points, faces, allowed(points), 0.0 * x), Surface(points, faces, facing_out=True)


def test_each_place_goes_straight_to_the_nearest_allowed_skin():
    """Skin allows an edge from x = 20 mm on; a line at x = 12 mm moves by 8 mm."""
    edges, skin = plane(lambda points: points[:, 0] >= 20.0)
    rim = suggested_rim("cheek", np.array([[12.0, 10.0, 0.0], [12.0, 50.0, 0.0]]), edges, skin)
    np.testing.assert_allclose(rim.moved_mm, 8.0, atol=1e-9)
    np.testing.assert_allclose(rim.rim_mm[:, 0], 20.0, atol=1e-9)
    np.testing.assert_allclose(rim.rim_mm[:, 1:], rim.drawn_mm[:, 1:], atol=1e-9)
    assert said_rim(rim) == "cheek: 0 % may stay as drawn, the rest moves by up to 8.0 mm"


def test_a_line_that_lies_well_stays():
    edges, skin = plane(lambda points: points[:, 0] >= 20.0)
    rim = suggested_rim("cheek", np.array([[30.0, 10.0, 0.0], [40.0, 50.0, 0.0]]), edges, skin)
    assert rim.kept_share == 1.0 and said_rim(rim) == "cheek: may stay as drawn"


def test_where_none_lies_near_it_is_said():
    edges, skin = plane(lambda points: points[:, 0] >= 45.0)
    far = suggested_rim("brow", np.array([[5.0, 10.0, 0.0], [5.0, 50.0, 0.0]]), edges, skin)
    assert np.isnan(far.rim_mm).all() and said_rim(far) == "brow: no skin within 15 mm of it allows an edge"
    half = suggested_rim("brow", np.array([[10.0, 30.0, 0.0], [50.0, 30.0, 0.0]]), edges, skin)
    assert np.isnan(half.rim_mm[half.drawn_mm[:, 0] < 29.9]).all() and "no skin within 15 mm of 48 %" in said_rim(half)
    nowhere, skin = plane(lambda points: points[:, 0] > 100.0)
    assert suggested_rim("brow", far.drawn_mm, nowhere, skin).lost_share == 1.0


def test_a_line_that_lies_off_the_head_is_said():
    edges, skin = plane(lambda points: points[:, 0] >= 0.0)
    rim = suggested_rim("jaw", np.array([[5.0, 10.0, 300.0], [5.0, 50.0, 300.0]]), edges, skin)
    assert said_rim(rim) == "jaw: the line lies 300 mm off the skin at most; draw it on the head"


def test_points_are_spread_and_chains_are_ordered():
    spread = spread_along(np.array([[0.0, 0.0, 0.0], [5.0, 0.0, 0.0], [5.0, 1.0, 0.0]]), 2.0)
    assert np.linalg.norm(np.diff(spread, axis=0), axis=1).max() <= 2.0 and [5.0, 0.0, 0.0] in spread.tolist()
    assert chain_order(np.array([[3, 1], [0, 2], [1, 2]])).tolist() == [0, 2, 1, 3]
    assert chain_order(np.array([[3, 1], [0, 3], [1, 2], [2, 0]])).tolist() == [0, 2, 1, 3, 0]
    assert chain_order(np.zeros((0, 2), int)).tolist() == []


def test_a_brief_draws_lines():
    brief = parse_brief("[room.rims]\ncheek = [[1, 2, 3], [4, 5.5, 6]]\n")
    assert brief.room.rims == {"cheek": ((1.0, 2.0, 3.0), (4.0, 5.5, 6.0))}
    for wrong in ("[[1, 2, 3]]", "[[1, 2], [3, 4]]", '"round the cheek"', "[[1, 2, 3], [4, 5, 1e9]]"):
        with pytest.raises(BadValue, match=r"\[room.rims\] cheek must be"):
            parse_brief(f"[room.rims]\ncheek = {wrong}\n")


def cheek_line():
    marks = bare_head().landmarks
    return np.array([marks["exocanthion_left"] + [8.0, 0.0, -12.0], marks["cheilion_left"] + [22.0, 12.0, 0.0]])


def test_on_the_real_head_it_lies_where_an_edge_may_end(tmp_path, capsys):
    points = ", ".join(f"[{x:.3f}, {y:.3f}, {z:.3f}]" for x, y, z in cheek_line())
    brief = tmp_path / "brief.toml"
    brief.write_text(f"[room.rims]\ncheek = [{points}]\n")
    dryfit.save_snapshot(bare_head(), tmp_path / "bare.npz")
    assert cli.main(["room", str(tmp_path / "bare.npz"), "--brief", str(brief), "--json"]) == 0
    values = json.loads(capsys.readouterr().out)
    assert validate_room(values)
    (rim,) = values["rims"]
    edges = room_of_the_head().edges
    allowed = Surface(edges.points_mm, edges.faces[edges.allowed[edges.faces].all(axis=1)], facing_out=True)
    points = np.array([point for point in rim["rim_mm"] if point is not None])
    assert rim["name"] == "cheek" and len(points) > 5
    assert allowed.closest(points).distance_mm.max() < 1e-3
    assert len(rim["drawn_mm"]) == len(rim["rim_mm"]) and 0.0 < rim["kept_share"] <= 1.0 - rim["lost_share"]


def test_a_saved_snapshot_keeps_drawn_lines(tmp_path):
    head = replace(bare_head(), rims_mm={"cheek": cheek_line()})
    dryfit.save_snapshot(head, tmp_path / "bare.npz")
    np.testing.assert_array_equal(dryfit.load_snapshot(tmp_path / "bare.npz").rims_mm["cheek"], cheek_line())
    over = Brief(room=RoomBrief(rims={"cheek": ((0.0, 0.0, 0.0), (1.0, 0.0, 0.0))})).with_landmarks(head)
    assert len(over.rims_mm) == 1 and over.rims_mm["cheek"][1].tolist() == [1.0, 0.0, 0.0]


def test_rooms_without_lines_keep_the_schema():
    values = room_values(room_of_the_head(), Limits())
    assert values["rims"] == [] and validate_room(values)
    del values["rims"]
    assert validate_room(values), "as rooms written before had it"
