"""Change the code at random places, one at a time, and see whether the quick loop of the tests notices.

    python scripts/mutants.py COUNT SEED [--deciding] [--only PATTERN] [--near] [--whole]

A mutant is one comparison turned round, one sign of arithmetic or one number changed, in the folders ``geometry``,
``performer`` and ``checks``; the change is made in memory, no file is touched. First the quick loop is run once to
learn which tests enter which function (kept in ``--map`` for the next run, which then runs what is new). Then the
tests are collected once, and every mutant is given, in a process of its own, to those that enter its function, short
ones first, then to the rest of their files, last to the family of heads (``--near`` leaves that out).
``--deciding`` takes only comparisons that can decide about a status or a severity, all of them where COUNT is 0;
``--whole`` asks the slow tests as well. What survives is printed and held against ``mutant_survivors.toml`` beside
this, which says why each that is known may. The last line counts; the exit code is 1 where one survived that is not
known.

An own tool, and why: mutmut 3 chooses tests by function as this does, but leaves alone what stands outside functions
(limits, tables), takes no seed, and rewrites a copy of the tree; cosmic-ray gives every mutant one and the same test
command, minutes each. Neither knows which comparisons decide, and both are more to install than ``ast`` and a fork are
to read.
"""

from __future__ import annotations

import argparse
import ast
import gc
import importlib.abc
import importlib.machinery
import importlib.util
import json
import math
import os
import random
import re
import signal
import sys
import tempfile
import time
import tomllib
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from types import CodeType, FrameType, FunctionType, ModuleType
from typing import Any

