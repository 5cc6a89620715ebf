"""Who decides what: a report's questions by whose decision each serves, and what was accepted in writing."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..checks.headline import headline, topic
from ..model.exceptions import WrittenException
from ..model.finding import Severity, Status, worst
from ..model.sentences import capital
from .revision import Revision

LOOK, CASTING, WEAR = "look", "casting", "wear"
WHO: Mapping[str, tuple[str, str]] = {
    LOOK: ("The director", "how it looks, and whether the change is wanted"),
    CASTING: ("The shop", "whether it can be moulded, cast and laid on"),
    WEAR: ("The artist and the performer", "whether it can be worn and played in"),
}
"""Who decides, and about what."""
SERVES: Mapping[str, str] = {
    "coverage": LOOK,
    "base_lock": CASTING, "additive": CASTING, "edge": CASTING, "thickness": CASTING, "release": CASTING,
    "closure": WEAR, "interference": WEAR, "strain": WEAR, "blink": WEAR, "sightline": WEAR, "airway": WEAR,
    "load": WEAR,
}  # fmt: skip
"""Check -> whose decision it serves; one that is not named is the shop's, who measured it."""


@dataclass(frozen=True)
class Share:
    """What one report says to one who decides: the worst status, ``""`` where nothing was asked, and a sentence."""

    status: str
    words: str


@dataclass(frozen=True)
class Accepted:
    """A finding that counts no more: what it says, why it was accepted, by whom and when (``""`` if not stated)."""

    message: str
    reason: str
    signed: str


@dataclass(frozen=True)
class Alternative:
    """One of the designs that stand side by side.

    Attributes
    ----------
    name, verdict, sentence
        Its name, its verdict and its headline.
    shares
        What it says to each of those in ``WHO``.
    accepted
        What was accepted in writing.
    """

    name: str
    verdict: str
    sentence: str
    shares: Mapping[str, Share]
    accepted: tuple[Accepted, ...]


def alternative(revision: Revision) -> Alternative:
    """Return a revision as it stands beside others."""
    report = revision.report
    return Alternative(
        name=revision.name,
        verdict=str(report["verdict"]),
        sentence=str(report.get("headline") or headline(report)),
        shares={who: _share(_served(report, who)) for who in WHO},
        accepted=tuple(_accepted(report)),
    )


def _served(report: Mapping[str, Any], who: str) -> list[Mapping[str, Any]]:
    return [check for check in report["checks"] if SERVES.get(check["id"], CASTING) == who]


def _share(checks: Sequence[Mapping[str, Any]]) -> Share:
    if not checks:
        return Share("", "nothing was asked")
    status = worst([Status(check["status"]) for check in checks])
    open_ones = [topic(check["id"]) for check in checks if check["status"] != Status.PASS]
    if open_ones:
        return Share(str(status), capital(", ".join(open_ones)))
    one = len(checks) == 1
    return Share(str(status), capital(topic(checks[0]["id"])) if one else f"All {len(checks)} questions")


def _accepted(report: Mapping[str, Any]) -> Iterator[Accepted]:
    written = [WrittenException(**each) for each in report["exceptions"]]
    for name, entry in ((check["id"], entry) for check in report["checks"] for entry in check["findings"]):
        if entry["exception"] is not None and entry["severity"] != Severity.INFO:
            covering = [each for each in written if each.covers(name, entry["object"], entry["region"])]
            signed = ", ".join(filter(None, (covering[0].by, covering[0].on))) if covering else ""
            yield Accepted(entry["message"], entry["exception"], signed)
