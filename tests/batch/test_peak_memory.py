"""What a worker says it used is its own: not what the process had used that started it."""

import subprocess
import sys

import numpy as np
import pytest

from dryfit.batch.peak_memory import peak_mb, status_mb

CHILD = """
import sys
sys.path.insert(0, sys.argv[1])
from dryfit.batch.peak_memory import peak_mb
before = peak_mb()
block = b"x" * (int(sys.argv[2]) * 1024 * 1024)
print(before, peak_mb())
"""


def child_of_a_large_process(block_mb):
    import dryfit

    held = np.ones(300 * 1024 * 1024 // 8)
    place = str(dryfit.__path__[0]).rpartition("dryfit")[0]
    done = subprocess.run(
        [sys.executable, "-c", CHILD, place, str(block_mb)], capture_output=True, text=True, check=True
    )
    assert held[-1] == 1.0
    return [float(word) for word in done.stdout.split()]


def test_a_small_process_started_by_a_large_one_is_small():
    if not status_mb():
        pytest.skip("needs Linux's /proc")
    before, after = child_of_a_large_process(100)
    assert peak_mb() > 300
    assert before < 150, "300 MB of the parent's are not the child's"
    assert after - before == pytest.approx(100, abs=15)


def test_it_never_falls():
    first = peak_mb()
    block = b"x" * (60 * 1024 * 1024)
    second = peak_mb()
    del block
    assert second >= first and peak_mb() >= second
