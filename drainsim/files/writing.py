"""Write a file whole or not at all: the one way in which drainsim writes files."""

import errno
import os
import secrets
import stat
from pathlib import Path
from typing import Final

from drainsim.errors import DrainsimError

_BESIDE: Final = ".drainsim-"  # begins the name of a file that is not finished


def write_text(path: Path, text: str) -> None:
    """Write a text file as UTF-8; see `write_bytes`."""
    write_bytes(path, text.encode())


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; whatever stops it, the file before is kept.

    The content goes to a new file beside it, is flushed to the disk and takes the name in one
    step. Permissions are those of any new file. A link is followed, its target replaced.

    Raises
    ------
    DrainsimError
        If the place cannot be written to, or is a device or pipe.
    """
    try:
        target = path.resolve()
        if target.is_symlink():  # from Python 3.13 on, a circle of links is no error of its own
            raise OSError(errno.ELOOP, os.strerror(errno.ELOOP))
        if path.exists() and not stat.S_ISREG(path.stat().st_mode):
            what = "a folder" if path.is_dir() else "not a regular file"
            raise DrainsimError(f"{path}: cannot be written: this is {what}; name a file")
        temporary = target.with_name(f"{_BESIDE}{secrets.token_hex(8)}")
        handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            os.replace(temporary, target)
        except BaseException:
            os.unlink(temporary)
            raise
    except (OSError, RuntimeError) as error:  # RuntimeError: links that go round in a circle
        detail = getattr(error, "strerror", None) or str(error)
        raise DrainsimError(f"{path}: cannot be written: {detail}") from None
