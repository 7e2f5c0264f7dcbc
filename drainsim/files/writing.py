"""Write a file whole or not at all: the one way in which drainsim writes files.

Files are read through `files.reading` and written through here: bounded size, no pipes or
devices; whole or not at all. A test finds any other writer.
"""

import contextlib
import errno
import hashlib
import json
import os
import secrets
import shutil
import stat
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from drainsim.errors import DrainsimError

_BESIDE: Final = ".drainsim-"  # begins the name of a file or folder that is not finished
MANIFEST: Final = "manifest.json"
_FORGOTTEN_S: Final = 600.0  # nothing of ours stays unfinished for so long


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
        _remove_forgotten(target.parent)
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


@contextlib.contextmanager
def whole_folder(folder: Path) -> Iterator[Path]:
    """Give a fresh folder to write into; its files come into `folder` together at the end.

    Whatever stops the writing, the files before are kept. The exchange itself is a step a file:
    the manifest, which names each file with its SHA-256, is taken away before and written after
    it. A folder with a manifest that agrees holds the results of one run; one without was left
    in the middle. What a run that was killed left behind is removed by the next.

    Raises
    ------
    DrainsimError
        If the folder cannot be made or written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _remove_forgotten(folder)
        fresh = folder / f"{_BESIDE}{secrets.token_hex(8)}"
        fresh.mkdir()
    except (OSError, RuntimeError) as error:
        detail = getattr(error, "strerror", None) or str(error)
        raise DrainsimError(f"{folder}: cannot be made: {detail}") from None
    try:
        yield fresh
        digests = {
            path.name: hashlib.sha256(path.read_bytes()).hexdigest()
            for path in sorted(fresh.iterdir())
        }
        (folder / MANIFEST).unlink(missing_ok=True)
        for name in digests:
            os.replace(fresh / name, folder / name)
        write_text(folder / MANIFEST, json.dumps({"files": digests}, indent=2) + "\n")
    except DrainsimError as error:  # name the file as it would have been called
        raise DrainsimError(str(error).replace(f"{fresh}{os.sep}", f"{folder}{os.sep}")) from None
    except OSError as error:
        raise DrainsimError(f"{folder}: cannot be written: {error.strerror}") from None
    finally:
        shutil.rmtree(fresh, ignore_errors=True)


def _remove_forgotten(folder: Path) -> None:
    """Remove the unfinished files and folders of runs that were killed."""
    for left in folder.glob(f"{_BESIDE}*"):
        with contextlib.suppress(OSError):
            if time.time() - left.lstat().st_mtime > _FORGOTTEN_S:
                if left.is_dir() and not left.is_symlink():
                    shutil.rmtree(left)
                else:
                    left.unlink()
