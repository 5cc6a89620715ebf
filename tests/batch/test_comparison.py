"""Is this still the one that was approved: on a real head (CC0), with changes whose size is known."""

import json
import re
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from dryfit.batch.comparison import CHANGED, STILL, UNKNOWN, compare_all, compare_revisions
from dryfit.batch.comparison_page import write_comparison
from dryfit.batch.comparison_pictures import change_fields, scale_mm
from dryfit.batch.comparison_words import answered, to_dict, told
from dryfit.batch.repeatability import MADE, SHARE, measured_spread, repeatable_within
from dryfit.batch.revision import read_revision
from dryfit.batch.task import Task, measure
from dryfit.cli import main
from dryfit.geometry import Surface
from dryfit.geometry.rigid import RigidMotion, turn_about
from dryfit.model.progress import drain
from dryfit.model.snapshot import Part, Snapshot
from dryfit.model.snapshot_file import save_snapshot
from dryfit.performer.regions import Regions

STORED = Path(__file__).parent.parent / "performer" / "landmarks" / "data" / "heads_cc0.npz"
REACH_MM, THICK_MM = 34.0, 2.0
ONLY = ("additive", "thickness")
EVIL = "Warden </title><script>alert(1)</script> 'q' \"q\""


@cache
def head():
    with np.load(STORED) as stored:
        vertices = stored["head_female_young_asian"] * float(stored["unit_mm"])
        quads = stored["quads"].astype(np.int64)
        marks = dict(zip(map(str, stored["names"]), vertices[stored["at"]], strict=True))
    return Part("Head", "base", vertices, np.concatenate([quads[:, :3], quads[:, [0, 2, 3]]])), marks


@cache
def cheek_bark():
    """A piece over the left cheek that thins out toward its edge; returns it, its middle and the way out of it."""
    base, marks = head()
    surface = Surface(base.vertices_mm, base.faces)
    places = Regions.from_landmarks(marks)
    anchor = places.anchors_mm[places.names.index("left cheek")]
    middle = surface.closest(anchor[None]).point[0]
    far = np.linalg.norm(base.vertices_mm - middle, axis=1)
    outward = surface.vertex_normals
    seen = outward @ outward[far.argmin()] > 0.2
    kept = base.faces[((far < REACH_MM) & seen)[base.faces].all(axis=1)]
    vertices, faces = finer(base.vertices_mm, kept)
    near = surface.closest(vertices)
    normals = np.einsum("kc,kcx->kx", near.barycentric, outward[base.faces[near.face]])
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    thickness = THICK_MM * np.clip(1 - np.linalg.norm(vertices - middle, axis=1) / REACH_MM, 0, 1) + 0.1
    return vertices + thickness[:, None] * normals, faces, middle, normals


def finer(vertices, faces, rounds=2):
    import trimesh

    for _ in range(rounds):
        vertices, faces = trimesh.remesh.subdivide(vertices, faces)
    used, faces = np.unique(faces, return_inverse=True)
    return vertices[used], faces.reshape(-1, 3)


def bumped(height_mm, wide_mm=8.0):
    """The piece with a soft round bump of a height at its middle, pushed along one direction: the height is exact."""
    vertices, faces, middle, normals = cheek_bark()
    centre = np.linalg.norm(vertices - middle, axis=1).argmin()
    far = np.linalg.norm(vertices - vertices[centre], axis=1)
    lift = height_mm * np.cos(np.clip(far / wide_mm, 0, 1) * np.pi / 2) ** 2
    return vertices + lift[:, None] * normals[centre], faces


def warden(piece=None, name="Warden of the salt trees", **more):
    base, marks = head()
    vertices, faces = piece or cheek_bark()[:2]
    return Snapshot(name, parts=(base, Part("Cheek bark", "appliance", vertices, faces)), landmarks=marks, **more)


def moved(snapshot, motion):
    parts = tuple(replace(part, vertices_mm=motion.apply(part.vertices_mm)) for part in snapshot.parts)
    marks = {name: motion.apply(point) for name, point in snapshot.landmarks.items()}
    return replace(snapshot, parts=parts, landmarks=marks)


def compared(tmp_path, before, after, **options):
    paths = [save_snapshot(design, tmp_path / f"{number}.npz") for number, design in enumerate((before, after))]
    (step,) = drain(compare_all(paths, only=ONLY, **options))
    return step


def test_the_same_design_is_still_the_one(tmp_path):
    step = compared(tmp_path, warden(), warden())
    assert step.answer == STILL
    assert step.shape.max_mm < 1e-12
    assert answered(step).startswith("Yes: its surfaces lie within 0.00\u00a0mm")
    assert not step.flips and not step.moves and not step.shape.places


