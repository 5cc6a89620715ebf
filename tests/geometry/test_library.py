"""Finding the compiled kernel, and doing without."""

import subprocess
import sys
from pathlib import Path

import pytest

from dryfit.geometry.kernel import library

ASK = (
    "import dryfit.geometry as g; s = g.Surface([[0,0,0],[9,0,0],[0,9,0]], [[0,1,2]]); "
    "print(s.engine.name, s.clearance_mm([[1,1,-2]])[0])"
)


def run(code, **environment):
    import os

    folder = str(Path(library.__file__).resolve().parents[3])
    env = {**os.environ, "PYTHONPATH": folder, **environment}
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env, timeout=120)


def test_without_a_binary_numpy_answers_with_one_warning():
    done = run(ASK, DRYFIT_KERNEL="/nowhere/kernel.so")
    assert done.stdout.split() == ["numpy", "twin", "-2.0"]
    assert done.stderr.count("KernelMissing") == 1
    assert "build_kernel.py" in done.stderr


def test_the_twin_on_request_without_a_warning():
    done = run(ASK, DRYFIT_KERNEL="none")
    assert done.stdout.split() == ["numpy", "twin", "-2.0"]
    assert not done.stderr


def test_a_file_that_is_no_library(tmp_path):
    (tmp_path / "broken.so").write_bytes(b"not a library")
    done = run(ASK, DRYFIT_KERNEL=str(tmp_path / "broken.so"))
    assert done.returncode == 0
    assert "broken.so" in done.stderr


@pytest.mark.skipif(library.load_library() is None, reason="the kernel is not compiled")
def test_the_binary_is_used():
    assert run(ASK).stdout.startswith("compiled")


def test_names():
    assert library.library_name("windows-x86_64").endswith("windows-x86_64.dll")
    assert library.library_name("macos-aarch64").endswith("macos-aarch64.dylib")
    assert library.library_name(library.platform_name()).startswith("dryfit_kernel-")
