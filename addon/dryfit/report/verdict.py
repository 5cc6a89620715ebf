"""The first sentence of a report, and the cautions that go with every one."""

from collections.abc import Sequence

from ..checks.check import Check
from ..checks.headline import headline
from ..model.report import Report

SAFETY = (
    "This sheet is a warning aid. It never clears a design for wear.",
    "The performer's own comfort comes first: stop and take the piece off when they ask.",
    "Breathing, sight, load on the head and neck, adhesives, skin reactions and contact lenses belong to "
    "licensed practitioners and to local rules. Ask them, and test on the performer, before a shoot day.",
)
"""Cautions of every report."""


def first_sentence(report: Report, checks: Sequence[Check]) -> str:
    """Return what stands first: the report's headline, made now where it carries none."""
    return report.headline or headline(report.to_dict(), checks)
