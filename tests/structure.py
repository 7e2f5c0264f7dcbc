"""Print how the code is built: sizes, string keys, defaults living twice, complexity, call hops.

`python -m tests.structure [CHECKOUT]` measures a checkout (this one by default), so that two
versions can be compared by one script.
"""

import ast
import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

_HERE = Path(__file__).resolve().parents[1]
_GET = re.compile(r"""\bget\(\s*"[a-z_]+",\s*"[a-z_0-9]+"\s*[),]""")
_DOTTED = re.compile(
    r"(?:battery|vehicle|unit|site|solar|maintainer|top_up|pattern|uncertainty|run)\.[a-z_0-9]+"
)
# Counts distinct functions of drainsim entered on the way; run in the checkout that is measured.
_HOPS = """
import datetime, json, sys
seen = set()
def look(frame, event, arg):
    name = frame.f_globals.get("__name__", "")
    if event == "call" and name.startswith("drainsim."):
        code = frame.f_code
        if not code.co_name.startswith("<"):
            seen.add((code.co_filename, code.co_qualname))
def count(call):
    seen.clear()
    sys.setprofile(look)
    try:
        call()
    finally:
        sys.setprofile(None)
    return len(seen)
from drainsim.cli import main
import io, contextlib
out = {}
def quiet(*words):
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(list(words)) == 0, words
for name, words in json.loads(sys.argv[1]).items():
    quiet(*words)  # caches of presets and profiles filled, as in a running server
    out[name] = count(lambda words=words: quiet(*words))
print(json.dumps(out))
"""
_SCENARIO = """
[battery]
capacity_ah = 60
[site]
temperature_c = 5
parked_from = 2026-12-01
[run]
draws = 100
"""
_LIST = "vehicle,capacity Ah,parked since\nA,60,2026-11-20\n"


def _sources(root: Path) -> list[Path]:
    names = subprocess.run(
        ["git", "ls-files", "drainsim/*.py"], cwd=root, capture_output=True, text=True, check=True
    ).stdout.split()
    return [root / name for name in names]


def sizes(root: Path) -> dict[str, tuple[int, int, int]]:
    """Return (files, functions, lines) of every folder of the package."""
    found: dict[str, tuple[int, int, int]] = {}
    for path in _sources(root):
        text = path.read_text("utf-8")
        functions = sum(
            isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
            for node in ast.walk(ast.parse(text))
        )
        folder = str(path.parent.relative_to(root))
        files, before, lines = found.get(folder, (0, 0, 0))
        found[folder] = (files + 1, before + functions, lines + len(text.splitlines()))
    return found


def string_keys(root: Path) -> tuple[int, int, int]:
    """Return (`get("table", "key")` calls, files with them, dotted keys as literals).

    Literals are those of the code: examples in docstrings show users how a key is written.
    """
    texts = [path.read_text("utf-8") for path in _sources(root)]
    calls = [len(_GET.findall(text)) for text in texts]
    dotted = sum(
        isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and bool(_DOTTED.fullmatch(node.value))
        for text in texts
        for node in ast.walk(ast.parse(text))
    )
    return sum(calls), sum(count > 0 for count in calls), dotted


def too_complex(root: Path) -> int:
    """Return how many functions are above cyclomatic complexity 10."""
    words = ["ruff", "check", "--select=C901", "--config=lint.mccabe.max-complexity=10"]
    found = subprocess.run(
        [sys.executable, "-m", *words, "--output-format=json", "drainsim"],
        cwd=root,
        capture_output=True,
        text=True,
        check=False,
    )
    return len(json.loads(found.stdout))


def hops(root: Path) -> dict[str, int]:
    """Return how many functions a question passes through, by question."""
    with tempfile.TemporaryDirectory() as folder:
        scenario, vehicles = Path(folder) / "s.toml", Path(folder) / "list.csv"
        scenario.write_text(_SCENARIO, "utf-8")
        vehicles.write_text(_LIST, "utf-8")
        questions = {
            "park: TOML to days": ["park", str(scenario)],
            "fleet: row to act-by date": ["fleet", str(vehicles), "--today", "2026-11-25"],
            "storage: question to PDF": [
                "storage",
                str(scenario),
                "--days=21",
                f"--sheet={folder}/sheet.pdf",
            ],
        }
        done = subprocess.run(
            [sys.executable, "-c", _HOPS, json.dumps(questions)],
            cwd=root,
            env={"PYTHONPATH": str(root), "PATH": "/usr/bin:/bin"},
            capture_output=True,
            text=True,
            check=False,
        )
    if done.returncode:
        raise SystemExit(done.stderr)
    return dict(json.loads(done.stdout))


def main() -> None:
    """Print the figures of one checkout."""
    root = Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else _HERE
    by_folder = sizes(root)
    for folder, (files, functions, lines) in sorted(by_folder.items()):
        print(f"{folder:<40}{files:>5} files{functions:>6} functions{lines:>7} lines")
    whole = [sum(column) for column in zip(*by_folder.values(), strict=True)]
    print(f"{'all':<40}{whole[0]:>5} files{whole[1]:>6} functions{whole[2]:>7} lines")
    calls, files, dotted = string_keys(root)
    print(f"string keys: {calls} get(table, key) in {files} files, {dotted} dotted literals")
    print(f"functions above complexity 10: {too_complex(root)}")
    for question, count in hops(root).items():
        print(f"functions passed, {question}: {count}")


if __name__ == "__main__":
    main()
