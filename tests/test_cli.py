"""The command line: exit codes, streams, and nothing half written."""

import contextlib
import json
import subprocess
import sys

import numpy as np
import pytest

import dryfit as library
from dryfit.checks.registry import CHECKS
from dryfit.cli import main
from dryfit.model.plain_text import ACTED_ON
from dryfit.model.snapshot import Motion, Part, Snapshot
from dryfit.model.snapshot_file import save_snapshot
from dryfit.report.pictures.image_stamp import read_stamp
from dryfit.report.schema import validate
from shapes import icosphere, sheet, worn

BASE = sheet(160.0, 40)


def dryfit(*arguments, cwd=None):
    command = [sys.executable, "-m", "dryfit", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, check=False)


@pytest.fixture(scope="module")
def designs(tmp_path_factory):
    folder = tmp_path_factory.mktemp("designs")
    rim = lambda x, y: 30 - np.maximum(abs(x), abs(y))  # noqa: E731
    dip = lambda x, y: 0.1 * rim(x, y) - 6.0 * np.clip(1 - (x**2 + y**2) / 225, 0, None)  # noqa: E731
    save_snapshot(worn(BASE, sheet(60.0, 60, lambda x, y: 0.1 * rim(x, y))), folder / "good.npz")
    save_snapshot(worn(BASE, sheet(60.0, 60, dip)), folder / "bad.npz")
    vertices, faces = icosphere(3)
    save_snapshot(worn((vertices / 1000, faces), (vertices / 990, faces)), folder / "metres.npz")
    return folder


def test_a_sound_design_exits_with_0_and_a_bad_one_with_1(designs):
    good = dryfit("check", designs / "good.npz", "--only", "additive,edge")
    assert good.returncode == 0, good.stderr
    bad = dryfit("check", designs / "bad.npz", "--only", "additive,edge")
    assert bad.returncode == 1, bad.stderr
    assert "mm" in bad.stdout
    assert dryfit("check", designs / "bad.npz", "--only", "additive", "--fail-on", "never").returncode == 0


def test_json_on_stdout_is_a_valid_report_and_progress_stays_on_stderr(designs):
    done = dryfit("check", designs / "bad.npz", "--json", "--only", "additive")
    report = json.loads(done.stdout)
    validate(report)
    assert report["verdict"] == "fail"
    assert report["checks"][0]["measures"]["max_depth_mm"] == pytest.approx(3.094, abs=0.02)
    assert "%" in done.stderr


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["check", "absent.npz"], "no such file"),
        (["check", "metres.npz"], "metres read as millimetres"),
        (["check", "good.npz", "--only", "addative"], "no check 'addative'"),
        (["check", "good.npz", "--brief", "absent.toml"], "absent.toml"),
        (["check", "strange.txt"], "not a kind of file"),
        (["check", "strange.npz"], "not a Dryfit snapshot"),
        (["compare", "good.npz"], "two revisions"),
        (["batch", "absent"], "no such folder"),
        (["batch", "."], "no such"),
    ],
)
def test_what_cannot_be_used_exits_with_2_and_a_clear_word(designs, arguments, words):
    (designs / "strange.txt").write_text("not a mesh")
    (designs / "strange.npz").write_text("not a zip")
    if arguments == ["batch", "."]:
        arguments = ["batch", designs / "strange.txt"]
    done = dryfit(*arguments, cwd=designs)
    assert done.returncode == 2, done.stdout + done.stderr
    assert words in done.stderr
    assert "Traceback" not in done.stderr


def test_a_misspelt_limit_is_named_with_the_nearest_one(designs, tmp_path):
    brief = tmp_path / "brief.toml"
    brief.write_text("[limits]\nadditive_tolerence_mm = 0.3\n")
    done = dryfit("check", designs / "good.npz", "--brief", brief)
    assert done.returncode == 2
    assert "additive_tolerance_mm" in done.stderr


def test_the_brief_beside_a_file_is_used(designs, tmp_path):
    (tmp_path / "brief.toml").write_text("[limits]\nadditive_tolerance_mm = 9.0\n")
    (tmp_path / "bad.npz").write_bytes((designs / "bad.npz").read_bytes())
    assert dryfit("check", tmp_path / "bad.npz", "--only", "additive").returncode == 0


def test_out_holds_the_whole_report(designs, tmp_path):
    out = tmp_path / "new" / "folder"
    assert dryfit("check", designs / "bad.npz", "--only", "additive", "--out", out).returncode == 1
    validate(json.loads((out / "report.json").read_text()))
    assert "<html" in (out / "report.html").read_text()
    report = json.loads((out / "report.json").read_text())
    pictures = [*(out / "heatmaps").glob("*.png")]
    assert pictures
    for picture in pictures:
        said = read_stamp(picture)
        if picture.name.startswith("after-"):
            assert said.design == f"{report['variant']['name']}, mended on trial"
            continue
        assert (said.verdict, said.design, said.checks) == ("fail", report["variant"]["name"], f"1 of {len(CHECKS)}")
        assert said.brief == report["inputs"]["brief_sha256"][:12] and said.file == report["variant"]["sha256"][:12]
    assert not list(out.rglob("*.part"))


