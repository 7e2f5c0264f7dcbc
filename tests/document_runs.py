"""Run the commands of README and guide: used by their test, and as a script to fill in output.

`python -m tests.document_runs` rewrites the output of every `console` block marked `<!-- run -->`,
or its beginning when marked `<!-- run: 12 lines -->`. Example files stand in a text
(`<!-- file: van.toml -->`) or are printed by a command
(`<!-- file-from: log.csv drainsim current-log --example -->`); every document may use them.
"""

import contextlib
import io
import os
import re
import shlex
import tempfile
from collections.abc import Iterator
from pathlib import Path

from drainsim import dates
from drainsim.cli import main

ROOT = Path(__file__).resolve().parents[1]
DOCUMENTS = [ROOT / "README.md", *sorted((ROOT / "drainsim" / "guide").glob("*.md"))]
MORE = "...\n"
_WIDTH = "100"  # letters of a line in the documents
_FILE = re.compile(r"<!-- file: (\S+) -->\n```\w*\n(.*?)```", re.S)
_FILE_FROM = re.compile(r"<!-- file-from: (\S+) (drainsim [^\n]*?) -->")
_RUN = re.compile(
    r"(<!-- run(?:: (\d+) lines)? -->\n```console\n)(\$ drainsim [^\n]*)\n(.*?)(```)", re.S
)
_PYTHON = re.compile(r"<!-- python -->\n```python\n(.*?)```", re.S)


def output_of(command: str) -> str:
    """Return what `drainsim ...` prints in the current folder."""
    out = io.StringIO()
    os.environ["COLUMNS"] = _WIDTH
    try:
        with contextlib.redirect_stdout(out):
            code = main(shlex.split(command)[2:])
    finally:
        del os.environ["COLUMNS"]
    assert code in {0, 1, 3}, command  # an answer, a no, some rows set aside
    return out.getvalue()


@contextlib.contextmanager
def folder_with_files() -> Iterator[Path]:
    """Enter a temporary folder that holds the example files of all documents."""
    os.environ[dates.TODAY] = "2026-11-25"  # the day the documents are of
    texts = [path.read_text(encoding="utf-8") for path in DOCUMENTS]
    before = Path.cwd()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.chdir(folder)
        try:
            for text in texts:
                for file, content in _FILE.findall(text):
                    (folder / file).write_text(content, encoding="utf-8")
                for file, command in _FILE_FROM.findall(text):
                    Path(file).write_text(output_of(f"$ {command}"), encoding="utf-8")
            yield folder
        finally:
            os.chdir(before)


def runs(text: str) -> list[tuple[str, str]]:
    """Return (command, printed output) of every marked block."""
    return [(match[2], match[3]) for match in _RUN.findall(text)]


def beginning(printed: str, lines: str) -> str:
    """Return the first lines of an output, and a mark that more follows."""
    kept = printed.splitlines(keepends=True)
    if not lines or len(kept) <= int(lines):
        return printed
    return "".join(kept[: int(lines)]) + MORE


def python_blocks(text: str) -> list[str]:
    """Return a document's Python examples."""
    return _PYTHON.findall(text)


def filled_in(text: str) -> str:
    """Return a document with fresh output in every marked block."""

    def replaced(match: re.Match[str]) -> str:
        printed = beginning(output_of(match[3]), match[2])
        return match[1] + match[3] + "\n" + printed + match[5]

    return _RUN.sub(replaced, text)


if __name__ == "__main__":
    with folder_with_files():
        for document in DOCUMENTS:
            document.write_text(filled_in(document.read_text(encoding="utf-8")), encoding="utf-8")
