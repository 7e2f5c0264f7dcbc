"""A visitor's own temperature file, lent to scenarios: named by its content, in a folder of ours.

The visit keeps the file (`visit.py`), the folder goes with the server; an address that names one is
worth nothing to whoever has not loaded it.
"""

import re
import tempfile
from pathlib import Path
from typing import Final

from drainsim.errors import WeatherError
from drainsim.files.weather import read_epw, read_hourly_csv
from drainsim.files.writing import write_bytes

_HELD: Final = tempfile.TemporaryDirectory(prefix="drainsim-temperatures-")
FOLDER: Final = Path(_HELD.name)
LARGEST_MB: Final = 20
_MOST_BYTES: Final = 500_000_000
_NO_LETTERS: Final = re.compile(r"[^\w.-]")


def lend(key: str, content: bytes, name: str) -> str:
    """Put a file where scenarios find it; return what `site.hourly_csv` says of it.

    Parameters
    ----------
    key : str
        What the visit knows it by.
    content : bytes
    name : str
        Its own.

    Raises
    ------
    WeatherError
        Naming row and column, if it holds no temperatures by the hour.
    """
    plain = _NO_LETTERS.sub("_", name)[-60:]
    path = FOLDER / key / plain
    if not path.exists():
        _make_room(len(content))
        path.parent.mkdir(exist_ok=True)
        write_bytes(path, content)
        try:
            (read_epw if path.suffix.lower() == ".epw" else read_hourly_csv)(path)
        except WeatherError as error:
            path.unlink()
            raise WeatherError(str(error).replace(str(path), plain)) from None
    return f"{key}/{plain}"


def _make_room(size: int) -> None:
    """Let go of the files longest here until one more fits; who still asks lends his again."""
    files = sorted(FOLDER.glob("*/*"), key=lambda path: path.stat().st_mtime)
    held = sum(path.stat().st_size for path in files)
    for path in files:
        if held + size <= _MOST_BYTES:
            return
        held -= path.stat().st_size
        path.unlink()
