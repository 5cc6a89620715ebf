"""How severe: the order is declared once, and everything that compares, sorts or sums up goes by it."""

import ast
from pathlib import Path

import pytest

import dryfit
from dryfit.batch.row import UNUSABLE, WORST_FIRST
from dryfit.model.finding import SEVERITY_WORDS, STATUS_WORDS, Severity, Status, status_of, worst
from dryfit.model.gate import FAIL_ON

PACKAGE = Path(dryfit.__file__).parent
DECLARED_IN = PACKAGE / "model" / "finding.py"
WORDS = {word.name: str(word) for word in (*Severity, *Status)}


def test_worst_stands_first():
    assert [str(each) for each in Severity] == ["fail", "review", "info"]
    assert [str(each) for each in Status] == ["fail", "review", "not_checked", "pass"]
    for order in (Severity, Status):
        assert [each.rank for each in order] == list(range(len(order)))


def test_unmeasured_is_worse_than_a_pass_and_better_than_what_was_found_bad():
    assert worst([Status.PASS, Status.NOT_CHECKED]) == Status.NOT_CHECKED
    assert worst([Status.REVIEW, Status.NOT_CHECKED]) == Status.REVIEW
    assert worst([]) == Status.NOT_CHECKED


@pytest.mark.parametrize(
    ("severities", "reason", "status"),
    [
        ((), "", "pass"),
        (("info",), "", "pass"),
        ((), "no lips", "not_checked"),
        (("info",), "no lips", "not_checked"),
        (("info", "review"), "no lips", "review"),
        (("review", "fail", "info"), "no lips", "fail"),
    ],
)
def test_status_is_the_worse_of_what_was_found_and_what_was_not_measured(severities, reason, status):
    assert status_of(map(Severity, severities), reason) == status


def test_every_word_can_be_said():
    assert set(SEVERITY_WORDS) == set(Severity)
    assert set(STATUS_WORDS) == set(Status)


def test_severity_or_worse():
    assert Severity.INFO.or_worse(Severity.REVIEW) == Severity.REVIEW
    assert Severity.FAIL.or_worse(Severity.REVIEW) == Severity.FAIL


def test_batches_and_gates_keep_the_order():
    assert [word for word in WORST_FIRST if word != UNUSABLE] == list(Status)
    for mildest in set(FAIL_ON) - {"never"}:
        assert {verdict for verdict in Status if verdict.rank <= Status(mildest).rank} == set(FAIL_ON[mildest])


def spelled(node: ast.AST) -> set[str]:
    """Return which words of the order a tuple or list names, as text or as ``Severity.FAIL``."""
    items = node.elts if isinstance(node, ast.Tuple | ast.List) else ()
    texts = {item.value for item in items if isinstance(item, ast.Constant)} & set(WORDS.values())
    names = {WORDS[item.attr] for item in items if isinstance(item, ast.Attribute) and item.attr in WORDS}
    return texts | names


def test_nobody_else_spells_the_order():
    again = [
        f"{path.relative_to(PACKAGE)}:{node.lineno}"
        for path in sorted(PACKAGE.rglob("*.py"))
        if path != DECLARED_IN
        for node in ast.walk(ast.parse(path.read_text(encoding="utf8")))
        if len(spelled(node)) > 2
    ]
    assert not again
