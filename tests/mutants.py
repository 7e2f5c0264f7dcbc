"""Break the physics on purpose and count who notices: `python -m tests.mutants physics`.

A seeded sample of small changes (a constant, an operator, a comparison, a bound) in physics/,
simulation/ or vehicle/ is applied one at a time, in memory. For each, the tests that run the
changed line are run, quickest first, until one fails; then the rest of their files, as a fixture or
a cache runs a line for one test that another one judges. Tests of printed text (README and guide)
and of the browser do not count: a change must be noticed by what the code does. Prints the share
noticed and every survivor; `--map` first records which test runs which line (some minutes a layer).
"""

import argparse
import ast
import importlib.abc
import importlib.machinery
import json
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[1]
# Where each layer's behaviour is tested, its own examples included.
_TESTS = {
    "physics": (
        "drainsim/physics",
        "tests/physics",
        "tests/evidence/test_evidence.py",
        "tests/second_opinion/test_corners.py",
        "tests/answers/test_circuits_answer.py",
        "tests/answers/test_fuse_drop.py",
        "tests/vehicle",
    ),
    "simulation": (
        "drainsim/simulation",
        "tests/simulation",
        "tests/answers/test_park.py",
        "tests/answers/test_week.py",
        "tests/second_opinion/test_corners.py",
    ),
    "vehicle": (
        "drainsim/vehicle",
        "tests/vehicle",
        "tests/files/fleet",
        "tests/answers/test_systems.py",
        "tests/answers/test_deep_cold.py",
        "tests/answers/test_complaint.py",
        "tests/simulation/test_between_trips.py",
        "tests/dashboard/test_fitting_voltage.py",
    ),
}
_MOST_TESTS = 60  # quickest first; a change none of them notices counts as a survivor
_OWN = ("drainsim", "tests")
_OPTIONS = ("-q", "-n0", "-p", "no:cacheprovider", "-m", "", "--no-header", "--assert=plain")
_MOST_S = 40.0  # so many seconds of the other tests in their files
_SWAPPED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Lt: ast.GtE,
    ast.LtE: ast.Gt,
    ast.Gt: ast.LtE,
    ast.GtE: ast.Lt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.And: ast.Or,
    ast.Or: ast.And,
}
# Changes that no answer can show, and why: (file, line, change).
_EQUIVALENT: dict[tuple[str, str, str], str] = {
    (
        "physics/acceptance.py",
        "edges = np.linspace(from_charge, to_charge, 401)",
        "401 -> 402",
    ): "points of a sum that has long converged",
    (
        "physics/load.py",
        "rows = np.asarray(phases, dtype=float).reshape(-1, 2)",
        "1 -> 2",
    ): "any negative length is worked out by NumPy",
    (
        "physics/acceptance.py",
        "LITHIUM: Final = Acceptance(1.0, 0.03, 0.99, 0.95, 0.99)",
        "0.95 -> 1.235",
    ): "a knee between two equal efficiencies",
    ("physics/capacity.py", "for _ in range(200):", "200 -> 201"): "bounds a search, long over",
    (
        "physics/current_log/settled.py",
        "_MOST_WINDOWS: Final = 20_000",
        "20000 -> 20001",
    ): "bounds the work, not the answer",
}
_DECLARING = {"number", "integer"}
_OF_CONTROLS = {"step", "example"}
_BOUNDS = {"minimum": "maximum", "maximum": "minimum", "min": "max", "max": "min"}


@dataclass(frozen=True, kw_only=True)
class Mutant:
    """One change: node number in walking order, with what it reads before and after."""

    module: str
    path: str
    node: int
    line: int
    words: str
    source: str  # the line before the change


def _skipped(tree: ast.Module) -> set[int]:
    """Return ids of nodes whose change is no change of behaviour.

    Notes, error sentences, and of a scenario key what may be entered and how a control steps.
    """
    found: set[int] = set()
    for node in ast.walk(tree):
        parts: list[ast.AST] = []
        if isinstance(node, ast.AnnAssign):
            parts = [node.annotation]
        elif isinstance(node, ast.FunctionDef):
            every = [*node.args.args, *node.args.kwonlyargs]
            parts = [*(a.annotation for a in every if a.annotation), *node.decorator_list]
            parts += [node.returns] if node.returns else []
        elif isinstance(node, ast.Raise | ast.JoinedStr | ast.Assert):
            parts = [node]
        elif isinstance(node, ast.ClassDef):
            parts = [*node.decorator_list]
        elif isinstance(node, ast.Call) and getattr(node.func, "id", "") in _DECLARING:
            parts = [*node.args, *(k for k in node.keywords if k.arg in _OF_CONTROLS)]
        for part in parts:
            found |= {id(inner) for inner in ast.walk(part)}
    return found


