"""Break the code on purpose and count who notices: `python -m tests.mutants physics vehicle`.

A seeded sample of small changes (a constant, an operator, a comparison, a bound) in physics/,
simulation/ and vehicle/ is applied one at a time, in memory: a change of a function in a fork of a
session that has collected every test; a change of what is run at import, unless noticed so, in a
fork that loads our modules anew. The tests that run the changed line come first, quickest first,
until one fails; then others of their files. Tests of printed text (README and guide) and of the
browser do not count: a change must be noticed by what the code does. Left out: notes, sentences,
limits of what may be entered, slack against rounding, and what `mutations._EQUIVALENT` lists.
`--map` records which test runs which line, of all tests (ten minutes of work) or of those named; do
so after moving lines. Prints every change.

Whole samples of seeds no test was written on, 28 November 2026:

    room              seed    tried  noticed
    physics           577215     60   56 (93 %)
    vehicle           577215     60   50 (83 %)
    simulation        577215    120  106 (88 %)
    answers/fleet     141421     60   35 (58 %)
    answers/readings  141421     60   21 (35 %)
    answers/storage   141421     59   27 (46 %)

Of the 10 survivors in vehicle 6 are limits of what may be entered. Before the tests written on the
survivors of seed 141421 simulation had 74 %; in answers the worst gaps only were closed then.
"""

import argparse
import ast
import gc
import json
import os
import random
import resource
import sys
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property, partial
from pathlib import Path
from types import CodeType, FunctionType
from typing import ClassVar

import coverage
import pytest

from tests.mutations import ROOT, Changed, Mutant, compiled, mutants_of

_ROOMS = ("physics", "simulation", "vehicle")
# Tests of behaviour: no printed text (README, guide), no browser.
_TESTS = (
    *(f"drainsim/{room}" for room in (*_ROOMS, "answers")),
    *(f"tests/{room}" for room in (*_ROOMS, "answers", "evidence", "files", "second_opinion")),
    "tests/dashboard/test_fitting_voltage.py",
)
_OWN = ("drainsim", "tests")
_OPTIONS = ("-q", "-n0", "-p", "no:cacheprovider", "--no-header", "--assert=plain")
_OPTIONS += ("-m", "not browser and not nightly")
_MOST_S = 30.0  # of the tests that run a line, quickest first
_MORE_S = 8.0  # of the others of their files
_FEW_FILES = 4  # loaded first where our modules are loaded anew
_MOST_BYTES = 8 << 30


def _tests_and_lines() -> Path:
    return Path(tempfile.gettempdir()) / "drainsim_tests_of_lines.json"


class _Recorder:
    """Notes which test runs which line, at import too, its seconds, and which is red."""

    def __init__(self, measuring: coverage.Coverage) -> None:
        self.measuring = measuring
        self.seconds: dict[str, float] = {}
        self.red: set[str] = set()

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        self.measuring.switch_context(nodeid)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.seconds[report.nodeid] = self.seconds.get(report.nodeid, 0.0) + report.duration
        if report.failed:
            self.red.add(report.nodeid)


def record_map(tests: Sequence[str]) -> None:
    """Write which test runs which line, and how long each test takes (some minutes for all)."""
    with tempfile.TemporaryDirectory() as folder:
        rooms = [str(ROOT / "drainsim" / room) for room in (*_ROOMS, "answers")]
        measuring = coverage.Coverage(data_file=str(Path(folder) / "data"), source=rooms)
        recorder = _Recorder(measuring)
        measuring.start()
        pytest.main([*_OPTIONS, *tests], plugins=[recorder])
        measuring.stop()
        data = measuring.get_data()
        lines = {
            str(Path(file).relative_to(ROOT)): {
                str(line): [name for name in names if name not in recorder.red]
                for line, names in data.contexts_by_lineno(file).items()
            }
            for file in data.measured_files()
        }
    for name in recorder.red:  # red without any change: it notices nothing
        del recorder.seconds[name]
    known = _Map(seconds=recorder.seconds, lines=lines)
    if tests is not _TESTS and _tests_and_lines().exists():  # what other tests do is kept
        known = _Map.stored().with_more(known)
    known.store()
    print(len(recorder.seconds), "tests timed; red without a change:", *sorted(recorder.red))


