"""The README's commands print what it says."""

import contextlib
import io

import pytest

from tests.readme_runs import MORE, README, folder_with_files, output_of, python_blocks, runs

TEXT = README.read_text(encoding="utf-8")


@pytest.mark.parametrize(("command", "printed"), runs(TEXT), ids=lambda text: text[:60])
def test_command_prints_what_the_readme_shows(command: str, printed: str) -> None:
    """A reader who types a command of the README sees the same text."""
    with folder_with_files(TEXT):
        if printed.endswith(MORE):
            assert output_of(command).startswith(printed.removesuffix(MORE))
        else:
            assert output_of(command) == printed


@pytest.mark.parametrize("block", python_blocks(TEXT))
def test_python_example_runs(block: str) -> None:
    """The Python example runs and prints days and assumptions."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        exec(compile(block, "README.md", "exec"), {})  # our own file
    first, *assumptions = out.getvalue().splitlines()
    assert 1.0 < float(first.split()[0]) < 180.0
    assert any("battery.capacity_ah = 60" in line for line in assumptions)
