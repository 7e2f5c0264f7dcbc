"""Small changes of a module, one at a time: which there are, and how one is loaded."""

import ast
import importlib.abc
import importlib.machinery
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, ModuleType

ROOT = Path(__file__).resolve().parents[1]
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
# Lines of which a change shows in no answer, and why: (end of the file's path, beginning of the
# line, the change or "" for any).
_KEPT = "bounds what is kept or worked on at once: time and memory"
_EQUIVALENT: dict[tuple[str, str, str], str] = {
    ("physics/acceptance.py", "edges = np.linspace(", "401 -> 402"): "a sum that has converged",
    ("physics/acceptance.py", "LITHIUM: Final", "0.95 -> 1.235"): "between equal efficiencies",
    ("physics/capacity.py", "for _ in range(200):", ""): "bounds a search, long over",
    ("physics/capacity.py", "@lru_cache", ""): _KEPT,
    ("physics/oil.py", "@lru_cache", ""): _KEPT,
    ("physics/current_log/settled.py", "_MOST_WINDOWS", ""): _KEPT,
    ("physics/current_log/stages.py", "_MOST_POINTS", ""): _KEPT,
    ("physics/current_log/settled.py", "stride = max(1", ""): "how finely starts are tried",
    (
        "physics/current_log/stages.py",
        "logged = np.log(",
        "",
    ): "keeps log(0) away",
    ("vehicle/documents/complaint.py", "LONGEST_DAYS", ""): "a limit of what may be entered",
    ("simulation/blocks.py", "shortest = -(-per_day", ""): _KEPT,
    ("simulation/chargers.py", "@lru_cache", ""): _KEPT,
    ("simulation/chargers.py", "z = _CORRELATION", "Add -> Sub"): "noise as likely up as down",
    (
        "direct_rows.py",
        "self.days[:, :1]",
        "0.0 -> 1",
    ): "no balance closes at parking",
    ("direct_rows.py", "self.unit[:1] = 0.0", "1 -> 2"): "written again later",
    (
        "direct_modes.py",
        "narrow = replace(loads",
        "",
    ): "replaced on the next line",
    ("vehicle/documents/fleet_rows.py", "seed: int = 1", ""): "which of many seeds",
    (
        "direct_rows.py",
        "self.unit[row + 1 : row + 2",
        "2 -> 3",
    ): "written again later",
    (
        "direct_rows.py",
        "longest = float(",
        "0.0 -> 1",
    ): "chooses between two exact ways",
    (
        "parked_step.py",
        "left_h = np.where(empty",
        "0.0 -> 1",
    ): "empty stays empty",
    ("direct_rows.py", "_ROWS_AT_ONCE", ""): _KEPT,
    ("direct_rows.py", "whole_days = self.per_day * max(", ""): _KEPT,
    ("direct_stand.py", "_CELLS", ""): _KEPT,
    ("direct_stand.py", "_LEAST_LANES", ""): _KEPT,
    ("direct_stand.py", "_DAYS_AT_ONCE", ""): _KEPT,
    (
        "direct_bounds.py",
        "lost = np.maximum(",
        "Sub -> Add",
    ): "slack against rounding",
    (
        "direct_bounds.py",
        "dead = np.maximum(",
        "maximum -> minimum",
    ): "saves time only",
    (
        "direct_modes.py",
        "self._enter_v[lane]",
        "Add -> Sub",
    ): "slack against rounding",
    (
        "direct_rows.py",
        "if len(self._waiting) or self.modes.changing",
        "Gt -> LtE",
    ): "saves time only: the next line looks at every lane",
    (
        "direct_stand.py",
        "if step_h < 1.0",
        "1.0 -> 1.3",
    ): "between two exact ways",
    (
        "week.py",
        "if not self.plain or float(after.min(",
        "1.0 -> 1.3",
    ): "of no lanes",
    ("simulation/draws.py", "_MOST_KEPT", ""): _KEPT,
    ("simulation/draws.py", 'return {**z, "cranking_health"', "Add -> Sub"): "as likely up as down",
    ("simulation/draws.py", "_DRAWS_KEPT", ""): _KEPT,
    ("simulation/draws.py", "_WEATHERS_KEPT", ""): _KEPT,
    ("simulation/draws.py", "work = _kept_weather if", ""): _KEPT,
    ("simulation/draws.py", "_kept_noise", ""): _KEPT,
    ("simulation/draws.py", "return (_kept_noise if", ""): _KEPT,
    (
        "direct_rows.py",
        "self.days[:, :1]",
        "1 -> 2",
    ): "the second is written later",
    ("simulation/lookup.py", "rise = np.append", "0.0 -> 1"): "no value lies behind the last point",
    ("simulation/many.py", "MOST_LANES", ""): _KEPT,
    ("stepped_stand.py", "_DECIDED_SHARE", ""): _KEPT,
    (
        "stepped_stand.py",
        "if day < self.snapshot_day or decided.mean()",
        "",
    ): _KEPT,
    ("stepped_stand.py", "if decided.mean() < _DECIDED_SHARE", ""): _KEPT,
    (
        "stepped_stand.py",
        "self._hold(np.arange(0)",
        "0 -> 1",
    ): "before a lane is held",
    (
        "stepped_stand.py",
        "rows = days + 1 if self.",
        "0 -> 1",
    ): "room nobody reads",
    (
        "trips.py",
        "shrink = np.where(",
        "1.0 -> 1.3",
    ): "what shrinks is above nothing",
    ("simulation/workspace.py", "", ""): _KEPT,
    ("site.py", "@lru_cache", ""): _KEPT,
    (
        "site.py",
        "_PRE_ROLL_H",
        "",
    ): "begins earlier what the battery's lag has forgotten",
    ("physics/current_log/stages.py", "squares = np.concatenate(", "0.0 -> 1"): "one first piece",
    ("physics/current_log/stages.py", "penalty *= 2.0", ""): "how finely fewer stages are tried",
    ("physics/current_log/steps.py", "fits = np.abs(", "1.0 -> 1.3"): "slack against rounding",
    ("direct_bounds.py", "lost=np.where(", "1.0 -> 1.3"): "any charge below empty stands for none",
    ("simulation/weather.py", "first, last = ", "Sub -> Add"): "an hour more only loosens a bound",
    ("direct_stand.py", "ahead = np.arange(", "Sub -> Add"): "looks elsewhere first: time only",
    ("parked_step.py", "lowest_v = curves", "0.0 -> 1"): "a bound of what is ever shown",
    ("direct_stand.py", "never = np.searchsorted(", "1 -> 2"): "looks more up",
    ("direct_bounds.py", "behind_ah = rate_deficit_ah(", "0.0 -> 1"): "looks more up",
    ("battery_curves.py", "_TEMPERATURE_POINTS", ""): "a table that has converged",
    ("battery_curves.py", "_OIL_C", ""): "ends of a table beyond what is looked up",
    ("simulation/blocks.py", "_MOST_CELLS", ""): _KEPT,
    ("simulation/chargers.py", "_CLOUD_STREAM", ""): "which of many random streams",
    ("simulation/driving/week.py", "_STEP_H", ""): "a step that has converged, as a test says",
    ("simulation/lanes.py", "return _weather(case, case.spreads", "0 -> 1"): "rows of zeros",
    ("searching/bracket.py", "return {holds + width", ""): "where to look next, not what is found",
    ("searching/bracket.py", "width = max(", "max -> min"): "where to look next, not what is found",
    ("direct_charge.py", "least_a=np.zeros(", "Add -> Sub"): "a lower bound only looks more up",
    ("direct_charge.py", "unit=self.lend(ends", "0 -> 1"): _KEPT,
    ("simulation/many.py", "case.charging_a is None and", "And -> Or"): "saves time only",
    ("simulation/many.py", "size = max(1, MOST_LANES", ""): _KEPT,
    ("vehicle/documents/code.py", "_LONGEST_TEXT", ""): "a limit of what may be entered",
    ("vehicle/documents/job_record.py", "if not good or len(key)", "60 -> 61"): "an entry's limit",
    ("vehicle/documents/trips.py", "heading = [name", "1 -> 2"): "a number nobody reads",
}
_SLACK = 1e-6  # constants up to here only keep rounding and divisions by nothing away
_DECLARING = {"number", "whole", "_number"}
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

    @property
    def shows_nowhere(self) -> bool:
        """Whether no answer can show it, for a reason told above."""
        return any(
            self.path.endswith(f"/{path}")
            and self.source.startswith(begins)
            and words in {"", self.words}
            for path, begins, words in _EQUIVALENT
        )

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.words}: {self.source}"


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
        elif isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "reshape":
            # NumPy works out any negative length.
            parts = [arg for arg in node.args if isinstance(arg, ast.UnaryOp)]
        for part in parts:
            found |= {id(inner) for inner in ast.walk(part)}
    return found


def _change(node: ast.AST) -> str | None:
    """Change a node in place; return what was done, or None where it is not our kind."""
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        before = node.value
        if 0.0 < before <= _SLACK:
            return None
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


def compiled(mutant: Mutant) -> CodeType:
    """Return the changed module, compiled."""
    source = ROOT / mutant.path
    tree = ast.parse(source.read_text("utf-8"))
    for number, node in enumerate(ast.walk(tree)):
        if number == mutant.node:
            _change(node)
    return compile(ast.fix_missing_locations(tree), str(source), "exec")


class Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Loads one module with one change."""

    def __init__(self, mutant: Mutant) -> None:
        self.mutant = mutant

    def find_spec(
        self, name: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        """Return how the changed module is found."""
        if name != self.mutant.module:
            return None
        return importlib.machinery.ModuleSpec(name, self, origin=str(ROOT / self.mutant.path))

    def exec_module(self, module: ModuleType) -> None:
        """Run the changed module."""
        module.__file__ = str(ROOT / self.mutant.path)
        exec(compiled(self.mutant), module.__dict__)
