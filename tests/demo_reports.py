"""The demonstration's designs and what all checks together say of them: built and measured once a process.

Tests with a design's name in brackets go to the worker that has measured it: see dealing_out.py.
"""

from functools import cache

import dryfit
from dryfit.demo_door import demo_module
from dryfit.model.kept_answers import SHARED_MB, KeptAnswers
from dryfit.performer.indexed_bases import IndexedBases

variant_snapshot = demo_module("variant_snapshots").variant_snapshot

KEYED, HINGED = (IndexedBases(KeptAnswers(SHARED_MB)) for _ in range(2))
"""What is known of the head of all designs, with its keys and on a hinge: it serves the next one, as in a batch."""


@cache
def whole_report(name):
    """Return the report of every check on one design, asked without a brief."""
    return dryfit.check(variant_snapshot(name))