@pytest.mark.parametrize("height_mm", [3.0, -1.2])
def test_a_bump_is_named_with_its_place_its_size_and_its_way(tmp_path, height_mm):
    step = compared(tmp_path, warden(), warden(bumped(height_mm)))
    assert step.answer == CHANGED
    place = step.shape.places[0]
    assert (place.group, place.part, place.region) == ("appliances", "Cheek bark", "left cheek")
    # the nearest place of a gently sloping skin is nearer than the one straight below, never further
    assert 0.93 * abs(height_mm) < abs(place.change_mm) <= abs(height_mm) + 1e-9
    assert np.sign(place.change_mm) == np.sign(height_mm)
    assert np.linalg.norm(np.array(place.at_mm) - cheek_bark()[2]) < 8.0
    # the bump's foot is 8 mm wide; of it, what is over a tenth of a millimetre
    share = np.arccos(np.sqrt(0.1 / abs(height_mm))) / (np.pi / 2)
    assert place.area_mm2 == pytest.approx(np.pi * (8.0 * share) ** 2, rel=0.25)
    assert re.match(
        r"No: its shape differs by up to [\d.]+\u00a0mm, where 0.10\u00a0mm is allowed: the cheek bark at the left cheek ",
        answered(step),
    )
    assert ("stands out" if height_mm > 0 else "lies deeper") in answered(step)


@pytest.mark.parametrize("wide_mm", [5.0, 8.0])
def test_one_change_has_one_figure_whichever_skin_it_is_measured_from(tmp_path, wide_mm):
    step = compared(tmp_path, warden(bumped(6.0, wide_mm=wide_mm)), warden(bumped(2.0)))
    (group,) = step.shape.groups
    assert abs(step.shape.places[0].change_mm) == step.shape.max_mm == group.change.max_mm
    said = f"{step.shape.max_mm:.2f}\u00a0mm"
    assert answered(step).count(said) == 2
    assert max(abs(place["change_mm"]) for place in to_dict(step)["shape"]["places"]) == step.shape.max_mm


def test_a_small_change_is_allowed_and_the_allowance_can_be_set(tmp_path):
    step = compared(tmp_path, warden(), warden(bumped(0.04)))
    assert step.answer == STILL
    assert 0.035 < step.shape.max_mm <= 0.04 + 1e-9
    strict = compared(tmp_path, warden(), warden(bumped(0.04)), within_mm=0.02)
    assert strict.answer == CHANGED


def test_the_same_skin_with_other_faces_is_still_the_one(tmp_path):
    finely = finer(*cheek_bark()[:2], rounds=1)
    step = compared(tmp_path, warden(), warden(finely))
    assert step.shape.max_mm < 1e-6
    assert step.answer == STILL, told(step)


def test_a_moved_scene_changes_nothing_and_is_said(tmp_path):
    motion = turn_about([0, 600.0, 0], [0, 0, 1.0], np.radians(9.0)).after(RigidMotion(np.eye(3), [30.0, 0, 40.0]))
    step = compared(tmp_path, warden(), moved(warden(), motion))
    assert step.shape.max_mm < 1e-6
    assert step.answer == STILL, told(step)
    assert "the two were laid on each other before comparing" in told(step)
    assert "turned by 9.0°" in told(step)


def test_a_piece_that_slipped_is_told_from_one_that_was_resculpted(tmp_path):
    vertices, faces, _, normals = cheek_bark()
    slip = 0.8 * normals.mean(axis=0) / np.linalg.norm(normals.mean(axis=0))
    step = compared(tmp_path, warden(), warden((vertices + slip, faces)))
    (shift,) = step.shape.shifts
    assert (shift.part, shift.distance_mm) == ("Cheek bark", pytest.approx(0.8, abs=1e-6))
    assert shift.turn_deg == pytest.approx(0.0, abs=1e-4)
    assert step.shape.max_mm == pytest.approx(0.8, abs=0.05)
    assert "moved as a whole by 0.80" in told(step)


def test_parts_that_came_and_went_are_named(tmp_path):
    horn_vertices, horn_faces = finer(*_spike(cheek_bark()[2]), rounds=1)
    horned = replace(warden(), parts=(*warden().parts, Part("Salt horn", "hardware", horn_vertices, horn_faces)))
    gained, lost = compared(tmp_path, warden(), horned), compared(tmp_path, horned, warden())
    assert (gained.shape.added, gained.shape.lost) == (("Salt horn",), ())
    assert (lost.shape.added, lost.shape.lost) == ((), ("Salt horn",))
    assert "it gained the salt horn" in answered(gained)
    assert "it lost the salt horn" in answered(lost)


def _spike(foot):
    corners = foot + np.array([[5.0, 0, 0], [-5, 5, 0], [-5, -5, 0], [0, 0, 25]])
    return corners, np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])


