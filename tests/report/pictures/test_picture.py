import io
from dataclasses import replace

import numpy as np
import pytest

from dryfit.model.finding import Field, Severity, Status
from dryfit.model.snapshot import Part, Snapshot
from dryfit.performer.head_frame import HeadFrame
from dryfit.report.pictures.coat import field_at, field_coat, plain_coat
from dryfit.report.pictures.colour_map import cividis, linear_light
from dryfit.report.pictures.gallery import field_groups, photograph, quiet
from dryfit.report.pictures.limit_lines import AROUND_MM, limits_judged
from dryfit.report.pictures.marks import RADIUS_PX, spread, with_legend
from dryfit.report.pictures.openness import Openness, spread_directions
from dryfit.report.pictures.picture import develop, png_bytes
from dryfit.report.pictures.shot import take
from dryfit.report.pictures.stage import Stage
from dryfit.report.pictures.standpoints import close_view, is_seen, mouth_views, portraits
from dryfit.report.pictures.viewpoint import Viewpoint
from shapes import icosphere
from worn_sphere import LANDMARKS, clearance, finding, key_framed, report, result, worn_sphere

Image = pytest.importorskip("PIL.Image")
FRONT, UP = np.array([0, 0, 1.0]), np.array([0, 1.0, 0])
FRAME = HeadFrame.from_landmarks({name: np.array(place, float) for name, place in LANDMARKS.items()})


def view(height_mm=240.0, size=(240, 240), distance_mm=np.inf, **changed):
    stated = {"name": "front", "words": "front", "centre_mm": np.zeros(3), "toward": FRONT, "up": UP}
    return Viewpoint(**(stated | changed), height_mm=height_mm, size=size, distance_mm=distance_mm)


def sphere_stage(level=5):
    return Stage([Part("Ball", "base", *icosphere(level))])


def test_a_sphere_covers_the_area_of_its_disc():
    """Silhouette of a sphere of radius r under parallel rays: pi r squared."""
    seen = view()
    covered_mm2 = take(sphere_stage(), seen).coverage().sum() * seen.mm_per_pixel**2
    assert covered_mm2 == pytest.approx(np.pi * 100.0**2, rel=0.01)


def test_a_near_sphere_covers_more_as_perspective_says():
    """The rim of a sphere of radius r seen from d: projected radius r d / sqrt(d^2 - r^2)."""
    seen = view(distance_mm=400.0)
    covered_mm2 = take(sphere_stage(), seen).coverage().sum() * seen.mm_per_pixel**2
    assert covered_mm2 == pytest.approx(np.pi * (100.0 * 400.0) ** 2 / (400.0**2 - 100.0**2), rel=0.01)


@pytest.mark.parametrize("distance_mm", [np.inf, 500.0])
def test_a_point_lands_where_its_ray_passes(distance_mm):
    seen = view(distance_mm=distance_mm, size=(300, 240), centre_mm=np.array([3.0, -8, 20]))
    points = np.random.default_rng(4).uniform(-60, 60, (50, 3))
    origins, directions = seen.rays(seen.project(points))
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    off = points - origins
    assert np.linalg.norm(off - (off * directions).sum(1, keepdims=True) * directions, axis=1).max() < 1e-9


def test_the_performers_left_is_on_the_right_of_a_front_view():
    seen = portraits(worn_sphere().base, [], {}, FRAME)[0]
    column = seen.project([FRAME.left * 50])[0, 0]
    assert column > seen.size[0] / 2


def test_a_painted_colour_is_the_maps_colour_shading_aside():
    stage = sphere_stage()
    values = stage.surface.vertices_mm[:, 2]
    field = Field("height", "Ball", values, "mm", "Height", 0, 200)
    shot = take(stage, view())
    coat = field_coat(stage, shot, [field])
    middle = np.flatnonzero(shot.pixel == 120 * 240 + 120)[0]
    wanted = linear_light(cividis([0.5]))[0]
    assert coat.colour[middle] == pytest.approx(wanted, abs=0.01)
    shown = linear_light(develop(stage, shot, coat)[120, 120] / 255.0)
    assert shown / shown.sum() == pytest.approx(wanted / wanted.sum(), abs=0.03)
    assert 0.8 < shown.sum() / wanted.sum() < 1.1


def test_values_are_read_between_vertices():
    stage = sphere_stage()
    field = Field("x", "Ball", stage.surface.vertices_mm[:, 0], "mm", "x", -100, 100)
    shot = take(stage, view())
    samples, values = field_at(stage, shot, field)
    assert values == pytest.approx(shot.point_mm[samples, 0], abs=1e-9)


def test_what_was_not_measured_stays_clay():
    stage = sphere_stage(3)
    field = Field("x", "Ball", np.full(len(stage.surface.vertices_mm), np.nan), "mm", "x", 0, 1)
    assert not field_coat(stage, take(stage, view()), [field]).painted.any()


