import io

import numpy as np
import pytest

from dryfit.model.brief import Brief
from dryfit.model.finding import Curve, Field
from dryfit.model.progress import drain
from dryfit.model.snapshot import Part
from dryfit.report.closing_steps import STEPS, closing_steps, meeting_names
from dryfit.report.pictures.close_up import in_view
from dryfit.report.pictures.coat import plain_coat
from dryfit.report.pictures.gallery import photograph
from dryfit.report.pictures.moving import HELD_MS, STEP_MS, closing_gif
from dryfit.report.pictures.name_tags import NamedPiece, name_pieces
from dryfit.report.pictures.normals import outward_faces
from dryfit.report.pictures.openness import Openness
from dryfit.report.pictures.picture import develop, png_bytes
from dryfit.report.pictures.shot import take
from dryfit.report.pictures.stage import Stage
from dryfit.report.pictures.studio import Setting, Studio, marks_on
from dryfit.report.pictures.viewpoint import Viewpoint
from dryfit.report.writing import write_report
from shapes import icosphere
from worn_sphere import LANDMARKS, check, finding, key_framed, report, result, worn_sphere

Image = pytest.importorskip("PIL.Image")
T = tuple(np.linspace(0, 1, 33).tolist())


def closing(stop_t=0.25, pair="left lower canine / upper lip", closes=0.0, **changed):
    """A jaw whose lips part by 32 mm at the midline and 34 mm at the widest, in step with t."""
    curves = {
        "gap_by_t": Curve(T, tuple(34.0 * t for t in T), "t", "gap, mm"),
        "gap_by_t_midline": Curve(T, tuple(32.0 * t for t in T), "t", "gap, mm"),
    }
    measures = {"stop_t": stop_t, "lips_left_mm": 32.0 * stop_t, "residual_gap_mm": 34.0 * stop_t, "closes": closes}
    return result("closure", measures=measures | {"contact_pair": pair}, curves=curves, **changed)


def test_the_steps_run_from_wide_open_to_where_it_stopped_at_poses_that_were_read():
    steps = closing_steps(closing(0.26))
    assert len(steps) == STEPS
    assert steps[0].t == 1.0
    assert steps[-1].t == 0.26
    assert (np.diff([step.t for step in steps]) < 0).all()
    assert {step.t for step in steps[:-1]} <= set(T)
    assert [step.gap_mm for step in steps] == pytest.approx([34.0 * step.t for step in steps])
    assert [step.opening_mm for step in steps] == pytest.approx([32.0 * step.t for step in steps])
    words = steps[-1].words.replace("\u00a0", " ")
    assert words == (
        "Jaw 26 % open: lips 8.32 mm apart at the midline, largest gap 8.84 mm. Stopped: left lower canine meets upper lip."
    )
    assert [step.ending for step in steps[:-1]] == [""] * (STEPS - 1)


def test_the_last_step_says_how_it_ended():
    assert closing_steps(closing(0.0, "", 1.0))[-1].ending == "The lips meet."
    assert "do not meet" in closing_steps(closing(-0.2, "", 0.0))[-1].ending
    assert meeting_names(closing(0.0, "")) is None


def test_no_steps_without_what_was_measured():
    assert closing_steps(result("closure")) == ()
    assert closing_steps(closing(float("nan"))) == ()


def stills(count=4):
    return [png_bytes(np.full((20, 30, 3), 60 * place, np.uint8), "", "dryfit") for place in range(count)]


def test_the_moving_picture_closes_waits_and_opens_again():
    moving = Image.open(io.BytesIO(closing_gif(stills())))
    assert (moving.n_frames, moving.size, moving.info["loop"]) == (6, (30, 20), 0)
    shades, waits = [], []
    for place in range(moving.n_frames):
        moving.seek(place)
        shades.append(moving.convert("RGB").getpixel((5, 5))[0])
        waits.append(moving.info["duration"])
    assert shades == pytest.approx([0, 60, 120, 180, 120, 60], abs=4)
    assert waits == [HELD_MS, STEP_MS, STEP_MS, HELD_MS, STEP_MS, STEP_MS]
    assert closing_gif(stills(1)) == b""


def test_a_page_shows_the_steps_in_order_and_moves_only_for_those_who_want_it(tmp_path):
    snapshot = worn_sphere()
    stated = report(snapshot, [closing()])
    drain(write_report(stated, snapshot, Brief(), tmp_path, checks=[check("closure")], posed=key_framed(snapshot)))
    page = (tmp_path / "report.html").read_text("utf-8")
    shown = [page.index(f"Jaw {100 * step.t:.0f} % open: lips") for step in closing_steps(closing())]
    assert shown == sorted(shown)
    assert page.count('src="data:image/gif;base64,') == 1
    assert "@media (prefers-reduced-motion: reduce) { .moving { display: none; }" in page
    assert '<details class="moving"><summary>Watch it close</summary>' in page
    assert Image.open(tmp_path / "heatmaps" / "closure-closing.gif").n_frames == 2 * STEPS - 2
    drain(write_report(report(snapshot, [result()]), snapshot, Brief(), tmp_path, checks=[check("additive")]))
    assert not (tmp_path / "heatmaps" / "closure-closing.gif").exists()
    assert "image/gif" not in (tmp_path / "report.html").read_text("utf-8")


