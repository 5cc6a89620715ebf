"""Make the test shapes importable from every folder of tests, and keep together what shares something costly."""

import os
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
os.environ["DRYFIT_CACHE"] = "0"  # an answer from another run would hide what the code under test does
pytest_plugins = ["bench_scene"]


@pytest.fixture(scope="module")
def browser():
    """A running browser, for all the pages of one file of tests."""
    from browser import chromium

    with chromium() as running:
        yield running


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config, items):
    """Where workers take turns, let the last ones to be dealt out be short."""
    if "PYTEST_XDIST_WORKER" in os.environ:
        from dealing_out import slow_files_first

        slow_files_first(items)


@pytest.hookimpl(optionalhook=True)  # the tests run without pytest-xdist too
def pytest_xdist_make_scheduler(config, log):
    """Deal out tests by what they share, unless another way was asked for."""
    from dealing_out import BySharedWork

    return BySharedWork(config, log) if config.getvalue("dist") == "load" else None
