"""Imports point one way, read from the source text."""

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "drainsim"
# Each may import itself and what is listed; everything may import errors, units and dates.
BELOW = {
    "physics": set(),
    "files": {"physics"},
    "vehicle": {"physics", "files"},
    "simulation": {"physics", "files", "vehicle"},
    "answers": {"physics", "files", "vehicle", "simulation"},
    "evidence": {"physics", "files", "vehicle", "simulation", "answers"},
    "figures": {"physics", "files", "vehicle", "simulation", "answers", "evidence"},
    "sheets": {"physics", "files", "vehicle", "simulation", "answers", "figures"},
    "cli": {
        "physics",
        "files",
        "vehicle",
        "simulation",
        "answers",
        "figures",
        "sheets",
        "evidence",
    },
    "dashboard": {
        "physics",
        "files",
        "vehicle",
        "simulation",
        "answers",
        "figures",
        "sheets",
        "evidence",
    },
}
FREE = {"errors", "units", "dates", "language"}
STARTER = PACKAGE / "cli" / "dashboard.py"  # imports what serves the pages, inside its command
SOURCES = sorted(PACKAGE.rglob("*.py"))


def imports(path: Path, *, top_level_only: bool = False) -> Iterator[tuple[int, str]]:
    """Yield (line, dotted module) of every import in a file."""
    tree = ast.parse(path.read_text("utf-8"))
    package = ["drainsim", *path.relative_to(PACKAGE).parts[:-1]] if PACKAGE in path.parents else []
    for node in tree.body if top_level_only else ast.walk(tree):
        if isinstance(node, ast.Import):
            for name in node.names:
                yield node.lineno, name.name
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            module = ".".join([*base, *([node.module] if node.module else [])])
            for name in node.names:
                yield node.lineno, f"{module}.{name.name}"


def layer_of(path: Path) -> str:
    """Return the layer a file belongs to: its folder, or its own name at the top."""
    parts = path.relative_to(PACKAGE).parts
    return parts[0] if len(parts) > 1 else parts[0].removesuffix(".py")


def test_imports_point_down() -> None:
    """A layer imports only layers below it."""
    wrong = []
    for path in SOURCES:
        layer = layer_of(path)
        if layer in {"__init__", "__main__", "api"}:
            continue
        assert layer in {*BELOW, *FREE}, f"{layer}: say in BELOW what it imports"
        allowed = BELOW.get(layer, set()) | {layer, "__version__"} | FREE
        for line, module in imports(path, top_level_only=path == STARTER):
            parts = module.split(".")
            if parts[0] == "drainsim" and len(parts) > 1 and parts[1] not in allowed:
                wrong.append(f"{path}:{line}: {layer} imports {module}")
    assert not wrong


def test_only_the_dashboard_knows_streamlit() -> None:
    """Streamlit is imported by app.py and the dashboard, nowhere else."""
    wrong = [
        f"{path}:{line}"
        for path in SOURCES
        if layer_of(path) != "dashboard"
        for line, module in imports(path)
        if module.split(".")[0] == "streamlit"
    ]
    assert not wrong


def test_physics_is_numpy_alone() -> None:
    """Physics imports numpy and the standard library's typing, no pandas, no files, no plots."""
    allowed = {"numpy", "drainsim", "typing", "math", "collections", "functools", "dataclasses"}
    wrong = []
    for path in (PACKAGE / "physics").rglob("*.py"):
        wrong += [
            f"{path}:{line}: {module}"
            for line, module in imports(path)
            if module.split(".")[0] not in allowed
        ]
        wrong += [
            f"{path}:{node.lineno}: opens a file"
            for node in ast.walk(ast.parse(path.read_text("utf-8")))
            if isinstance(node, ast.Call)
            and isinstance(node.func, ast.Name)
            and node.func.id == "open"
        ]
    assert not wrong


def test_modules_stay_short_enough_to_read() -> None:
    """About 400 lines a module."""
    limit = 450
    lines = {path: len(path.read_text("utf-8").splitlines()) for path in SOURCES}
    assert {path: count for path, count in lines.items() if count > limit} == {}


def test_the_walk_sees_a_wrong_import(tmp_path: Path) -> None:
    """The reader of imports finds plain, from, relative and nested ones."""
    source = "import streamlit\ndef f():\n    from drainsim.vehicle import case\n    import a.b\n"
    path = tmp_path / "wrong.py"
    path.write_text(source, "utf-8")
    found = [module for _, module in imports(path)]
    assert sorted(found) == ["a.b", "drainsim.vehicle.case", "streamlit"]
    assert [module for _, module in imports(path, top_level_only=True)] == ["streamlit"]