@dataclass
class _Map:
    """Which test runs which line ("" is the import), and seconds a test takes."""

    seconds: dict[str, float]
    lines: dict[str, dict[str, list[str]]]

    @classmethod
    def stored(cls) -> "_Map":
        """Return the map that was recorded."""
        document = json.loads(_tests_and_lines().read_text("utf-8"))
        names = document["names"]
        lines = {
            path: {line: [names[number] for number in numbers] for line, numbers in found.items()}
            for path, found in document["lines"].items()
        }
        return cls(seconds=document["seconds"], lines=lines)

    def with_more(self, more: "_Map") -> "_Map":
        """Return a map of what is known here and of other tests."""
        lines = {path: dict(found) for path, found in self.lines.items()}
        for path, found in more.lines.items():
            here = lines.setdefault(path, {})
            for line, names in found.items():
                here[line] = sorted({*names, *here.get(line, [])})
        return _Map(seconds=self.seconds | more.seconds, lines=lines)

    def store(self) -> None:
        """Write the map, every name once."""
        number: dict[str, int] = {}
        lines = {
            path: {
                line: [number.setdefault(name, len(number)) for name in names]
                for line, names in found.items()
            }
            for path, found in self.lines.items()
        }
        document = {"names": list(number), "seconds": self.seconds, "lines": lines}
        _tests_and_lines().write_text(json.dumps(document), "utf-8")

    def running(self, path: str, first: int, last: int) -> set[str]:
        """Return tests (and "" for the import) that run a line from first to last."""
        lines = self.lines.get(path, {})
        return {name for line in range(first, last + 1) for name in lines.get(str(line), [])}

    def tests_for(self, mutant: Mutant) -> tuple[bool, bool, list[str], list[str]]:
        """Return whether a change acts at import and in a function, what to try first, and more."""
        tree = _tree(mutant.path)
        node = next(n for number, n in enumerate(ast.walk(tree)) if number == mutant.node)
        around = [n for n in ast.walk(tree) if isinstance(n, ast.stmt) and _holds(n, node)]
        inner = around[-1]
        functions = [n for n in around[:-1] if isinstance(n, ast.FunctionDef)]
        tests = self.running(mutant.path, inner.lineno, _head_end(inner))
        cold = "" in tests or not functions
        if functions:
            body = functions[0].body
            cold = cold or "" in self.running(mutant.path, body[0].lineno, body[-1].end_lineno or 0)
        if cold:  # what is only read, a default say, is noticed by tests that run no line
            room = f"tests/{mutant.path.split('/')[1]}/"
            idle = self.seconds.keys() - self._running_some
            tests |= {name for name in idle if name.startswith(room)}
        if cold and isinstance(around[0], ast.Assign | ast.AnnAssign):
            tests |= self._using(around[0])
        every = {name for names in self.lines.get(mutant.path, {}).values() for name in names}
        tests -= {""}
        files = {_file_of(name) for name in tests or every}
        others = every | {name for name in self.seconds if _file_of(name) in files}
        more = self._quickest(others - tests - {""}, _MORE_S)
        return cold, bool(functions), self._quickest(tests, _MOST_S), more

    @cached_property
    def _running_some(self) -> set[str]:
        found = self.lines.values()
        return {name for lines in found for names in lines.values() for name in names}

    def _using(self, stated: ast.Assign | ast.AnnAssign) -> set[str]:
        """Return tests that run a statement of any room with the name of a constant."""
        targets = stated.targets if isinstance(stated, ast.Assign) else [stated.target]
        names = {n.id for target in targets for n in ast.walk(target) if isinstance(n, ast.Name)}
        tests: set[str] = set()
        for path in self.lines:
            for node in ast.walk(_tree(path)):
                name = getattr(node, "id", None) or getattr(node, "attr", None)
                if name in names and isinstance(node, ast.Name | ast.Attribute):
                    tests |= self.running(path, node.lineno, node.lineno)
        return tests

    def _quickest(self, names: set[str], most_s: float) -> list[str]:
        chosen, spent = [], 0.0
        for name in sorted(names & self.seconds.keys(), key=lambda name: self.seconds[name]):
            spent += self.seconds[name]
            if spent > most_s:
                break
            chosen.append(name)
        return chosen


