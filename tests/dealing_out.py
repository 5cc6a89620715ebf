"""Which tests go to one worker together."""

import re
from collections import Counter

from xdist.scheduler import LoadScopeScheduling

OF_ONE_DESIGN = (
    "demo/test_expected.py", "checks/test_built_demo.py", "checks/test_wear_on_the_head.py",
    "family/test_pass_is_a_proof.py", "report/test_figures_agree.py", "outside/test_by_cie.py",
)  # fmt: skip
"""Files that ask ``demo_reports`` about the design that stands in a test's own brackets."""


def slow_files_first(items):
    """Sort tests so that files with slow ones come first; the others, shorter and shorter, even out what those leave."""
    slow = {item.path for item in items if item.get_closest_marker("slow")}
    many = Counter(item.path for item in items)
    items.sort(key=lambda item: (item.path not in slow, 0 if item.path in slow else -many[item.path]))


class BySharedWork(LoadScopeScheduling):
    """A file's tests share what they built and measured; those about one design share it with other files'."""

    def __init__(self, config, log=None):
        super().__init__(config, log)
        config.option.loadscopereorder = False  # by the number of tests, few but long ones would come last

    def _split_scope(self, nodeid):
        file = nodeid.partition("::")[0]
        design = re.search(r"\[(\d\d-warden-[a-z-]+)\]$", nodeid)
        return design[1] if design and file.endswith(OF_ONE_DESIGN) else file
