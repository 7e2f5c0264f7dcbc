"""Commands in README and guide print what the text says."""

import contextlib
import io
import pkgutil
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from drainsim.files.guide import guide_pages
from tests.document_runs import (
    DOCUMENTS,
    MORE,
    ROOT,
    folder_with_files,
    output_of,
    python_blocks,
    runs,
)

TEXTS = {path.stem: path.read_text(encoding="utf-8") for path in DOCUMENTS}
RUNS = [(name, *run) for name, text in TEXTS.items() for run in runs(text)]


@pytest.fixture(scope="module", autouse=True)
def _example_files() -> Iterator[None]:
    """Stay in a folder with the example files, as a reader who types one command after another."""
    with folder_with_files():
        yield


_printed_by = cache(output_of)  # several texts show the same command


@pytest.mark.parametrize(("name", "command", "printed"), RUNS, ids=[f"{r[0]} {r[1]}" for r in RUNS])
def test_command_prints_what_the_text_shows(name: str, command: str, printed: str) -> None:
    """A reader who types a command of the text sees the same output."""
    if printed.endswith(MORE):
        assert _printed_by(command).startswith(printed.removesuffix(MORE))
    else:
        assert _printed_by(command) == printed


@pytest.mark.parametrize("block", [b for text in TEXTS.values() for b in python_blocks(text)])
def test_python_example_runs(block: str) -> None:
    """The Python example runs and prints days and assumptions."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        exec(compile(block, "README.md", "exec"), {})  # our own file
    first, *assumptions = out.getvalue().splitlines()
    assert 1.0 < float(first.split()[0]) < 180.0
    assert any("battery.capacity_ah = 60" in line for line in assumptions)


@pytest.mark.parametrize("document", [*DOCUMENTS, ROOT / "DEVELOPERS.md"], ids=lambda p: p.name)
def test_links_lead_somewhere(document: Path) -> None:
    """Every relative link names a file of the repository."""
    for target in re.findall(r"\]\(([^)#:]+)\)", document.read_text(encoding="utf-8")):
        assert (document.parent / target).exists(), target


def test_developers_names_what_is_there() -> None:
    """Every file, folder and dotted name in code marks leads somewhere."""
    package = ROOT / "drainsim"
    rooms = "|".join(sorted(room.name for room in package.iterdir() if room.is_dir()))
    names = set(re.findall(r"`([\w./]+)`", (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")))
    dotted = {name for name in names if re.fullmatch(rf"({rooms})(\.\w+)+", name)}
    paths = {
        name for name in names if "/" in name and not re.search("venv|xx|NAME|means_some", name)
    }
    assert len(dotted) > 8
    assert len(paths) > 30
    for name in paths:
        assert (ROOT / name).exists() or (package / name).exists(), name
    for name in dotted:
        assert pkgutil.resolve_name(f"drainsim.{name}"), name


def test_guide_command_lists_and_prints_every_page() -> None:
    """Each page has a title and can be printed; marks for the tests are left out."""
    listed = output_of("$ drainsim guide")
    for name, title in guide_pages().items():
        assert name in listed
        assert title in listed
        printed = output_of(f"$ drainsim guide {name}")
        assert printed.startswith(f"# {title}\n")
        assert "<!--" not in printed