def test_the_two_that_meet_are_painted_and_named():
    snapshot = worn_sphere()
    head, piece = snapshot.part("Head").vertices_mm, snapshot.part("Cap").vertices_mm
    fields = tuple(
        Field("pair", name, np.where(vertices[:, 2] > 60, mark, np.nan), "", "x", 0, 1, motion="jaw", t=0.25)
        for name, vertices, mark in (("Cap", piece, 0.0), ("Head", head, 1.0))
    )
    stated = report(snapshot, [closing(fields=fields, findings=[finding()])])
    pictures = {picture.name: picture for picture in photograph(stated, snapshot, key_framed(snapshot), {})}
    assert pictures["closure-pair"].words.startswith("Left lower canine and upper lip, jaw 25 % open")
    assert pictures["closure-pair"].large
    assert not [name for name in pictures if name.startswith("closure-pair-")]


def test_a_name_stands_in_its_corner_with_its_colour():
    blank = np.full((300, 400, 3), 200, np.uint8)
    named = name_pieces(blank, [NamedPiece("upper lip", np.array([300.0, 100.0]), (200, 10, 10))])
    rows, columns = np.nonzero((named == [200, 10, 10]).all(axis=2))
    assert len(rows) > 60
    assert rows.max() < 40
    assert columns.min() > 200


def test_a_mark_stands_where_its_place_is_in_the_pose_of_the_picture():
    """The lower part of the head drops by 10 mm: a finding made at rest on it drops too, one made open does not."""
    snapshot = worn_sphere()
    studio = Studio(snapshot, key_framed(snapshot), "dryfit")
    place = snapshot.base.vertices_mm[np.argmin(np.abs(snapshot.base.vertices_mm - [0, -80, 60]).sum(axis=1))]
    at_rest = finding(object="Head", at_mm=tuple(place))
    assert studio.carried_one(at_rest, Setting()).at_mm == tuple(place)
    assert studio.carried_one(at_rest, Setting("jaw", 1.0)).at_mm == pytest.approx(place - [0, 10, 0])
    assert studio.carried_one(at_rest, Setting("jaw", 0.5)).at_mm == pytest.approx(place - [0, 5, 0])
    opened = finding(object="Head", at_mm=tuple(place - [0, 10, 0]), motion="jaw", t=1.0)
    assert studio.carried_one(opened, Setting()).at_mm == pytest.approx(place)
    assert studio.carried_one(opened, Setting("jaw", 1.0)).at_mm == opened.at_mm
    assert studio.carried_one(finding(object="Nobody"), Setting("jaw", 1.0)).at_mm == finding().at_mm
    view = studio.portraits[0]
    rest, dropped = (
        marks_on(studio.stage(setting), view, studio.carried([("A1", at_rest)], setting), True)[0].place
        for setting in (Setting(), Setting("jaw", 1.0))
    )
    assert dropped[1] - rest[1] == pytest.approx(10.0 / view.mm_per_pixel, rel=0.05)


def mouth_view():
    marks = {name: np.array(place, float) for name, place in LANDMARKS.items()}
    middle = 0.5 * (marks["cheilion_left"] + marks["cheilion_right"])
    return Viewpoint("mouth", "mouth", middle, np.array([0, 0, 1.0]), np.array([0, 1.0, 0]), 60.0, (120, 120))


def test_a_close_up_shows_what_the_whole_design_shows():
    snapshot, view = worn_sphere(), mouth_view()
    posed = key_framed(snapshot)
    studio = Studio(snapshot, posed, "dryfit")
    close_up = studio.close_up("jaw", (1.0,), view)
    assert sum(len(part.faces) for part in close_up.parts) < 0.5 * sum(len(part.faces) for part in snapshot.parts)
    for t in (1.0, 0.4):
        whole, piece = Stage(snapshot.parts, posed("jaw", t)), close_up.stage(t)
        shots = [take(stage, view) for stage in (whole, piece)]
        assert shots[0].point_mm == pytest.approx(shots[1].point_mm, abs=1e-9)
        pictures = [
            develop(stage, shot, plain_coat(stage, shot, studio.frame.front)).astype(int)
            for stage, shot in zip((whole, piece), shots, strict=True)
        ]
        assert np.abs(pictures[0] - pictures[1]).max() <= 12


def test_what_lies_behind_or_beside_is_not_in_view():
    view = mouth_view()
    points = view.centre_mm + np.array([[0, 0, 0], [0, 0, -80], [0, 0, 60], [45, 0, 0], [38, 0, 0]], float)
    assert in_view(points, view).tolist() == [True, False, True, False, True]


def test_openness_is_the_same_whether_asked_for_bit_by_bit_or_at_once():
    vertices, faces = icosphere(4)
    dented = vertices * (1 - 0.4 * np.exp(-(((vertices - [0, 0, 100]) / 35.0) ** 2).sum(axis=1)))[:, None]
    stage = Stage([Part("Ball", "base", dented, faces)])
    everything = np.arange(len(vertices))
    whole = stage.openness.at(everything)
    some = np.flatnonzero(vertices[:, 2] > 60)
    fresh = Openness(stage.surface, stage.vertex_normals, np.zeros(len(vertices), int))
    assert np.abs(fresh.at(some) - whole[some]).max() < 0.12
    assert np.abs(fresh.at(some) - whole[some]).mean() < 0.02
    assert whole[some].min() < 0.7


def test_faces_are_turned_outward_also_where_a_mesh_disagrees_with_itself():
    vertices, faces = icosphere(2)
    mixed = faces.copy()
    mixed[::3] = mixed[::3, ::-1]
    for given in (faces, faces[:, ::-1], mixed):
        turned = outward_faces(Part("Ball", "base", vertices, given))
        corners = vertices[turned]
        normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        assert ((normals * corners.mean(axis=1)).sum(axis=1) > 0).all()
