"""What a room writes: values that keep their schema, arrays, a cage, a page; and what it says of bad input."""

import io
import json
from dataclasses import replace

import numpy as np
import pytest

import dryfit
from dryfit import cli
from dryfit.geometry.areas import areas_mm2, vertex_areas_mm2
from dryfit.model.brief import Brief
from dryfit.model.limits import Limits
from dryfit.model.progress import drain
from dryfit.performer.fitting import Fitting
from dryfit.report.room_page import write_room
from dryfit.report.room_values import InvalidRoom, cage_ply, room_json, room_npz, room_values, validate_room
from dryfit.report.room_words import explain_room, said_mm, said_region, said_tooth
from dryfit.rooms.kinds import kinds_of
from dryfit.rooms.room import Region, measure_room
from dryfit.rooms.teeth import ToothRoom
from room_heads import bare_head, room_of_the_head


@pytest.fixture(scope="module")
def values():
    return room_values(room_of_the_head(), Limits())


def test_the_values_keep_the_schema(values):
    assert validate_room(values)
    assert json.loads(room_json(values)) == values


def test_values_that_break_the_schema_are_named(values):
    with pytest.raises(InvalidRoom, match="stops"):
        validate_room({**values, "stops": [{"id": ""}]})


def test_the_arrays_hold_the_map():
    room = room_of_the_head()
    with np.load(io.BytesIO(room_npz(room))) as arrays:
        assert {"vertices_mm", "faces", "room_mm", "stopped_by", "stops"} <= set(arrays.files)
        known = np.isfinite(arrays["room_mm"])
        assert (arrays["stopped_by"][~known] == -1).all()
        assert arrays["stopped_by"].max() < len(arrays["stops"])
        assert (arrays["room_mm"][known] >= 0.0).all()
        np.testing.assert_array_equal(arrays["vertices_mm"], room.vertices_mm)
    assert room_npz(room) == room_npz(room)


def test_the_cage_stands_at_the_height_of_the_room():
    room = room_of_the_head()
    head, _, body = cage_ply(room).partition(b"end_header\n")
    count = int(head.split(b"element vertex ")[1].split()[0])
    faces = int(head.split(b"element face ")[1].split()[0])
    points = np.frombuffer(body[: count * 16], "<f4").reshape(-1, 4)
    assert len(body) == count * 16 + faces * 13
    used = np.unique(room.faces[room.told[room.faces].all(axis=1)])
    np.testing.assert_allclose(points[:, :3], room.cage_mm[used], atol=1e-3)
    away = np.linalg.norm(points[:, :3] - room.vertices_mm[used], axis=1)
    np.testing.assert_allclose(away, room.room_mm[used], atol=1e-2)


def test_kinds_keep_their_words_and_count_area():
    room = room_of_the_head()
    kinds, kind = kinds_of(room)
    words = [each.words for each in kinds]
    assert "the share of the field that must be left" in words and "the nostril" in words and "the ear" in words
    areas = vertex_areas_mm2(room.vertices_mm, room.faces)
    assert areas.sum() == pytest.approx(areas_mm2(room.vertices_mm[room.faces]).sum())
    for number, each in enumerate(kinds):
        assert each.share == pytest.approx(areas[kind == number].sum() / areas[room.told].sum())
    assert [each.share for each in kinds] == sorted((each.share for each in kinds), reverse=True)


def test_the_page_is_whole(tmp_path):
    room = room_of_the_head()
    files = drain(write_room(room, bare_head(), Brief(), tmp_path))
    assert [file.name for file in files] == ["room.json", "room.npz", "cage.ply", "room.html"]
    page = (tmp_path / "room.html").read_text(encoding="utf-8")
    assert page.count("<img") == 9
    assert "right upper canine" in page
    assert "never a clearance" in page
    assert "http" not in page.replace("http-equiv", "")