def _change(node: ast.AST) -> str | None:
    """Change a node in place; return what was done, or None where it is not our kind."""
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        before = node.value
        node.value = 1.3 * before if isinstance(before, float) and before else before + 1
        return f"{before} -> {node.value:g}"
    if isinstance(node, ast.BinOp | ast.BoolOp) and type(node.op) in _SWAPPED:
        before = type(node.op)
        node.op = _SWAPPED[before]()  # type: ignore[assignment]
        return f"{before.__name__} -> {_SWAPPED[before].__name__}"
    if isinstance(node, ast.Compare) and type(node.ops[0]) in _SWAPPED:
        before_op = type(node.ops[0])
        node.ops[0] = _SWAPPED[before_op]()  # type: ignore[call-overload]
        return f"{before_op.__name__} -> {_SWAPPED[before_op].__name__}"
    if isinstance(node, ast.Call):
        called = node.func
        name = getattr(called, "attr", getattr(called, "id", ""))
        if name in _BOUNDS and len(node.args) > 1:
            if isinstance(called, ast.Attribute):
                called.attr = _BOUNDS[name]
            elif isinstance(called, ast.Name):
                called.id = _BOUNDS[name]
            return f"{name} -> {_BOUNDS[name]}"
    return None


def mutants_of(path: Path) -> Iterator[Mutant]:
    """Yield every change of a file."""
    module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
    text = path.read_text("utf-8")
    tree = ast.parse(text)
    skipped = _skipped(tree)
    for number, node in enumerate(ast.walk(tree)):
        if id(node) in skipped:
            continue
        words = _change(node)
        if words is not None:
            line = int(getattr(node, "lineno", 0))
            place = str(path.relative_to(ROOT))
            source = text.splitlines()[line - 1].strip()
            yield Mutant(
                module=module, path=place, node=number, line=line, words=words, source=source
            )


