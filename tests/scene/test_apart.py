"""Files read in a process of their own: the same snapshot, the same complaints, an end to whatever has none."""

import gc
import os
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

bpy = pytest.importorskip("bpy", reason="needs Blender's Python module")
from blender_module import needs_module  # noqa: E402
from dryfit.model import interrupt  # noqa: E402
from dryfit.model.brief_reading import parse_brief  # noqa: E402
from dryfit.model.errors import UnitsNotStated, UnreadableFile  # noqa: E402
from dryfit.model.files_read import files_noted  # noqa: E402
from dryfit.model.part_files import sweep_part_folders  # noqa: E402
from dryfit.model.snapshot import Part, Snapshot  # noqa: E402
from dryfit.model.snapshot_file import save_snapshot  # noqa: E402
from dryfit.scene.apart import FOLDER, read_apart  # noqa: E402
from dryfit.scene.locking import lock_base  # noqa: E402
from dryfit.scene.reading import base_to_lock, on_base, read_file, read_performer  # noqa: E402

pytestmark = needs_module
JAW = parse_brief("[motions.jaw]\nkeys = { JawOpen = [0.0, 1.0] }\n[landmarks]\nsellion = [0.0, -100.0, 20.0]")


@pytest.fixture
def design(build, tmp_path):
    head = build.sphere()
    build.key(head, "JawOpen", (0.0, 0.0, -0.03), where=lambda co: co.z < 0)
    build.box().location = (0.0, -0.1, 0.0)
    build.empty("Chin", "gnathion", (0.0, -0.1, -0.05))
    build.camera("Shot", (0.0, -1.0, 0.0))
    head.vertex_groups.new(name="dryfit_lip_upper").add([1, 2, 3], 0.5, "REPLACE")
    lock_base(head)
    path = tmp_path / "warden.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    return path


def same(first, second):
    """Compare values, arrays and what holds them, to the last bit."""
    if isinstance(first, np.ndarray):
        return first.dtype == second.dtype and np.array_equal(first, second, equal_nan=first.dtype.kind == "f")
    if hasattr(first, "__dataclass_fields__"):
        return all(same(getattr(first, each.name), getattr(second, each.name)) for each in fields(first))
    if hasattr(first, "items"):
        return [*first] == [*second] and all(same(first[key], second[key]) for key in first)
    if isinstance(first, tuple):
        return len(first) == len(second) and all(map(same, first, second))
    return first == second


def test_another_process_reads_the_same(design):
    here, apart = read_file(design, JAW), read_apart("design", design, JAW)
    assert len(here.parts) == 2 and here.motions and here.landmarks and here.cameras and here.lock
    assert same(here, apart)
    assert not same(here, read_apart("design", design, parse_brief("")))


def test_each_door_leads_to_the_same(design, tmp_path):
    assert same(read_performer(design, JAW), read_apart("performer", design, JAW))
    assert same(base_to_lock(design, JAW), read_apart("base to lock", design, JAW))
    piece = Snapshot("piece", parts=(Part("Cheek", "appliance", *_triangle()),))
    saved = save_snapshot(piece, tmp_path / "piece.npz")
    brief = parse_brief('[base]\nfile = "warden.blend"', str(tmp_path / "brief.toml"))
    assert same(on_base(piece, saved, brief), read_apart("base of a saved design", saved, brief))


def _triangle():
    return np.array([[0.0, 0, 0], [10, 0, 0], [0, 10, 0]]), np.array([[0, 1, 2]])


def test_complaints_are_the_same(tmp_path):
    (tmp_path / "words.obj").write_text("The Salt Orchard\n")
    with pytest.raises(UnitsNotStated) as here:
        read_file(tmp_path / "words.obj", parse_brief(""))
    with pytest.raises(UnitsNotStated) as apart:
        read_apart("design", tmp_path / "words.obj", parse_brief(""))
    assert str(here.value) == str(apart.value)


def test_the_files_that_it_drew_on_are_noted(build, design, tmp_path):
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    with bpy.data.libraries.load(str(design), link=True) as (_, wanted):
        wanted.objects = ["Head"]
    build.link(bpy.data.objects["Head"])
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "linked.blend"))
    with files_noted() as noted:
        read_apart("design", tmp_path / "linked.blend", parse_brief(""))
    assert noted.paths == {design} and noted.all_known


def test_nothing_is_left_in_the_folder_for_temporary_files(design, tmp_path, monkeypatch):
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "temporary"))
    read_apart("design", design, JAW)
    assert not [*(tmp_path / "temporary").iterdir()]


