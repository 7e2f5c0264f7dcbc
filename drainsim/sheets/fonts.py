"""A font for PDF files: none ships with drainsim, so one of the machine's own is taken."""

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Final

# Widespread fonts with Latin, Greek, Cyrillic, Hebrew and Arabic letters, regular and bold.
_PAIRS: Final = (
    ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf"),
    ("arial.ttf", "arialbd.ttf"),
    ("Arial.ttf", "Arial Bold.ttf"),
    ("LiberationSans-Regular.ttf", "LiberationSans-Bold.ttf"),
    ("NotoSans-Regular.ttf", "NotoSans-Bold.ttf"),
)
_FOLDERS: Final = (
    Path("/usr/share/fonts"),
    Path("/usr/local/share/fonts"),
    Path("~/.local/share/fonts").expanduser(),
    Path("/System/Library/Fonts/Supplemental"),
    Path("/Library/Fonts"),
    Path(os.environ.get("WINDIR", "C:/Windows")) / "Fonts",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FontPair:
    """A regular and a bold font file."""

    regular: Path
    bold: Path


def find_fonts(folders: tuple[Path, ...] = _FOLDERS) -> FontPair | None:
    """Return the first known pair on this machine, or None: then only Western letters print."""
    files: dict[str, Path] = {}
    for folder in folders:
        if folder.is_dir():
            for path in sorted(folder.rglob("*.ttf")):
                files.setdefault(path.name, path)
    for regular, bold in _PAIRS:
        if regular in files and bold in files:
            return FontPair(regular=files[regular], bold=files[bold])
    return None
