"""Versions of our file formats: which are read, and how an older file is brought up to date.

Every format counts its versions 1, 2, 3 ... under the key `format`. A change that would make an
older drainsim misread a file gets a new version here, and a function that turns a document of
the version before into one of the new version: then older files keep their meaning.

Tables of a meter or a spreadsheet (CSV, XLSX, EPW) have no version: their headings say what they
hold. The letter and number a storage sheet's code begins with are its version.
"""

from collections.abc import Callable, Mapping
from typing import Any, Final

from drainsim.errors import DrainsimError

KEY: Final = "format"
NEWEST: Final = {
    "scenario": 1,
    "battery profile": 1,
    "job record": 1,
    "complaint": 1,
    "preset file": 1,
    "forecast state": 1,
}
MAY_LACK: Final = {"scenario": 1}  # written before scenarios had versions: this one is meant
# (format, version) → what makes it the next version. There is no version but the first yet.
MIGRATIONS: Final[dict[tuple[str, int], Callable[[dict[str, Any]], dict[str, Any]]]] = {}


def newest_of(
    document: Mapping[str, Any], kind: str, *, where: str, error: type[DrainsimError]
) -> dict[str, Any]:
    """Return a document as the newest version holds it, its `format` taken out.

    Parameters
    ----------
    document : mapping
    kind : str
        A key of `NEWEST`.
    where : str
        Name of the file, for messages.
    error : type of DrainsimError
        What is raised if the version is missing or unknown.
    """
    found = dict(document)
    version = found.pop(KEY, MAY_LACK.get(kind))
    newest = NEWEST[kind]
    if version is None:
        raise error(f"{where}: format is missing; a {kind} begins with format {newest}")
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        shown = repr(version) if isinstance(version, bool | float | str) else "given"
        raise error(
            f"{where}: format {shown[:20]} is not known; a {kind} begins with format {newest}"
        )
    if version > newest:
        shown = str(version) if version < 10**9 else "of that size"
        raise error(
            f"{where}: written by a newer drainsim (format {shown} of a {kind}, this one reads up "
            f"to {newest}); update drainsim"
        )
    for older in range(version, newest):
        found = MIGRATIONS[kind, older](found)
    return found


def code_is_newer(bare: str, prefix: str) -> bool:
    """Say whether a code begins with a later number than the prefix we read.

    Examples
    --------
    >>> code_is_newer("D2-eNo", "D1-"), code_is_newer("D1-eNo", "D1-"), code_is_newer("x", "D1-")
    (True, False, False)
    """
    letter, number = prefix[0], int(prefix[1:-1])
    stated = bare[1 : bare.find("-")] if "-" in bare[:5] else ""
    return bare[:1] == letter and stated.isascii() and stated.isdigit() and int(stated) > number
