"""The kernel's parts: all of them compiled, none leaves a macro behind, one statement a line."""

import re
from pathlib import Path

import pytest

KERNEL = Path(__file__).resolve().parents[2] / "addon" / "dryfit" / "geometry" / "kernel"
SOURCES = sorted(KERNEL.glob("*.[ch]"))
COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
FOR_HEAD = re.compile(r"\bfor \([^;{}]*;[^;{}]*;[^{}]*\) \{")


def code(path):
    return COMMENT.sub("", path.read_text(encoding="utf8"))


def included(path):
    """A file and all of its own that it includes."""
    names = re.findall(r'^#include "(.+)"$', code(path), re.MULTILINE)
    return {path.name}.union(*(included(KERNEL / name) for name in names))


def test_every_part_is_compiled():
    assert included(KERNEL / "kernel.c") == {path.name for path in SOURCES}


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.name)
def test_no_macro_outlives_the_file_that_defined_it(path):
    defined, undefined = (set(re.findall(rf"^#{word} (\w+)", code(path), re.MULTILINE)) for word in ("define", "undef"))
    assert defined == undefined


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.name)
def test_a_line_has_one_statement(path):
    for line in FOR_HEAD.sub("for {", code(path)).splitlines():
        assert line.count(";") <= 1, f"{path.name}: {line.strip()}"
        assert not re.match(r"\s*(if|else|for|while)\b.*;", line), f"{path.name}: {line.strip()}"