@pytest.mark.parametrize("met", ["making", "end"])
def test_nor_where_a_stop_meets_its_making_or_its_end(met, design, tmp_path, monkeypatch):
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "temporary"))
    monkeypatch.setattr(interrupt, "_asked_at", [])
    make, remove = tempfile.mkdtemp, tempfile.TemporaryDirectory._rmtree

    def made(*given, **named):
        folder = make(*given, **named)
        interrupt._hear(signal.SIGINT, None)
        return folder

    def removed(cls, *given, **named):
        interrupt._hear(signal.SIGINT, None)
        return remove(*given, **named)

    with monkeypatch.context() as changed:
        if met == "making":
            changed.setattr(tempfile, "mkdtemp", made)
        else:
            changed.setattr(tempfile.TemporaryDirectory, "_rmtree", classmethod(removed))
        with pytest.raises(KeyboardInterrupt):
            read_apart("design", design, JAW)
    gc.collect()
    assert not [*(tmp_path / "temporary").iterdir()]


@pytest.fixture
def endless(build, design, tmp_path):
    """A design whose library is a pipe that nobody writes to."""
    if not hasattr(os, "mkfifo"):
        pytest.skip("this system has no such pipes")
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    with bpy.data.libraries.load(str(design), link=True) as (_, wanted):
        wanted.objects = ["Head"]
    build.link(bpy.data.objects["Head"])
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "endless.blend"))
    design.unlink()
    os.mkfifo(design)
    return tmp_path / "endless.blend"


def test_what_hangs_is_stopped(endless, monkeypatch):
    monkeypatch.setenv("DRYFIT_READ_S", "4")
    with pytest.raises(UnreadableFile, match=r"endless\.blend: cannot be read: it took longer than 4 s"):
        read_apart("design", endless, parse_brief(""))


def test_what_eats_memory_is_stopped(tmp_path, monkeypatch):
    """Four million vertices in a text that this much memory cannot hold."""
    (tmp_path / "vast.obj").write_text("v 0 0 0\n" * 4_000_000 + "f 1 2 3\n")
    monkeypatch.setenv("DRYFIT_READ_MB", "300")
    with pytest.raises(UnreadableFile, match=r"vast\.obj: cannot be read: .*more than 300 MB"):
        read_apart("design", tmp_path / "vast.obj", parse_brief('[units]\nmesh_files = "mm"'))


def command(*arguments):
    return [sys.executable, "-m", "dryfit", *map(str, arguments)]


def children(process):
    """Return the numbers of the processes that one started."""
    listed = subprocess.run(["ps", "-o", "pid=", "--ppid", str(process)], capture_output=True, text=True, check=False)
    return [int(word) for word in listed.stdout.split()]


def wait_until(found, seconds=300.0):
    """Wait for something that comes about by itself, and return it."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if result := found():
            return result
        time.sleep(0.05)
    raise AssertionError("it did not come about")


def is_gone(process):
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return True
    state = subprocess.run(["ps", "-o", "stat=", "-p", str(process)], capture_output=True, text=True, check=False)
    return state.stdout.startswith("Z") or not state.stdout


@pytest.mark.skipif(sys.platform != "linux", reason="lists processes as Linux does")
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT])
def test_neither_process_nor_folder_outlives_the_one_that_asked(endless, how):
    asking = subprocess.Popen(command("check", endless), stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                              preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler))  # fmt: skip
    (reading,) = wait_until(lambda: children(asking.pid))
    asking.send_signal(how)
    _, said = asking.communicate(timeout=300)
    wait_until(lambda: is_gone(reading))
    sweep_part_folders(Path(tempfile.gettempdir()), FOLDER)
    assert not [*Path(tempfile.gettempdir()).glob(f"{FOLDER}*.{asking.pid}-*")]
    if how == signal.SIGINT:
        assert asking.returncode == 130
        assert b"Traceback" not in said


def test_modules_beside_a_strangers_design_are_not_imported(design, tmp_path):
    for name in ("numpy", "bpy", "json", "sitecustomize"):
        (tmp_path / f"{name}.py").write_text(f"open({str(tmp_path / 'trace')!r}, 'w').write('ran')")
    script = "import sys; sys.path.remove(''); from dryfit.cli import main; sys.exit(main(sys.argv[1:]))"
    run = [sys.executable, "-c", script, "check", design.name, "--only", "base_lock"]
    done = subprocess.run(run, capture_output=True, text=True, cwd=tmp_path, check=False)
    assert done.returncode == 0, done.stderr
    assert not (tmp_path / "trace").exists()


def test_a_check_says_nothing_of_blenders(design):
    done = subprocess.run(command("check", design, "--only", "base_lock"), capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "Read blend" not in done.stdout + done.stderr
    assert all(line.lstrip().partition(" %  ")[0].isdigit() for line in done.stderr.splitlines()), done.stderr
