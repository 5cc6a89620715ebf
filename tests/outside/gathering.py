"""All outside sources: one file each in this folder, each with a ``SOURCE``."""

import ast
import importlib
import sys
from collections.abc import Iterator
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [folder for folder in (str(HERE), str(HERE.parent)) if folder not in sys.path]

from citation import CheckValue, Source  # noqa: E402

OF_NO_SOURCE = ("citation", "gathering", "test_outside_table")
ROOT = HERE.parent.parent


def sources() -> dict[str, Source]:
    """Return each file's name and its source, in the order of their names."""
    names = sorted(path.stem for path in HERE.glob("*.py") if path.stem not in OF_NO_SOURCE)
    return {name: importlib.import_module(name).SOURCE for name in names}


def values() -> Iterator[tuple[str, Source, CheckValue]]:
    """Yield every check value with the file it stands in and its source."""
    for name, source in sources().items():
        yield from ((name, source, value) for value in source.values)


def place_of(name: str, value: CheckValue) -> tuple[Path, str]:
    """Return the file and the name of the test that holds a value."""
    path, _, test = value.test.rpartition("::")
    return (ROOT / path if path else HERE / f"{name}.py"), test


def names_of_tests(path: Path) -> set[str]:
    """Return the names of the tests in a file."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