def test_an_unwritable_place_leaves_nothing(designs, tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    done = dryfit("check", designs / "bad.npz", "--only", "additive", "--out", blocked / "report")
    assert done.returncode == 2
    assert "cannot be written" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


@pytest.mark.parametrize("check", [check.id for check in CHECKS])
def test_every_check_explains_itself(check):
    done = dryfit("explain", check)
    assert done.returncode == 0
    entry = next(known for known in CHECKS if known.id == check)
    assert entry.question in done.stdout
    for measure, _ in entry.measured:
        assert measure in done.stdout
    for limit in entry.limits:
        assert limit in done.stdout


def test_out_may_name_one_json_file_which_needs_no_library(designs, tmp_path):
    out = tmp_path / "new" / "figures.json"
    done = dryfit("check", designs / "bad.npz", "--only", "additive", "--out", out)
    assert done.returncode == 1
    assert [path.name for path in out.parent.iterdir()] == ["figures.json"]
    again = dryfit("check", designs / "bad.npz", "--only", "additive", "--json")
    report, printed = json.loads(out.read_text("utf8")), json.loads(again.stdout)
    for each in (report, printed):
        validate(each)
        each["checks"][0]["seconds"] = 0.0
    assert report == printed
    taken = out.parent / "folder.json"
    taken.mkdir()
    assert dryfit("check", designs / "bad.npz", "--only", "additive", "--out", taken).returncode == 1
    assert (taken / "report.json").exists(), "a folder stays a folder whatever its name"


HOSTILE = "Brow\x1b]0;owned\x07\x9b2J\u202egnp.\u2066\u200b\r"


@pytest.fixture(scope="module")
def hostile(tmp_path_factory):
    """A design whose every name is one a terminal would act on, and a brief that names things so."""
    folder = tmp_path_factory.mktemp("hostile")
    base, cap = icosphere(3), icosphere(3, 103.0)
    parts = (Part(f"Scan{HOSTILE}", "base", *base), Part(HOSTILE, "appliance", cap[0] - [0, 0, 6.0], cap[1], HOSTILE))
    still = np.stack([base[0], base[0]])
    motions = {HOSTILE: Motion(HOSTILE, [0.0, 1.0], {parts[0].name: still})}
    shot = Snapshot(HOSTILE, parts=parts, landmarks={HOSTILE: np.zeros(3)}, motions=motions, notes=(HOSTILE,))
    save_snapshot(shot, folder / "design.npz")
    (folder / "plain.toml").write_text("", encoding="utf8")
    (folder / "brief.toml").write_text(f"[limits]\n{json.dumps(HOSTILE)} = 1\n", encoding="utf8")
    return folder


@pytest.mark.parametrize(
    "arguments",
    [
        ["check", "design.npz", "--brief", "plain.toml"],
        ["check", "design.npz", "--brief", "plain.toml", "--json"],
        ["check", "design.npz", "--brief", "brief.toml"],
        ["check", "design.npz", "--only", HOSTILE],
        ["check", f"{HOSTILE}.npz"],
        ["compare", HOSTILE, HOSTILE],
        ["landmarks", "design.npz"],
        ["batch", HOSTILE],
        ["explain", HOSTILE],
        [HOSTILE],
    ],
    ids=lambda arguments: "-".join(word.replace(HOSTILE, "HOSTILE") for word in arguments[:4]).replace("/", ""),
)
def test_no_command_lets_a_name_reach_the_terminal_as_it_is(hostile, monkeypatch, capsys, arguments):
    monkeypatch.chdir(hostile)
    with contextlib.suppress(SystemExit):
        main(arguments)
    said = capsys.readouterr()
    assert said.out or said.err
    assert not ACTED_ON.search(said.out), said.out
    assert not ACTED_ON.search(said.err), said.err
    assert r"\u202e" in said.out + said.err


def test_what_must_be_answered_is_said_and_exits_with_1(designs):
    sound = ["check", designs / "good.npz", "--only", "additive,closure"]
    assert dryfit(*sound).returncode == 0, "what could not be measured holds nothing back by itself"
    lacking = dryfit(*sound, "--require", "additive,closure")
    assert lacking.returncode == 1
    assert "required, but not answered: closure: " in lacking.stderr and "answered: additive" not in lacking.stderr
    assert dryfit(*sound, "--require", "additive").returncode == 0
    assert dryfit(*sound, "--fail-on", "not_checked").returncode == 1
    assert dryfit("check", designs / "good.npz", "--only", "additive", "--fail-on", "not_checked").returncode == 0
    unknown = dryfit(*sound, "--require", "addative")
    assert unknown.returncode == 2 and "no check 'addative'" in unknown.stderr


def test_quiet_says_nothing_but_errors(designs):
    done = dryfit("check", designs / "good.npz", "--only", "additive", "--quiet")
    assert done.returncode == 0 and done.stderr == "" and done.stdout
    assert "no such file" in dryfit("check", "absent.npz", "--quiet").stderr


def test_the_library_asks_the_same(designs):
    snapshot = library.load_snapshot(designs / "good.npz")
    report = library.check(snapshot, only=["additive", "closure"])
    assert library.lets_through(report)
    assert not library.lets_through(report, "not_checked")
    assert not library.lets_through(report, require=["closure"])
    assert library.lets_through(report, require=["additive"])
    assert not library.lets_through(report, "never", require=["edge"]), "it was not run"
    with pytest.raises(library.DryfitError):
        library.lets_through(report, require=["addative"])


def test_a_folder_is_sent_to_batch(designs):
    done = dryfit("check", designs)
    assert done.returncode == 2 and "it is a folder" in done.stderr and "dryfit batch" in done.stderr


def test_without_a_file_there_is_a_word_for_it(designs):
    done = dryfit("check", "--only", "additive")
    assert done.returncode == 2 and "name a file" in done.stderr and "Traceback" not in done.stderr


def without(library, *arguments):
    """Run the command line in a Python that lacks a library."""
    code = f"import sys; sys.modules[{library!r}] = None; from dryfit.cli import main; sys.exit(main({[*map(str, arguments)]!r}))"
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)


