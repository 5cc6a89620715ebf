"""The C under AddressSanitizer and UndefinedBehaviorSanitizer, over a corpus of awkward meshes."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

KERNEL = Path(__file__).resolve().parents[2] / "addon" / "dryfit" / "geometry" / "kernel" / "kernel.c"
FLAGS = [
    "-std=c11",
    "-O1",
    "-g",
    "-fPIC",
    "-ffp-contract=off",
    "-Wno-psabi",
    "-fno-omit-frame-pointer",
    "-fsanitize=address,undefined",
    "-fno-sanitize-recover=undefined",
]


@pytest.mark.skipif(not shutil.which("gcc") or not sys.platform.startswith("linux"), reason="needs gcc on Linux")
def test_no_bad_memory_and_no_undefined_behaviour(tmp_path):
    x86 = subprocess.run(["gcc", "-dumpmachine"], capture_output=True, text=True).stdout.startswith("x86_64")
    objects = []
    for name, extra in (("base", []), ("avx2", ["-mavx2", "-mfma", "-DLEVEL_AVX2"]))[: 2 if x86 else 1]:
        objects.append(str(tmp_path / f"{name}.o"))
        subprocess.run(["gcc", *FLAGS, *extra, "-c", str(KERNEL), "-o", objects[-1]], check=True, timeout=120)
    library = tmp_path / "sanitized.so"
    done = subprocess.run(
        ["gcc", "-shared", "-fsanitize=address,undefined", *objects, "-lm", "-o", str(library)],
        capture_output=True,
        text=True,
    )
    if done.returncode:
        pytest.skip(f"gcc has no sanitizers: {done.stderr}")
    runtime = subprocess.run(["gcc", "-print-file-name=libasan.so"], capture_output=True, text=True).stdout.strip()
    environment = {
        **os.environ,
        "LD_PRELOAD": runtime,
        "DRYFIT_KERNEL": str(library),
        "ASAN_OPTIONS": "detect_leaks=0",
        "UBSAN_OPTIONS": "print_stacktrace=1",
        "PYTHONPATH": str(KERNEL.parents[3]),
        "OPENBLAS_NUM_THREADS": "1",
    }
    corpus = Path(__file__).with_name("kernel_corpus.py")
    run = subprocess.run([sys.executable, str(corpus)], capture_output=True, text=True, env=environment, timeout=240)
    assert run.returncode == 0, run.stderr[-4000:]
    assert "measured" in run.stdout