def test_what_is_gone_from_a_piece_is_found_on_the_older_design(tmp_path):
    step = compared(tmp_path, warden(bumped(25.0, wide_mm=5.0)), warden())
    place = step.shape.places[0]
    assert place.gone
    assert place.change_mm == pytest.approx(-25.0, abs=1.5)


def test_another_base_is_said_first(tmp_path):
    base, _ = head()
    swollen = replace(base, vertices_mm=base.vertices_mm * 1.02)
    other = replace(warden(), parts=(swollen, warden().parts[1]))
    step = compared(tmp_path, warden(), other)
    assert answered(step).startswith("No: it sits on another base")
    assert "base" in {group.name for group in step.shape.groups}


@pytest.fixture
def folders(tmp_path):
    """Two report folders beside the designs they were made from."""
    for number, design in enumerate((warden(), warden(bumped(2.0)))):
        save_snapshot(design, tmp_path / f"{number}.npz")
        measure(Task(str(tmp_path / f"{number}.npz"), "", str(tmp_path / "out"), f"r{number}", ONLY, pictures=False))
    return tmp_path / "out"


def test_folders_of_reports_are_enough_while_their_designs_are_there(folders):
    (step,) = drain(compare_all([folders / "r0", folders / "r1" / "report.json"]))
    assert step.shape.max_mm == pytest.approx(2.0, abs=0.1)
    assert step.answer == CHANGED


def test_a_design_that_changed_after_its_report_is_not_compared(folders):
    save_snapshot(warden(bumped(1.0)), folders.parent / "1.npz")
    (step,) = drain(compare_all([folders / "r0", folders / "r1"]))
    assert step.shape is None
    assert "has changed since its report was written" in told(step)


def test_without_designs_nothing_is_claimed_about_their_shape(folders):
    shutil.rmtree(folders / "r1")
    shutil.copytree(folders / "r0", folders / "r1")
    report = json.loads((folders / "r1" / "report.json").read_text(encoding="utf8"))
    report["variant"]["sha256"] = "0" * 64
    (folders / "r1" / "report.json").write_text(json.dumps(report), encoding="utf8")
    for design in folders.parent.glob("*.npz"):
        design.unlink()
    (step,) = drain(compare_all([folders / "r0", folders / "r1"]))
    assert step.answer == UNKNOWN
    assert answered(step).startswith("It cannot be told")
    assert to_dict(step)["shape"] is None
    (same,) = drain(compare_all([folders / "r0", folders / "r0"]))
    assert same.answer == STILL
    assert "byte for byte" in answered(same)


def test_a_snapshot_kept_beside_its_report_stands_in_for_the_design(folders):
    report = json.loads((folders / "r0" / "report.json").read_text(encoding="utf8"))
    save_snapshot(replace(warden(), sha256=report["variant"]["sha256"]), folders / "r0" / "snapshot.npz")
    (folders.parent / "0.npz").unlink()
    assert drain(read_revision(folders / "r0")).snapshot is not None
    save_snapshot(replace(warden(), sha256="another"), folders / "r0" / "snapshot.npz")
    assert drain(read_revision(folders / "r0")).snapshot is None


def test_repeatability_is_the_measured_spread_or_the_noise_of_what_is_made():
    assert measured_spread(), "run scripts/measure_repeatability.py"
    name, spread = max(measured_spread().items(), key=lambda entry: entry[1])
    check, measure_name = name.split(".", 1)
    assert repeatable_within(check, measure_name, "", 0.0) == spread
    assert repeatable_within("additive", "no such figure", "mm", 0.1) == MADE["mm"]
    assert repeatable_within("additive", "no such figure", "mm", -50.0) == SHARE * 50.0


def test_painted_values_are_the_measured_ones_on_one_scale(tmp_path):
    shape = compared(tmp_path, warden(), warden(bumped(3.0))).shape
    assert scale_mm(shape) == 3.0
    (newer,) = change_fields(shape.groups, False, 3.0, shape.within_mm)
    (older,) = change_fields(shape.groups, True, 3.0, shape.within_mm)
    assert np.nanmax(newer.values) == pytest.approx(shape.max_mm, abs=1e-9)
    assert (newer.low, newer.high, newer.diverging) == (older.low, older.high, older.diverging) == (-3.0, 3.0, True)
    assert len(older.values) == len(cheek_bark()[0])