class _Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Loads one module with one change."""

    def __init__(self, mutant: Mutant) -> None:
        self.mutant = mutant

    def find_spec(
        self, name: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        if name != self.mutant.module:
            return None
        return importlib.machinery.ModuleSpec(name, self, origin=str(ROOT / self.mutant.path))

    def exec_module(self, module: ModuleType) -> None:
        source = ROOT / self.mutant.path
        tree = ast.parse(source.read_text("utf-8"))
        for number, node in enumerate(ast.walk(tree)):
            if number == self.mutant.node:
                _change(node)
        module.__file__ = str(source)
        exec(compile(ast.fix_missing_locations(tree), str(source), "exec"), module.__dict__)


Known = dict[str, Any]


def _map_of(layer: str) -> Path:
    return Path(tempfile.gettempdir()) / f"drainsim_tests_of_{layer}.json"


def record_map(layer: str) -> None:
    """Write which test runs which line of a layer, and how long each test takes."""
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "coverage"
        words = ["-m", "pytest", "-vv", "-n0", "--dist=no", "-p", "no:cacheprovider"]
        words += ["--durations=0", "--durations-min=0"]
        words += [f"--cov=drainsim/{layer}", "--cov-context=test", "--cov-report="]
        words += ["-m", "not browser and not nightly"]
        words += _TESTS[layer]
        environment = {**os.environ, "COVERAGE_FILE": str(data), "PYTHONPATH": str(ROOT)}
        done = subprocess.run(
            [sys.executable, *words],
            cwd=ROOT,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        seconds: dict[str, float] = {}
        for line in done.stdout.splitlines():
            parts = line.split()
            if len(parts) >= 3 and parts[1] in {"call", "setup"} and parts[0].endswith("s"):
                test = " ".join(parts[2:])
                seconds[test] = seconds.get(test, 0.0) + float(parts[0][:-1])
        from coverage import CoverageData

        measured = CoverageData(str(data))
        measured.read()
        lines: dict[str, dict[int, list[str]]] = {}
        for file in measured.measured_files():
            place = str(Path(file).relative_to(ROOT))
            contexts = measured.contexts_by_lineno(file)
            lines[place] = {
                line: sorted({name.split("|")[0] for name in names if name})
                for line, names in contexts.items()
            }
        red = {line.split()[1] for line in done.stdout.splitlines() if line.startswith("FAILED ")}
        for name in red:  # red without any change: it notices nothing
            seconds.pop(name, None)
        lines = {
            place: {line: [n for n in names if n not in red] for line, names in found.items()}
            for place, found in lines.items()
        }
    print(done.stdout.splitlines()[-1], *sorted(red), sep="\n")
    _map_of(layer).write_text(json.dumps({"seconds": seconds, "lines": lines}), "utf-8")
    print(f"{len(seconds)} tests timed; map in {_map_of(layer)}")


def _tests_for(mutant: Mutant, known: Known) -> tuple[list[str], list[str]]:
    """Return the tests that run the changed line, then the others of their files."""
    lines = known["lines"].get(mutant.path, {})
    seconds: dict[str, float] = known["seconds"]

    def quickest(names: set[str]) -> list[str]:
        return sorted(names, key=lambda name: seconds.get(name, 1.0))

    tests = set(lines.get(str(mutant.line), []))
    if not tests:  # run when the module is imported: whoever uses the module may notice
        tests = {name for names in lines.values() for name in names}
    files = {name.partition("::")[0] for name in tests}
    others, spent = [], 0.0
    for name in quickest({name for name in seconds if name.partition("::")[0] in files} - tests):
        spent += seconds[name]
        if spent < _MOST_S:
            others.append(name)
    return quickest(tests)[:_MOST_TESTS], others


def noticed(mutant: Mutant, tests: list[str], *, limit_s: float) -> bool:
    """Return whether a test fails under the change, or does not end."""
    if not tests:  # else pytest would run all there are
        return False
    child = os.fork()
    if child == 0:  # libraries stay loaded, our own modules are loaded anew
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, 1)
        os.dup2(null, 2)
        os.chdir(ROOT)
        for name in [name for name in sys.modules if name.split(".")[0] in _OWN]:
            del sys.modules[name]
        sys.meta_path.insert(0, _Changed(mutant))
        code = pytest.main([*_OPTIONS, "-x", *tests])
        os._exit(0 if code == pytest.ExitCode.OK else 1)
    until = time.monotonic() + limit_s
    while time.monotonic() < until:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status) != 0
        time.sleep(0.05)
    os.kill(child, 9)
    os.waitpid(child, 0)
    return True


def main() -> None:
    """Run a sample and print what was not noticed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("layer", choices=sorted(_TESTS))
    parser.add_argument("--map", action="store_true", help="record which test runs which line")
    parser.add_argument("--sample", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--limit-s", type=float, default=240.0, help="a change that hangs")
    options = parser.parse_args()
    if options.map or not _map_of(options.layer).exists():
        record_map(options.layer)
    known = json.loads(_map_of(options.layer).read_text("utf-8"))
    every = [
        mutant
        for path in sorted((ROOT / "drainsim" / options.layer).rglob("*.py"))
        for mutant in mutants_of(path)
    ]
    chosen = random.Random(options.seed).sample(every, min(options.sample, len(every)))
    pytest.main([*_OPTIONS, "--collect-only", "-qq", *_TESTS[options.layer]])
    survivors, tried = 0, set()
    for number, mutant in enumerate(chosen, start=1):
        tests, others = _tests_for(mutant, known)
        if mutant.path not in tried:  # once a file: what notices no change at all is no witness
            tried.add(mutant.path)
            if noticed(replace(mutant, node=-1), tests, limit_s=options.limit_s):
                print(f"red without a change: {mutant.path}:{mutant.line}", flush=True)
        if not any(noticed(mutant, part, limit_s=options.limit_s) for part in (tests, others)):
            reason = _EQUIVALENT.get(
                (mutant.path.removeprefix("drainsim/"), mutant.source, mutant.words)
            )
            survivors += reason is None
            print(
                f"survived: {mutant.path}:{mutant.line}: {mutant.words}: {mutant.source}"
                + (f" (changes nothing: {reason})" if reason else ""),
                flush=True,
            )
        if number % 25 == 0 or number == len(chosen):
            share = 100.0 * (1.0 - survivors / number)
            print(f"{number} of {len(every)} changes: {share:.1f} % noticed", flush=True)


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main()
