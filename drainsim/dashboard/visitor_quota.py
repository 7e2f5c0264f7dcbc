"""How much one visitor may leave with the server: uploads are held until the visitor goes."""

import re
from collections import defaultdict
from collections.abc import Callable
from typing import Final

LARGEST_MB: Final = 50  # what the server takes of one file (.streamlit/config.toml too)
SESSION_MB: Final = 2 * LARGEST_MB  # a page works on one
_UPLOAD: Final = re.compile(r"/_stcore/upload_file/([^/]+)/[^/]+$")


def uploading_session(method: str, path: str) -> str | None:
    """Return the session a request uploads a file for; None for any other request.

    Examples
    --------
    >>> uploading_session("PUT", "/_stcore/upload_file/s-1/f-1")
    's-1'
    >>> uploading_session("GET", "/_stcore/health")
    """
    found = _UPLOAD.search(path) if method == "PUT" else None
    return found[1] if found else None


class Uploads:
    """Counts what each session holds and what is on its way to it. [bytes]."""

    def __init__(self, held: Callable[[str], int]) -> None:
        self._held = held
        self._coming: defaultdict[str, int] = defaultdict(int)

    def admit(self, session: str, size: int) -> bool:
        """Take in a file of a size, or say that it would be too much together."""
        whole = self._held(session) + self._coming[session] + size
        if whole > SESSION_MB * 1_000_000:
            self._forget(session)
            return False
        self._coming[session] += size
        return True

    def arrived(self, session: str, size: int) -> None:
        """Say that a file admitted has come, or has not: from now on it is held or gone."""
        self._coming[session] -= size
        self._forget(session)

    def _forget(self, session: str) -> None:
        if not self._coming[session]:
            del self._coming[session]