def test_the_page_holds_its_pictures_asks_for_nothing_and_runs_no_name(tmp_path):
    paths = [save_snapshot(warden(piece, name), tmp_path / f"{name[:3]}.npz")
             for piece, name in ((None, "Approved"), (bumped(3.0), EVIL))]  # fmt: skip
    steps = drain(compare_all(paths, only=ONLY))
    files = drain(write_comparison(steps, tmp_path / "out"))
    page = (tmp_path / "out" / "comparison.html").read_text(encoding="utf8")
    assert "<script>alert" not in page
    assert page.count("<script") == 1
    assert not re.search(r"""(?:src|href)\s*=\s*["']?(?!data:)[^"'>\s]""", page)
    assert not re.search(r"url\(|@import", page)
    assert "stands out" in page
    stored = json.loads((tmp_path / "out" / "comparison.json").read_text(encoding="utf8"))
    assert (stored["schema"], stored["answer"]) == ("dryfit.comparison/1", "no")
    assert sum(path.suffix == ".png" for path in files) == 16
    for name in ("older-front", "newer-front"):
        assert (tmp_path / "out" / "pictures" / f"1-{name}-difference.png").stat().st_size > 10_000


def test_the_command_says_it_and_its_exit_code_can_gate(tmp_path, capsys):
    paths = [str(save_snapshot(warden(piece), tmp_path / f"{number}.npz"))
             for number, piece in enumerate((None, bumped(3.0)))]  # fmt: skip
    options = ["--only", ",".join(ONLY)]
    assert main(["compare", *paths, *options]) == 0
    assert "Is this still the one that was approved? No: " in capsys.readouterr().out
    assert main(["compare", *paths, *options, "--fail-on", "changed", "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["answer"] == "no"
    assert main(["compare", paths[0], paths[0], *options, "--fail-on", "changed"]) == 0
    assert main(["compare", *paths, *options, "--fail-on", "never"]) == 0
    assert main(["compare", paths[0], str(tmp_path / "none.npz")]) == 2


VERDICT_GATES = [
    ("fail", "pass", {"fail": 0, "review": 0, "worse": 0, "changed": 1, "never": 0}),
    ("pass", "review", {"fail": 0, "review": 1, "worse": 1, "changed": 1, "never": 0}),
    ("fail", "fail", {"fail": 1, "review": 1, "worse": 0, "changed": 0, "never": 0}),
]


@pytest.mark.parametrize(("older", "newest", "codes"), VERDICT_GATES)
def test_a_verdict_s_word_gates_by_the_newest_revision_and_the_others_by_the_change(
    folders, older, newest, codes, capsys
):
    for place, verdict in (("r0", older), ("r1", newest)):
        report = json.loads((folders / "r0" / "report.json").read_text(encoding="utf8"))
        report["verdict"] = report["checks"][0]["status"] = verdict
        (folders / place / "report.json").write_text(json.dumps(report), encoding="utf8")
    answers = {word: main(["compare", str(folders / "r0"), str(folders / "r1"), "--fail-on", word]) for word in codes}
    assert answers == codes
    assert main(["compare", str(folders / "r0"), str(folders / "r1")]) == 0, "without the word it only tells"


def test_two_revisions_of_one_name_are_compared_without_their_reports_moving_each_other(tmp_path):
    one = drain(read_revision(save_snapshot(warden(), tmp_path / "a.npz"), only=ONLY))
    step = drain(compare_revisions(one, one))
    assert step.same_design and step.answer == STILL


def test_a_figure_that_moved_alone_is_a_change_and_a_smaller_move_is_none(tmp_path):
    one = drain(read_revision(save_snapshot(warden(), tmp_path / "a.npz"), only=ONLY))
    volume = next(check for check in one.report["checks"] if check["id"] == "additive")["measures"]["added_volume_mm3"]

    def heavier(share):
        report = json.loads(json.dumps(one.report))
        report["checks"][0]["measures"]["added_volume_mm3"] = volume * share
        return replace(one, report=report)

    step = drain(compare_revisions(one, heavier(1.05)))
    assert (step.answer, [move.measure for move in step.moves]) == (CHANGED, ["added_volume_mm3"])
    assert "1 figure moved beyond repeatability" in answered(step)
    assert drain(compare_revisions(one, heavier(1.004))).answer == STILL


def test_a_sculpt_that_lies_on_the_base_a_hair_higher_has_no_hole_in_it(tmp_path):
    base, _ = head()
    outward = Surface(base.vertices_mm, base.faces).vertex_normals
    middle = cheek_bark()[2]
    bark = 4.0 * np.clip(1 - np.linalg.norm(base.vertices_mm - middle, axis=1) / REACH_MM, 0, 1)
    sculpt = lambda rest_mm: (base.vertices_mm + (np.maximum(bark, rest_mm))[:, None] * outward, base.faces)  # noqa: E731
    # the skin counts as lying on the base up to 0.05 mm: one of the two lies on it, the other stands off it
    step = compared(tmp_path, warden(sculpt(0.04)), warden(sculpt(0.06)))
    assert step.shape.max_mm == pytest.approx(0.02, abs=0.005)
