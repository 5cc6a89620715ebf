"""Make the test shapes importable from every folder of tests, and keep together what shares something costly."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config, items):
    """Give a file's tests to one worker: they share what was built and measured. A test's own group comes first."""
    if not config.pluginmanager.hasplugin("xdist"):
        return
    for item in items:
        if item.get_closest_marker("xdist_group") is None:
            item.add_marker(pytest.mark.xdist_group(item.path.relative_to(config.rootpath).as_posix()))