import numpy as np  # noqa: F401  the processes that test mutants take over what is imported here
import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "addon" / "dryfit"
FOLDERS = ("geometry", "performer", "checks")
TESTS = ("checks", "performer", "geometry", "report", "model", "family", "outside", "fixes")
KNOWN = Path(__file__).with_name("mutant_survivors.toml")
DECIDING_WORDS = ("Severity", "Status", "Finding", "Bound", "not_checked")
TURNED: Mapping[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.GtE, ast.GtE: ast.Lt, ast.Gt: ast.LtE, ast.LtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
SWAPPED: Mapping[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult,
    ast.Pow: ast.Mult, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd,
}  # fmt: skip
COSTLY = "tests/family"
"""Tests that share heads which take long to make: asked last."""
LONGEST_S = 60
MONITOR = 4
"""A number of Python's for who monitors that no tool has by custom."""
ALONE = "--alone"
CAUGHT, SURVIVED, NO_TEST = "caught", "survived", "no test"


@dataclass(frozen=True)
class Mutant:
    """One change: the file within the package, the function it is in, the line, what stood there and what stands now.

    ``place`` tells it apart from others of its file: the number of its node as the tree is walked, and of its operator.
    """

    path: str
    function: str
    first: int
    line: int
    kind: str
    old: str
    new: str
    place: tuple[int, int]
    deciding: bool

    @property
    def name(self) -> str:
        """What it is called in the list of known survivors: nothing that moves when other lines do."""
        return f"{self.path}: {self.function}: {self.old} -> {self.new}"


def mutants_of(path: Path) -> Iterator[Mutant]:
    """Yield every mutant of a file."""
    tree = ast.parse(path.read_text("utf8"))
    inside = _functions(tree)
    skipped, deciding = _never_run(tree), _deciding(path, tree)
    for number, node in enumerate(ast.walk(tree)):
        if id(node) in skipped:
            continue
        function = inside.get(id(node))
        for part, kind in _sites(node):
            old = ast.unparse(node)
            changed = ast.parse(old, mode="eval").body
            _change(changed, part)
            yield Mutant(
                str(path.relative_to(PACKAGE)), function.name if function else "", function.lineno if function else 0,
                node.lineno, kind, old, ast.unparse(changed), (number, part),
                kind == "comparison" and function is not None and function.name in deciding,
            )  # fmt: skip


def _functions(tree: ast.AST) -> dict[int, ast.FunctionDef]:
    """Return the outermost function around each node, for its name and its line; decorators and defaults have none."""
    found: dict[int, ast.FunctionDef] = {}
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            for statement in function.body:
                for node in ast.walk(statement):
                    found.setdefault(id(node), function)
    return found


def _never_run(tree: ast.AST) -> set[int]:
    """Return the nodes that are only words about types."""
    hints: list[ast.AST | None] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            hints.append(node.returns)
        elif isinstance(node, ast.arg | ast.AnnAssign):
            hints.append(node.annotation)
    return {id(node) for hint in hints if hint for node in ast.walk(hint)}


def _sites(node: ast.AST) -> Iterator[tuple[int, str]]:
    """Yield what can be changed in one node: number of the part, kind of change."""
    if isinstance(node, ast.Compare):
        yield from ((part, "comparison") for part in range(len(node.ops)))
    elif isinstance(node, ast.BinOp) and type(node.op) in SWAPPED:
        if not isinstance(node.left, ast.JoinedStr) and not isinstance(node.right, ast.JoinedStr):
            yield 0, "arithmetic"
    elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
        yield 0, "constant"


def _change(node: ast.AST, part: int) -> None:
    if isinstance(node, ast.Compare):
        node.ops[part] = TURNED[type(node.ops[part])]()
    elif isinstance(node, ast.BinOp):
        node.op = SWAPPED[type(node.op)]()
    elif isinstance(node, ast.Constant):
        node.value = node.value + 1 if isinstance(node.value, int) else 2.0 * node.value or 1.0


def _deciding(path: Path, tree: ast.AST) -> set[str]:
    """Return the functions of a file that can decide about a status or a severity.

    Those that name one or what carries one, and in the checks whatever such a function calls in its own file.
    """
    bodies = {each.name: each for each in ast.walk(tree) if isinstance(each, ast.FunctionDef)}
    found = {name for name, body in bodies.items() if any(word in ast.unparse(body) for word in DECIDING_WORDS)}
    waiting = [*found] if path.is_relative_to(PACKAGE / "checks") else []
    while waiting:
        named = {node.id for node in ast.walk(bodies[waiting.pop()]) if isinstance(node, ast.Name)}
        new = (named & {*bodies}) - found
        found |= new
        waiting += new
    return found


def changed_code(mutant: Mutant) -> CodeType:
    """Return the compiled module of a mutant."""
    path = PACKAGE / mutant.path
    tree = ast.parse(path.read_text("utf8"))
    node = next(node for number, node in enumerate(ast.walk(tree)) if number == mutant.place[0])
    _change(node, mutant.place[1])
    return compile(ast.fix_missing_locations(tree), str(path), "exec")


class _Loader(importlib.abc.Loader):
    def __init__(self, code: CodeType) -> None:
        self._code = code

    def exec_module(self, module: ModuleType) -> None:
        """Run the changed code in place of the file's."""
        exec(self._code, module.__dict__)


class Changed(importlib.abc.MetaPathFinder):
    """Gives out a mutant where its module is imported."""

    def __init__(self, mutant: Mutant) -> None:
        words = ("dryfit", *Path(mutant.path).with_suffix("").parts)
        self._name = ".".join(word for word in words if word != "__init__")
        self._path = PACKAGE / mutant.path
        self._code = changed_code(mutant)

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> importlib.machinery.ModuleSpec | None:
        """Return the changed module's own specification, None for every other."""
        if fullname != self._name:
            return None
        return importlib.util.spec_from_file_location(
            fullname,
            self._path,
            loader=_Loader(self._code),
            submodule_search_locations=[str(self._path.parent)] if self._path.name == "__init__.py" else None,
        )


class Recorder:
    """A pytest plugin that notes which functions of the package each test enters, and how long it takes.

    Where Python can (3.12 on) each function is heard of once a test and then left alone, so that tests take no longer.
    """

    def __init__(self, known: Sequence[str]) -> None:
        self.entered: dict[str, set[str]] = defaultdict(set)
        self._known = {*known}
        self.seconds: dict[str, float] = {}
        self._now: set[str] = set()
        self._monitoring: Any = getattr(sys, "monitoring", None)
        if self._monitoring:
            started = self._monitoring.events.PY_START
            self._monitoring.use_tool_id(MONITOR, "mutants")
            self._monitoring.register_callback(MONITOR, started, self._begun)
            self._monitoring.set_events(MONITOR, started)

    def pytest_collection_modifyitems(self, config: pytest.Config, items: list[pytest.Item]) -> None:
        """Leave out what was run before."""
        old = [item for item in items if item.nodeid in self._known]
        config.hook.pytest_deselected(items=old)
        items[:] = [item for item in items if item.nodeid not in self._known]

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        """Watch one test with its fixtures."""
        self._now, begin = self.entered[item.nodeid], time.monotonic()
        if self._monitoring:
            self._monitoring.restart_events()
        else:
            sys.settrace(self._called)
        yield
        sys.settrace(None)
        self.seconds[item.nodeid] = time.monotonic() - begin

    def _begun(self, code: CodeType, _: int) -> Any:
        self._note(code)
        return self._monitoring.DISABLE

    def _called(self, frame: FrameType, event: str, _: Any) -> None:
        self._note(frame.f_code)

    def _note(self, code: CodeType) -> None:
        if code.co_filename.startswith(str(PACKAGE)):
            self._now.add(f"{code.co_filename[len(str(PACKAGE)) + 1 :]}:{code.co_name}")


@dataclass(frozen=True)
class Known:
    """Which tests enter what, and how long each takes, s."""

    entered: Mapping[str, Sequence[str]]
    seconds: Mapping[str, float]

    def tests_of(self, mutant: Mutant) -> list[str]:
        """Return the tests that enter a mutant's function, the shortest first; of about as short ones the nearest."""
        key = f"{mutant.path}:{mutant.function}"
        names = [name for name, keys in self.entered.items() if key in keys]
        if not names:
            names = [n for n, keys in self.entered.items() if any(k.startswith(f"{mutant.path}:") for k in keys)]
        return sorted(names, key=lambda name: (self._magnitude(name), _far(name, mutant), self.seconds[name], name))

    def _magnitude(self, name: str) -> int:
        """Return about how long a test takes, in powers of three."""
        return round(math.log(max(self.seconds[name], 0.01), 3.0))

    def beside(self, names: Sequence[str]) -> list[str]:
        """Return the other tests of the files that these are in: what they share was entered in one of them only."""
        files = {name.partition("::")[0] for name in names}
        others = [n for n in self.seconds if n.partition("::")[0] in files and n not in {*names}]
        return sorted(others, key=lambda name: (self.seconds[name], name))


def _far(test: str, mutant: Mutant) -> int:
    """Return how far a test's file is from a mutant's by name: 0 for the test of that module."""
    place = Path(mutant.path)
    if place.stem in test:
        return 0
    return 1 if f"/{place.parent}/" in test else 2 if place.parts[0] in test else 3


def known_tests(kept: Path, marks: str, folders: Sequence[str]) -> Known:
    """Return which tests of some folders enter what: read where it is kept; tests that are new there are run once."""
    process = os.fork()
    if not process:
        _record(kept, marks, folders)
    if os.waitpid(process, 0)[1]:
        raise SystemExit("The tests do not pass as the code is; mend that first.")
    stored = json.loads(kept.read_text("utf8"))
    return Known({name: set(keys) for name, keys in stored["entered"].items()}, stored["seconds"])


def _record(kept: Path, marks: str, folders: Sequence[str]) -> None:
    stored = json.loads(kept.read_text("utf8")) if kept.is_file() else {"entered": {}, "seconds": {}}
    recorder = Recorder([*stored["seconds"]])
    code = pytest.main(["-q", "-m", marks, "-p", "no:cacheprovider", *folders], plugins=[recorder])
    stored["entered"] |= {name: sorted(keys) for name, keys in recorder.entered.items()}
    stored["seconds"] |= recorder.seconds
    kept.write_text(json.dumps(stored), "utf8")
    os._exit(0 if code == pytest.ExitCode.NO_TESTS_COLLECTED else int(code))


def verdict(mutant: Mutant, known: Known, budget_s: float, near: bool, items: Mapping[str, pytest.Item]) -> str:
    """Return what became of a mutant."""
    entering = known.tests_of(mutant)
    costly = [name for name in entering if name.startswith(COSTLY)]
    new = [name for name in items if name not in known.seconds]
    cheap = [*new, *(name for name in entering if not name.startswith(COSTLY))]
    for names in (cheap, known.beside(cheap), [] if near else costly):
        chosen = _within(names, known, budget_s)
        if chosen and _notice(mutant, chosen, sum(known.seconds.get(name, 0.0) for name in chosen), items):
            return CAUGHT
    return SURVIVED if entering else NO_TEST


def _within(names: Sequence[str], known: Known, budget_s: float) -> list[str]:
    chosen, spent = [], 0.0
    for name in names:
        spent += known.seconds.get(name, 0.0)
        if chosen and spent > budget_s:
            break
        chosen.append(name)
    return chosen


def _notice(mutant: Mutant, names: Sequence[str], usual_s: float, items: Mapping[str, pytest.Item]) -> bool:
    """Tell whether tests fail, stop or hang under a mutant: in a process of their own, which leaves nothing behind."""
    process = os.fork()
    if not process:
        _test(mutant, [items[name] for name in names if name in items])
    latest = time.monotonic() + LONGEST_S + 3.0 * usual_s
    while time.monotonic() < latest:
        done, status = os.waitpid(process, os.WNOHANG)
        if done:
            return status != 0
        time.sleep(0.02)
    os.kill(process, signal.SIGKILL)
    os.waitpid(process, 0)
    return True


def _test(mutant: Mutant, items: Sequence[pytest.Item]) -> None:
    """Run collected tests under a mutant and leave, with 0 where they all pass."""
    code = 1
    try:
        os.setpgid(0, 0)
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        if not mutant.function:
            names = [item.nodeid for item in items]
            os.execv(sys.executable, [sys.executable, __file__, ALONE, json.dumps([asdict(mutant), names])])
        put_in(mutant)
        for item, following in zip(items, [*items[1:], None], strict=True):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        code = 0
    finally:
        os._exit(code)


def put_in(mutant: Mutant) -> None:
    """Give every function of a mutant's module that is alive the code that it has in the mutant."""
    path, new = str(PACKAGE / mutant.path), {}
    waiting = [changed_code(mutant)]
    while waiting:
        code = waiting.pop()
        new[code.co_qualname, code.co_firstlineno] = code
        waiting += [each for each in code.co_consts if isinstance(each, CodeType)]
    for each in gc.get_objects():
        if isinstance(each, FunctionType) and each.__code__.co_filename == path:
            each.__code__ = new[each.__code__.co_qualname, each.__code__.co_firstlineno]


def alone(words: str) -> int:
    """Run tests in a new process, with a mutant in what a module does while it is imported; return 0 where all pass."""
    stated, names = json.loads(words)
    mutant = Mutant(**stated | {"place": tuple(stated["place"])})
    sys.path.insert(0, str(PACKAGE.parent))
    sys.meta_path.insert(0, Changed(mutant))
    return int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", *names]))


class Loop:
    """A pytest plugin: in the place of running what was collected once, tries every mutant on its part of it."""

    def __init__(self, mutants: Sequence[Mutant], known: Known, budget_s: float, near: bool) -> None:
        self.fates: list[tuple[Mutant, str]] = []
        self._mutants, self._known, self._budget_s, self._near = mutants, known, budget_s, near
        self._parent = os.getpid()

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Try the mutants."""
        items = {item.nodeid: item for item in session.items}
        why = reasons()
        for number, mutant in enumerate(self._mutants, 1):
            print(f"\r{number}/{len(self._mutants)} ", end="", file=sys.__stderr__, flush=True)
            fate = verdict(mutant, self._known, self._budget_s, self._near, items)
            self.fates.append((mutant, fate))
            if fate != CAUGHT:
                words = why.get(mutant.name, "new")
                print(f"{fate}: line {mutant.line}: {mutant.name}  [{words}]", file=sys.__stderr__, flush=True)
        return True

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Leave at the first test that notices."""
        if report.failed and os.getpid() != self._parent:
            os._exit(1)


def chosen(count: int, seed: int, deciding: bool, only: str) -> list[Mutant]:
    """Return the mutants to try: COUNT of them at random, all where it is 0."""
    files = sorted(path for folder in FOLDERS for path in (PACKAGE / folder).rglob("*.py"))
    every = [mutant for path in files for mutant in mutants_of(path)]
    wanted = [each for each in every if (each.deciding or not deciding) and re.search(only, each.name)]
    return random.Random(seed).sample(wanted, min(count, len(wanted))) if count else wanted


def reasons() -> dict[str, str]:
    """Return why each survivor that is known may survive, by its name."""
    return {each["mutant"]: each["why"] for each in tomllib.loads(KNOWN.read_text("utf8")).get("survivor", ())}


def main() -> int:
    """Try the mutants, print what survived and a last line that counts."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("count", type=int)
    parser.add_argument("seed", type=int)
    parser.add_argument("--deciding", action="store_true", help="only comparisons that can decide about a status")
    parser.add_argument("--only", default="", help="only mutants whose name this regular expression is found in")
    parser.add_argument("--whole", action="store_true", help="ask the slow tests as well")
    parser.add_argument("--near", action="store_true", help="do not ask the family of heads, which takes longest")
    parser.add_argument("--budget", type=float, default=20.0, metavar="S", help="longest a mutant's tests may take")
    parser.add_argument("--map", type=Path, help="where to keep which tests enter what")
    asked = parser.parse_args()
    os.chdir(ROOT)
    sys.path.insert(0, str(PACKAGE.parent))
    marks = "not blender" if asked.whole else "not slow and not blender"
    kept = asked.map or Path(tempfile.mkdtemp()) / "tests.json"
    folders = [f"tests/{folder}" for folder in TESTS if not (asked.near and COSTLY.endswith(folder))]
    known, why = known_tests(kept, marks, folders), reasons()
    mutants = chosen(asked.count, asked.seed, asked.deciding, asked.only)
    loop = Loop(mutants, known, asked.budget, asked.near)
    with tempfile.TemporaryDirectory() as place:
        os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = place
        options = ["-q", "-m", marks, "-p", "no:cacheprovider", "-s", "--basetemp", f"{place}/pytest"]
        pytest.main([*options, *folders], plugins=[loop])
    fates = Counter(fate for _, fate in loop.fates)
    new = sum(fate != CAUGHT and mutant.name not in why for mutant, fate in loop.fates)
    print(f"{len(loop.fates)} mutants, {fates[CAUGHT]} caught, {fates[SURVIVED]} survived, "
          f"{fates[NO_TEST]} that no test enters, {new} of these not known (seed {asked.seed})")  # fmt: skip
    return 1 if new else 0


if __name__ == "__main__":
    sys.exit(alone(sys.argv[2]) if sys.argv[1:2] == [ALONE] else main())