def test_the_command_line_writes_and_prints(tmp_path, capsys):
    saved = tmp_path / "bare.npz"
    dryfit.save_snapshot(bare_head(), saved)
    assert cli.main(["room", str(saved), "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert validate_room(printed)
    assert len(printed["variant"]["sha256"]) == 64
    assert cli.main(["explain", "room"]) == 0
    assert capsys.readouterr().out == explain_room()


def test_a_file_that_cannot_be_used_is_said(tmp_path, capsys):
    assert cli.main(["room", str(tmp_path / "none.npz")]) == 2
    assert "there is no such file" in capsys.readouterr().err
    broken = tmp_path / "broken.npz"
    broken.write_bytes(b"no archive")
    assert cli.main(["room", str(broken), "--out", str(tmp_path / "out")]) == 2
    assert not (tmp_path / "out").exists()


def test_a_room_can_be_stopped_between_steps():
    job = measure_room(Fitting(bare_head(), Brief()))
    steps = [next(job) for _ in range(2)]
    job.close()
    assert all(0.0 <= step.fraction <= 1.0 for step in steps)


def test_words_say_what_is_not_known():
    room = room_of_the_head()
    assert said_mm(float("nan")) == "not known"
    assert said_mm(60.0) == "60 mm and more"
    nothing = Region("brow", *[float("nan")] * 3, "", "", 1.0)
    assert said_region(nothing, room) == "brow: not known"
    brow = Region("brow", 2.0, 8.0, 18.2, "sight_share", "sight_down", 0.0)
    assert said_region(brow, room).startswith("brow: up to 18 mm, stopped by sight downward; mostly 8.0 mm")
    assert said_tooth(ToothRoom("fang", "Row", float("nan"), 1.0, 2.0)) == "fang: not known"
    assert "1.0 mm longer, until it presses into flesh" in said_tooth(ToothRoom("fang", "Row", 5.0, 1.0, 2.0))


def test_weight_counts_what_is_worn():
    room = room_of_the_head()
    silicone = next(left for left in room.weights if left.material == "silicone")
    assert silicone.volume_cm3 == pytest.approx(min(silicone.mass_g, silicone.moment_mass_g) / 1.07)
    assert silicone.mass_g == pytest.approx(Limits().head_mass_review_g, rel=0.05)


def test_an_edge_keeps_off_what_moves_and_goes_to_the_nearest_place():
    room = room_of_the_head()
    assert 0.2 < room.edges.allowed.mean() < 0.9
    near = np.linalg.norm(room.vertices_mm - bare_head().landmarks["labiale_superius"], axis=1) < 4.0
    assert not room.edges.allowed[near].any()
    line = bare_head().landmarks["labiale_superius"] + np.array([[0.0, 0.0, 0.0], [3.0, 0.0, 0.0]])
    moved = room.edges.nearest(line)
    assert np.isfinite(moved).all()
    assert (np.linalg.norm(moved - line, axis=1) > 4.0).all()
    none = replace(room.edges, allowed=np.zeros(len(room.edges.allowed), bool))
    assert np.isnan(none.nearest(line)).all()


@pytest.mark.slow
def test_a_bare_scan_without_rig_or_landmarks_says_what_it_does_not_know():
    head = bare_head()
    scan = replace(head, parts=(replace(head.base, areas={}),), landmarks={}, motions={})
    room = dryfit.room(scan)
    assert any("were proposed and nobody confirmed" in note for note in room.notes)
    assert any("jaw" in note for note in room.notes), "a hinge stands in for the rig"
    eyes = np.linalg.norm(room.vertices_mm - head.landmarks["pupil_left"], axis=1) < 12.0
    assert np.isnan(room.room_mm[eyes]).all()
    assert any("blink" in reason for reason in room.reasons)
    assert room.teeth.why.startswith("There are no teeth")
    assert np.isfinite(room.room_mm).any()
    validate_room(room_values(room, Limits()))