def test_outlines_are_smooth():
    """Pixels on the rim of a disc are partly covered; a picture without antialiasing has none."""
    coverage = take(sphere_stage(), view()).coverage()
    partly = (coverage > 0.01) & (coverage < 0.99)
    assert partly.sum() > 200
    assert coverage.max() <= 1.0


def test_a_lone_sphere_sees_everything_and_a_bead_inside_nothing():
    vertices, faces = icosphere(3)
    stage = Stage([Part("Ball", "base", vertices, faces)])
    everywhere = np.arange(len(vertices))
    assert stage.openness.at(everywhere).min() > 0.99
    small = Stage([Part("Bead", "base", vertices / 10, faces)])
    inside = Openness(small.surface, -small.vertex_normals, np.zeros(len(vertices), int))
    assert inside.at(everywhere).max() < 0.05


def test_directions_are_spread_evenly():
    directions = spread_directions(26)
    assert np.linalg.norm(directions, axis=1) == pytest.approx(np.ones(26))
    assert np.abs(directions.mean(axis=0)).max() < 0.05


def test_a_dip_below_the_base_shows_through_it_only_where_it_is_painted():
    snapshot = worn_sphere()
    stage = Stage(snapshot.parts)
    middle = 120 * 240 + 120
    seen = view()
    hidden, shown = take(stage, seen), take(stage.showing_through(["Cap"]), seen)
    assert snapshot.parts[hidden.part[hidden.pixel == middle][0]].name == "Head"
    assert snapshot.parts[shown.part[shown.pixel == middle][0]].name == "Cap"
    assert shown.point_mm[shown.pixel == middle][0][2] == pytest.approx(98.5, abs=0.1)


def test_the_limit_is_drawn_where_the_field_passes_it():
    snapshot = worn_sphere()
    stage = Stage(snapshot.parts).showing_through(["Cap"])
    shot = take(stage, view())
    field = clearance(snapshot)
    coat = field_coat(stage, shot, [field])
    bare, lined = develop(stage, shot, coat), develop(stage, shot, coat, [field])
    rows, columns = np.nonzero((bare != lined).any(axis=2))
    radius_mm = np.hypot(rows + 0.5 - 120, columns + 0.5 - 120) * 1.0
    expected_mm = 15.0 * np.sqrt(np.log(5.5 / 4.2))  # where the dip is 0.2 mm deep
    assert len(rows) > 30
    assert np.abs(radius_mm - expected_mm).max() < 1.5


def test_a_limit_is_drawn_only_about_what_counts_and_at_what_that_was_held_against():
    snapshot = worn_sphere()
    cap, field = snapshot.part("Cap"), clearance(snapshot)
    deepest = int(np.argmin(field.values))
    found = replace(finding(), elements=np.array([deepest]), kind="vertices", limit=0.7)
    (line,) = limits_judged([field], [found], snapshot)
    known = np.isfinite(line.values)
    away_mm = np.linalg.norm(cap.vertices_mm - cap.vertices_mm[deepest], axis=1)
    assert line.limit == -0.7, "a depth is painted below zero"
    assert known[deepest] and away_mm[known].max() <= AROUND_MM + 1e-9 and not known.all()
    for quieted in (replace(found, severity=Severity.INFO), replace(found, exception="meant to be seen")):
        assert limits_judged([field], [quieted], snapshot) == []
    in_area = replace(found, unit="mm2", limit=90.0)
    assert limits_judged([field], [in_area], snapshot)[0].limit == field.limit
    assert limits_judged([field], [replace(found, unit="g")], snapshot) == [], "something else was weighed"


def test_what_passes_is_never_painted_as_bright_as_what_fails():
    plain = Field("x", "A", np.zeros(1), "mm", "x", 0, 2, 1)
    signed, share = replace(plain, low=-1, diverging=True), replace(plain, limit=np.nan)
    quieted = quiet([plain, signed, share])
    assert quieted[0].high > 1.5 * plain.high
    assert quieted[1] is signed and quieted[2] is share


def test_a_mouth_that_cannot_shut_is_shown_as_far_shut_as_it_gets():
    snapshot = worn_sphere()
    stopped = result("closure", measures={"closes": 0, "stop_t": 0.4}, findings=[finding()])
    pictures = {each.name: each for each in photograph(report(snapshot, [stopped]), snapshot, key_framed(snapshot), {})}
    assert pictures["worn-front"].caption.endswith("jaw 40 % open")


def test_the_close_view_faces_the_place_and_is_not_blocked():
    stage = Stage(worn_sphere().parts)
    place = np.array([70.0, 0, 71.4]) * 1.05
    seen = close_view(stage, place, 20.0, FRAME)
    assert seen.toward @ (place / np.linalg.norm(place)) > 0.9
    assert is_seen(stage, place, FRAME)
    assert not is_seen(stage, np.zeros(3), FRAME)


