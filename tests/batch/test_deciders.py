"""Side by side: each decides on what is theirs, and what was accepted says why and by whom."""

from dryfit.batch.deciders import CASTING, LOOK, SERVES, WEAR, WHO, alternative
from dryfit.batch.revision import Revision
from dryfit.checks.registry import CHECKS


def entry(severity, exception=None):
    return {
        "severity": severity,
        "exception": exception,
        "message": "Rim is 1.2 mm.",
        "object": "Brow",
        "region": "brow",
    }


def revision(**checks):
    results = [{"id": name, "status": status, "findings": found} for name, (status, found) in checks.items()]
    written = {
        "check": "edge",
        "object": "Bro*",
        "region": "",
        "reason": "under the hair",
        "by": "A. Ruiz",
        "on": "3 May",
    }
    return Revision(
        {"variant": {"name": "Warden"}, "verdict": "fail", "headline": "Feather it.", "checks": results,
         "exceptions": [written]}
    )  # fmt: skip


def test_every_question_serves_somebody_s_decision():
    assert set(SERVES) == {check.id for check in CHECKS}
    assert set(SERVES.values()) == set(WHO)


def test_the_worst_word_stands_for_each_and_names_what_is_open():
    stood = alternative(
        revision(coverage=("pass", []), edge=("fail", []), release=("pass", []), airway=("not_checked", []))
    )
    assert (stood.shares[LOOK].status, stood.shares[LOOK].words) == ("pass", "Covered teeth")
    assert (stood.shares[CASTING].status, stood.shares[CASTING].words) == ("fail", "Edges")
    assert (stood.shares[WEAR].status, stood.shares[WEAR].words) == ("not_checked", "Breath")
    assert stood.sentence == "Feather it."


def test_what_was_not_asked_has_no_word_of_a_pass():
    assert alternative(revision(edge=("pass", []))).shares[LOOK].status == ""


def test_what_was_accepted_says_why_and_by_whom_and_notes_are_left_out():
    found = [entry("review", "under the hair"), entry("info", "under the hair"), entry("fail")]
    (accepted,) = alternative(revision(edge=("fail", found))).accepted
    assert (accepted.message, accepted.reason, accepted.signed) == (
        "Rim is 1.2 mm.",
        "under the hair",
        "A. Ruiz, 3 May",
    )