def _file_of(test: str) -> str:
    return test.partition("::")[0]


@cache
def _tree(path: str) -> ast.Module:
    return ast.parse((ROOT / path).read_text("utf-8"))


def _holds(outer: ast.AST, inner: ast.AST) -> bool:
    return outer is not inner and any(node is inner for node in ast.walk(outer))


def _head_end(statement: ast.stmt) -> int:
    """Return the last line of a statement without the statements inside it."""
    body = getattr(statement, "body", None)
    return body[0].lineno - 1 if body else (statement.end_lineno or statement.lineno)


def _put_in(mutant: Mutant, functions: Mapping[str, Sequence[FunctionType]]) -> None:
    """Change the functions of a loaded module, whoever holds them; `functions` by file."""
    path = str(ROOT / mutant.path)
    waiting: list[CodeType] = [compiled(mutant)]
    new: dict[tuple[str, int], CodeType] = {}
    while waiting:
        code = waiting.pop()
        new[code.co_qualname, code.co_firstlineno] = code
        waiting += [inner for inner in code.co_consts if isinstance(inner, CodeType)]
    for held in functions.get(path, []):
        code = held.__code__
        held.__code__ = new.get((code.co_qualname, code.co_firstlineno), code)


def _noticed_by(run: Callable[[], bool], limit_s: float) -> str:
    """Return the test that fails in a forked process, or what else ends it; "" where nothing."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, 1)
        os.dup2(null, 2)
        _Stop.writing = writing
        resource.setrlimit(resource.RLIMIT_CPU, (int(limit_s), int(limit_s)))
        resource.setrlimit(resource.RLIMIT_DATA, (_MOST_BYTES, _MOST_BYTES))
        try:
            os._exit(0 if run() else 1)
        except BaseException:
            os._exit(1)
    os.close(writing)
    with os.fdopen(reading) as told:
        name = told.read()
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    return name or ("" if status == 0 else f"(ended with {status})")


class _Stop:
    """Ends a forked process at its first failure."""

    writing = 1

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            os.write(self.writing, report.nodeid.encode())
            os._exit(1)


class _Warm:
    """Tries changes of functions in forks of one session that has collected every test."""

    def __init__(self, tries: Sequence["Try"]) -> None:
        self.tries = tries

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        items = {item.nodeid: item for item in session.items}
        functions: dict[str, list[FunctionType]] = {}
        for held in gc.get_objects():
            if isinstance(held, FunctionType):
                functions.setdefault(held.__code__.co_filename, []).append(held)
        gc.freeze()  # forks share what was loaded
        session.config.pluginmanager.register(_Stop())

        def run(mutant: Mutant, tests: Sequence[str]) -> bool:
            _put_in(mutant, functions)
            chosen = [items[name] for name in tests if name in items]
            for item, after in zip(chosen, [*chosen[1:], None], strict=True):
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
            return True

        for one in self.tries:
            one.attempt(run, one.parts)
        return True


def _cold(mutant: Mutant, tests: Sequence[str]) -> bool:
    """Load our own modules anew with the change; return whether every test passes."""
    for name in [name for name in sys.modules if name.split(".")[0] in _OWN]:
        del sys.modules[name]
    sys.meta_path.insert(0, Changed(mutant))
    return pytest.main([*_OPTIONS, "-x", *tests], plugins=[_Stop()]) == pytest.ExitCode.OK


class Try:
    """One change, the tests that may notice it, and the one that did."""

    red: ClassVar[dict[tuple[object, str], bool]] = {}  # a test without any change, once

    def __init__(self, mutant: Mutant, known: _Map) -> None:
        self.mutant = mutant
        self.known = known
        self.at_import, self.in_function, first, more = known.tests_for(mutant)
        self.parts = [part for part in (first, more) if part]
        self.noticed = ""

    @property
    def few_files_first(self) -> list[list[str]]:
        """The parts, the first in two: loading many test files takes longer than most tests."""
        first, *more = self.parts or [[]]
        files = list(dict.fromkeys(_file_of(name) for name in first))
        few = [name for name in first if _file_of(name) in files[:_FEW_FILES]]
        rest = [name for name in first if _file_of(name) in files[_FEW_FILES:]]
        return [part for part in (few, rest, *more) if part]

    def attempt(
        self, run: Callable[[Mutant, Sequence[str]], bool], parts: Sequence[list[str]]
    ) -> None:
        """Run the tests under the change, less those that are red in a fork without it."""
        for part in parts:
            while name := _noticed_by(partial(run, self.mutant, part), self._limit_s(part)):
                if name not in part or not self._red(name, run):
                    self.noticed = name
                    print(f"noticed: {self.mutant}: {name}", flush=True)
                    return
                part.remove(name)

    def _red(self, name: str, run: Callable[[Mutant, Sequence[str]], bool]) -> bool:
        """Return whether a test fails without any change, too."""
        if (run, name) not in self.red:
            unchanged = replace(self.mutant, node=-1)
            failed = _noticed_by(partial(run, unchanged, [name]), self._limit_s([name]))
            self.red[run, name] = bool(failed)
        return self.red[run, name]

    def _limit_s(self, part: Sequence[str]) -> float:
        return 60.0 + 3.0 * sum(self.known.seconds[name] for name in part)


def main() -> None:
    """Run a sample of each room and print what was not noticed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("rooms", nargs="*", help=f"{' '.join(_ROOMS)}, or answers/fleet")
    parser.add_argument(
        "--map", nargs="*", help="record which test runs which line, of all tests or these"
    )
    parser.add_argument("--sample", type=int, default=100, help="changes a room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="changes whose line holds these words")
    options = parser.parse_args()
    rooms = options.rooms or list(_ROOMS)
    if options.map is not None or not _tests_and_lines().exists():
        child = os.fork()  # our own modules stay out of this process
        if child == 0:
            record_map(options.map or _TESTS)
            os._exit(0)
        os.waitpid(child, 0)
    known = _Map.stored()
    tries: list[Try] = []
    for room in rooms:
        every = [
            mutant
            for path in sorted((ROOT / "drainsim" / room).rglob("*.py"))
            for mutant in mutants_of(path)
            if not mutant.shows_nowhere and options.only in str(mutant)
        ]
        chosen = random.Random(options.seed).sample(every, min(options.sample, len(every)))
        tries += [Try(mutant, known) for mutant in chosen]
    warm = [one for one in tries if one.in_function]
    if warm:
        pytest.main([*_OPTIONS, "-s", *_TESTS], plugins=[_Warm(warm)])
    for one in tries:
        if one.at_import and not one.noticed:
            one.attempt(_cold, one.few_files_first)
        if not one.noticed:
            print(f"survived: {one.mutant}", flush=True)
    for room in rooms:
        mine = [one for one in tries if one.mutant.path.startswith(f"drainsim/{room}/")]
        share = 100.0 * sum(bool(one.noticed) for one in mine) / max(len(mine), 1)
        print(f"{room}: {share:.1f} % of {len(mine)} changes noticed (seed {options.seed})")


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main()