def test_portraits_hold_everything_at_one_scale():
    snapshot = worn_sphere()
    views = portraits(snapshot.base, [snapshot.part("Cap").vertices_mm], {}, FRAME)
    assert len({seen.height_mm for seen in views}) == 1
    for seen in views:
        places = seen.project(snapshot.part("Cap").vertices_mm)
        assert (places > 0).all()
        assert (places < seen.size).all()


def test_there_is_no_mouth_view_without_the_corners_of_the_mouth():
    assert mouth_views({}, FRAME) == []
    assert len(mouth_views({name: np.array(place) for name, place in LANDMARKS.items()}, FRAME)) == 2


def test_discs_stay_apart_and_inside():
    places = [np.array([100.0, 100.0]) + step for step in ([0, 0], [1, 0], [0, 1], [2, 2], [90, 90])]
    discs = np.array(spread(places, (200, 200)))
    apart = np.linalg.norm(discs[:, None] - discs[None], axis=2)[np.triu_indices(5, 1)]
    assert apart.min() >= 2 * RADIUS_PX - 0.5
    assert (discs >= RADIUS_PX).all()
    assert (discs <= 200 - RADIUS_PX).all()


def test_the_legend_is_added_beneath_and_the_picture_kept():
    pixels = np.full((60, 320, 3), 200, np.uint8)
    legend = with_legend(pixels, Field("x", "Ball", np.zeros(1), "mm", "Clearance", -5, 5, -0.2, diverging=True))
    assert (legend[:60] == pixels).all()
    assert legend.shape[0] > 100
    assert len(np.unique(legend[60:].reshape(-1, 3), axis=0)) > 100


def test_fields_of_one_name_share_a_scale_and_a_part_is_painted_once():
    fields = [Field("x", part, np.zeros(1), "mm", "x", low, high) for part, low, high in (("A", 0, 2), ("B", -1, 1))]
    other = Field("x", "A", np.zeros(1), "mm", "x", 0, 1, motion="jaw", t=1.0)
    groups = field_groups([*fields, other, Field("y", "A", np.zeros(1), "mm", "y", 0, 1)])
    assert [[field.part for field in group] for group in groups] == [["A", "B"], ["A"], ["A"]]
    assert {(field.low, field.high) for field in groups[0]} == {(-1, 2)}


def test_a_picture_file_says_what_it_shows_and_carries_no_time():
    png = png_bytes(np.zeros((4, 5, 3), np.uint8), "Front, at rest", "dryfit 0.1.0")
    image = Image.open(io.BytesIO(png))
    assert image.text == {"Software": "dryfit 0.1.0", "Description": "Front, at rest"}
    assert b"tIME" not in png


def test_a_report_gets_its_pictures():
    snapshot = worn_sphere()
    stated = report(snapshot, [result(findings=[finding()], fields=(clearance(snapshot),))])
    pictures = list(photograph(stated, snapshot, key_framed(snapshot), {"additive": [("A1", finding())]}))
    names = [picture.name for picture in pictures]
    assert names[:2] == ["fault-1", "worn-front"]
    assert {"worn-profile-left", "worn-front-open", "additive-clearance-front", "additive-worst"} <= set(names)
    assert len(set(names)) == len(names)
    assert all(Image.open(io.BytesIO(picture.png)).size == picture.size for picture in pictures)


def test_nothing_is_painted_of_a_check_that_was_not_made():
    snapshot = worn_sphere()
    stated = report(snapshot, [result("closure", status=Status.NOT_CHECKED, reason="no teeth", measures={})])
    assert all(picture.check == "" for picture in photograph(stated, snapshot, key_framed(snapshot), {}))


def test_eyes_look_ahead():
    vertices, faces = icosphere(4)
    stage = Stage([Part("Eye", "eye_left", vertices / 100 * 12, faces)])
    shot = take(stage, view(height_mm=30.0))
    colour = plain_coat(stage, shot, FRONT).colour.sum(axis=1)
    middle, edge = colour[shot.pixel == 120 * 240 + 120][0], colour[shot.pixel == 120 * 240 + 40][0]
    assert middle < 0.1 * edge


def test_pictures_are_small_where_no_kernel_runs(monkeypatch):
    from dryfit.geometry.twin.twin import Twin
    from dryfit.report.pictures import stage as staging
    from dryfit.report.pictures import studio as studios

    build = staging.Surface
    monkeypatch.setattr(staging, "Surface", lambda vertices, faces: build(vertices, faces, engine=Twin()))
    monkeypatch.setattr(studios, "SMALL_SCALE", 0.1)
    vertices, faces = icosphere(1)
    snapshot = Snapshot(
        "Ball", parts=(Part("Head", "base", vertices, faces), Part("Cap", "appliance", vertices, faces))
    )
    studio = studios.Studio(snapshot, key_framed(snapshot), "dryfit")
    picture = studio.plain("front", "", studios.Setting(), studio.portraits[0])()
    assert picture.small
    assert picture.size == (42, 52)