def test_a_library_that_is_not_there_is_no_fault(designs, tmp_path):
    done = without("pebble", "batch", designs, "--out", tmp_path / "out", "--only", "additive")
    assert done.returncode == 2
    assert "needs 'pebble'" in done.stderr and "pip install '.[cli]'" in done.stderr
    assert "fault in Dryfit" not in done.stderr and "Traceback" not in done.stderr


def test_passes_go_into_an_exr_alone(designs):
    done = dryfit("passes", designs / "good.npz", "--out", designs / "x.png")
    assert done.returncode == 2 and "ends in .exr" in done.stderr
    assert not (designs / "x.png").exists()


def test_a_snapshot_is_kept_and_says_the_same(designs, tmp_path):
    done = dryfit("snapshot", designs / "bad.npz", "--out", tmp_path / "kept.npz")
    assert (done.returncode, done.stdout.strip()) == (0, str(tmp_path / "kept.npz")), done.stderr
    reports = [json.loads(dryfit("check", path, "--json", "--only", "additive").stdout)
               for path in (designs / "bad.npz", tmp_path / "kept.npz")]  # fmt: skip
    assert reports[0]["checks"][0]["measures"] == reports[1]["checks"][0]["measures"]
    assert dryfit("snapshot", designs / "bad.npz", "--out", tmp_path / "kept.zip").returncode == 2


def test_the_figure_that_decided_stands_in_json_with_its_limit(designs):
    report = json.loads(dryfit("check", designs / "bad.npz", "--json", "--only", "additive").stdout)
    decided = report["checks"][0]["decided"]
    assert decided["value"] == pytest.approx(3.094, abs=0.02) and decided["limit"] == 0.2 and decided["unit"] == "mm"
    assert decided["measure"] == "max_depth_mm" and decided["limit_name"] == "additive_tolerance_mm"


def test_the_library_tells_how_far_it_is_and_can_be_stopped(designs, caplog):
    snapshot, steps = library.load_snapshot(designs / "good.npz"), []
    with caplog.at_level("INFO", logger="dryfit"):
        library.check(snapshot, only=["additive"], progress=steps.append)
    assert steps[-1].fraction == 1.0 and steps[0].label
    assert [record.getMessage() for record in caplog.records] == ["additive: pass"]
    seen = []
    with pytest.raises(library.Cancelled):
        library.check(snapshot, progress=seen.append, cancelled=lambda: len(seen) == 3)
    assert len(seen) == 3


def test_the_next_run_takes_what_was_worked_out_and_says_the_same(designs, tmp_path, monkeypatch):
    def checked(kept):
        monkeypatch.setenv("DRYFIT_CACHE", str(kept))
        done = dryfit("check", designs / "bad.npz", "--json", "--only", "additive,edge,load")
        return done.returncode, [check | {"seconds": 0.0} for check in json.loads(done.stdout)["checks"]]

    kept = tmp_path / "answers"
    without, first = checked(0), checked(kept)
    written = {file.name: file.stat().st_mtime_ns for file in kept.iterdir()}
    assert checked(kept) == first == without
    assert written
    assert all((kept / name).stat().st_mtime_ns > before for name, before in written.items())  # each was read
    assert f"{kept} holds" in dryfit("cache").stdout
    assert dryfit("cache", "--clear").stdout.endswith(f" answers taken away from {kept}.\n")
    assert not [*kept.iterdir()]
    assert checked(kept) == without
