"""The closing mouth in pictures, and marks that go along with the pose."""

import io

import numpy as np
import pytest
from worn_sphere import key_framed, result, worn_sphere

from dryfit.model.finding import Curve, Field, Finding, Severity, Status
from dryfit.report.closing_frames import BETWEEN, STEPS, closing_frames, moving_png, strip
from dryfit.report.openness import openness
from dryfit.report.placing import placed
from dryfit.report.stage import Stage
from dryfit.report.studio import Studio
from dryfit.report.views import mouth_views

Image = pytest.importorskip("PIL.Image")
GAP = Curve((0.0, 1.0), (1.0, 21.0), "jaw", "gap, mm")


@pytest.fixture(scope="module")
def studio():
    snapshot = worn_sphere()
    return Studio(snapshot, key_framed(snapshot), "dryfit 0")


def frames_of(studio, stop_t=0.0, fields=()):
    view = mouth_views(studio.snapshot.landmarks, studio.frame, 10.0)[0]
    return closing_frames(studio, result("closure", status=Status.FAIL, fields=tuple(fields)), view, stop_t)


@pytest.fixture(scope="module")
def frames(studio):
    return frames_of(studio, 0.2)


def test_frames_run_from_open_to_where_it_stops(frames):
    assert [frames[0].t, frames[-1].t] == pytest.approx([1.0, 0.2])
    assert len(frames) == (STEPS - 1) * (BETWEEN + 1) + 1
    assert np.allclose(np.diff([frame.t for frame in frames]), -0.8 / (len(frames) - 1))
    assert sum(frame.posed for frame in frames) == STEPS


def test_frames_show_the_jaw_moving(frames):
    """Every frame differs from the one before, and the last from the first by more than two neighbours do."""
    first = frames[0].pixels.astype(int)
    off = [np.abs(frame.pixels.astype(int) - first).mean() for frame in frames]
    steps = [np.abs(frames[n].pixels.astype(int) - frames[n + 1].pixels).mean() for n in range(len(frames) - 1)]
    assert min(steps) > 0.1
    assert off[-1] > max(steps)


def test_frames_carry_the_paint_of_what_blocks(studio):
    head = studio.snapshot.part("Head")
    paint = Field("overlap", "Head", np.where(head.vertices_mm[:, 1] < -40.0, 3.0, np.nan), "mm", "must go", 0.0, 3.0)
    plain, painted = frames_of(studio)[0].pixels.astype(int), frames_of(studio, fields=[paint])[0].pixels.astype(int)
    yellow = painted[..., 0] - painted[..., 2]
    assert (yellow > 60).mean() > 0.05
    assert ((plain[..., 0] - plain[..., 2]) > 60).mean() < 0.01


def test_strip_holds_every_pose_and_its_words(frames):
    pixels = strip(frames, GAP)
    height, width = frames[0].pixels.shape[:2]
    assert pixels.shape[1] == STEPS * (width + 6) - 6
    foot = pixels[height:, :width].reshape(-1, 3)
    assert (foot < 100).all(axis=1).sum() > 40


def test_moving_picture_moves_and_ends(frames):
    png = moving_png(frames, GAP, "The jaw closes", "dryfit 0")
    with Image.open(io.BytesIO(png)) as image:
        assert image.n_frames == len(frames)
        assert image.info["loop"] == 3
        assert image.text["Description"] == "The jaw closes"
        first = np.asarray(image.convert("RGB")).astype(int)
        image.seek(image.n_frames - 1)
        assert np.abs(np.asarray(image.convert("RGB")).astype(int) - first).max() > 30
    assert b"dryfit " in png[:200]


def test_a_place_goes_along_with_its_part(studio):
    snapshot, head = studio.snapshot, studio.snapshot.part("Head")
    low = int(head.vertices_mm[:, 1].argmin())
    at = head.vertices_mm[low] - [0, 10.0, 0] + [0.0, 0.0, 2.0]
    found = Finding(Severity.FAIL, "low", "Head", tuple(at), "chin", 1.0, 0.5, "mm", motion="jaw", t=1.0)
    assert np.allclose(placed(found, snapshot, studio.posed, "jaw", 1.0), at)
    assert np.allclose(placed(found, snapshot, studio.posed, "", 0.0), at + [0, 10.0, 0])
    assert np.allclose(placed(found, snapshot, studio.posed, "jaw", 0.5), at + [0, 5.0, 0])


def test_a_place_off_its_part_stays(studio):
    far = Finding(Severity.FAIL, "far", "Head", (0.0, -400.0, 0.0), "", 1.0, 0.5, "mm", motion="jaw", t=1.0)
    assert np.allclose(placed(far, studio.snapshot, studio.posed, "", 0.0), far.at_mm)
    lost = Finding(Severity.FAIL, "lost", "Nobody", (0.0, -110.0, 0.0), "", 1.0, 0.5, "mm", motion="jaw", t=1.0)
    assert np.allclose(placed(lost, studio.snapshot, studio.posed, "", 0.0), lost.at_mm)


def test_shade_taken_over_from_another_pose_is_what_it_would_be(studio):
    """Worked out for what moved and kept for the rest, against worked out for everything."""
    parts = studio.snapshot.parts
    rest = Stage(parts)
    posed = studio.posed("jaw", 1.0)
    carried, alone = Stage(parts, posed, rest), Stage(parts, posed)
    owner = np.repeat(np.arange(len(parts)), np.diff(alone.starts))
    whole = openness(alone.surface, alone.vertex_normals, owner)
    assert np.abs(carried.openness - whole).mean() < 0.01
    still = alone.surface.vertices_mm[:, 1] > 0.0
    assert np.array_equal(carried.openness[still], rest.openness[still])
    assert np.allclose(carried.vertex_normals, alone.vertex_normals, atol=1e-6)
