"""The kernels cross-compiled for other platforms, run under an emulator: the same answers as this machine's, bit by bit.

All that has a kernel compiled for other platforms stands in this file, so that one process does it after the other: the
first time, zig compiles a C library for each, and two at once would wait for each other.

Windows runs under Wine, 64-bit Arm under QEMU's user mode; where an emulator is missing its run is skipped with a word.
"""

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
SCRIPTS = HERE.parents[1] / "scripts"
ARM_LIBRARIES = [Path("/usr/aarch64-linux-gnu"), *map(Path, filter(None, [os.environ.get("DRYFIT_ARM_ROOT")]))]
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not importlib.util.find_spec("ziglang"), reason="needs the compiler in ziglang"),
]


@pytest.fixture(scope="module")
def build_kernel():
    spec = importlib.util.spec_from_file_location("build_kernel", SCRIPTS / "build_kernel.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["build_kernel"] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def wine(tmp_path_factory):
    """The environment of a Windows that is made once: making one takes longer than all that is asked of it."""
    return {"WINEDEBUG": "-all", "WINEPREFIX": str(tmp_path_factory.mktemp("wine") / "prefix")}


def asked(build_kernel, target, folder, before, level="base", **environment):
    """Return the lines that the kernel built for a target prints, run after the emulator's own words."""
    library = build_kernel.build(target, folder)
    program = folder / f"everywhere-{target}.exe"
    source, flags = str(HERE / "kernel_everywhere.c"), ["-std=gnu11", "-O1", "-ffp-contract=off"]
    build_kernel.run([*build_kernel.compiler(target), *flags, "-c", source, "-o", f"{program}.o"])
    # linked as the kernel is, by itself and stripped: with other flags zig compiles Windows' C library once more
    build_kernel.run([*build_kernel.compiler(target), "-s", f"{program}.o", "-lm", "-o", str(program)])
    command = [*before, str(program), str(library), level]
    done = subprocess.run(command, capture_output=True, text=True, env={**os.environ, **environment}, timeout=300)
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout.split("\n")


@pytest.fixture(scope="module")
def native(build_kernel, tmp_path_factory):
    target = build_kernel.NAMES.platform_name()
    lines = asked(build_kernel, target, tmp_path_factory.mktemp("native"), [])
    assert len(lines) > 20
    return lines


def test_every_platform_builds_and_packs(tmp_path):
    done = subprocess.run(
        [sys.executable, str(SCRIPTS / "build_kernel.py"), "--wheels", str(tmp_path), "--out", str(tmp_path / "lib")],
        capture_output=True,
        text=True,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr
    assert len(list(tmp_path.glob("dryfit_kernel-*-py3-none-*.whl"))) == 6
    assert len(list((tmp_path / "lib").iterdir())) == 6


def test_wider_vectors_change_no_bit(build_kernel, native, tmp_path):
    library = build_kernel.NAMES.load_library()
    if library is None or not library.dryfit_has_avx2():
        pytest.skip("this processor has no AVX2")
    assert asked(build_kernel, build_kernel.NAMES.platform_name(), tmp_path, [], "avx2") == native


@pytest.mark.skipif(not shutil.which("wine"), reason="needs Wine to run a Windows library")
@pytest.mark.parametrize("level", ["base", "avx2"])
def test_on_windows(build_kernel, native, tmp_path, wine, level):
    assert asked(build_kernel, "windows-x86_64", tmp_path, ["wine"], level, **wine) == native


@pytest.mark.skipif(not shutil.which("qemu-aarch64-static"), reason="needs QEMU's user mode to run an Arm library")
def test_on_arm(build_kernel, native, tmp_path):
    root = next((folder for folder in ARM_LIBRARIES if (folder / "lib").exists()), None)
    if root is None:
        pytest.skip("needs the C library for Arm (libc6-arm64-cross)")
    assert asked(build_kernel, "linux-aarch64", tmp_path, ["qemu-aarch64-static", "-L", str(root)]) == native
