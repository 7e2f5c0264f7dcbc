"""Message catalogues: which messages there are, and .mo files made from .po files.

`python -m drainsim.sheets.message_files` compiles every catalogue and adds missing messages to
its .po file, untranslated; a test fails until they are translated. The format is GNU gettext's.
"""

import ast
import struct
from pathlib import Path
from typing import Final

from drainsim.answers.storage.limits import SENTENCES
from drainsim.answers.storage.remedy_plans import LABELS, LABELS_ONE, LABELS_PLACED, LOST
from drainsim.files.presets import presets
from drainsim.files.profile import list_profiles, read_profile
from drainsim.files.writing import write_bytes, write_text
from drainsim.sheets.translation import DOMAIN, LANGUAGES, LOCALE_FOLDER

_MAGIC: Final = 0x950412DE
_CALLS: Final = {"say", "marked"}  # how the sheets call a Language, and mark for later


def messages_in_use() -> dict[str, str]:
    """Return every message the sheets can print, with where it comes from."""
    found: dict[str, str] = {}
    for path in sorted(Path(__file__).parent.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(node, ast.Call) or not node.args:
                continue
            name = getattr(node.func, "id", getattr(node.func, "attr", ""))
            first = node.args[0]
            named = name in _CALLS or (name == "self" and path.stem == "translation")
            if named and isinstance(first, ast.Constant) and isinstance(first.value, str):
                found.setdefault(first.value, f"sheets/{path.name}")
    for where, texts in (
        (
            "answers/storage/remedy_plans.py",
            [*LABELS.values(), *LABELS_ONE.values(), *LABELS_PLACED.values(), *LOST.values()],
        ),
        ("answers/storage/limits.py", list(SENTENCES.values())),
        ("battery_profiles", [read_profile(path).name for path in list_profiles().values()]),
        *(
            (f"data/{kind}.toml", [entry.name for entry in presets(kind).values()])
            for kind in ("climates", "units", "vehicles")
        ),
    ):
        for text in texts:
            found.setdefault(text, where)
    return found


def read_po(text: str) -> dict[str, str]:
    """Return the messages of a .po file: plain msgid and msgstr, strings over several lines.

    Raises
    ------
    ValueError
        If a line is none of msgid, msgstr, a string or a comment.
    """
    found: dict[str, str] = {}
    parts: dict[str, str] = {}
    at = ""
    for number, line in enumerate([*text.splitlines(), 'msgid ""'], start=1):
        bare = line.strip()
        if not bare or bare.startswith("#"):
            continue
        if bare.startswith("msgid "):
            if "msgstr" in parts:
                found[parts["msgid"]] = parts["msgstr"]
            parts, at, bare = {"msgid": ""}, "msgid", bare[len("msgid ") :]
        elif bare.startswith("msgstr "):
            at, bare = "msgstr", bare[len("msgstr ") :]
            parts[at] = ""
        if not (bare.startswith('"') and at):
            raise ValueError(f"line {number}: {line!r} is not part of a plain .po file")
        parts[at] += str(ast.literal_eval(bare))
    return found


def write_po(messages: dict[str, str], where: dict[str, str]) -> str:
    """Return a .po file; messages no longer in use are left out."""

    def quoted(text: str) -> str:
        escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
        return f'"{escaped}"'

    lines = ['msgid ""', 'msgstr ""']
    lines += [quoted(line + "\n") for line in messages[""].splitlines()]
    for message, place in where.items():
        lines += ["", f"#: {place}", f"msgid {quoted(message)}"]
        lines += [f"msgstr {quoted(messages.get(message, ''))}"]
    return "\n".join(lines) + "\n"


def mo_bytes(messages: dict[str, str]) -> bytes:
    """Return a .mo file of the translated messages, sorted as the format asks."""
    pairs = sorted((m.encode(), t.encode()) for m, t in messages.items() if t)
    heading = 7 * 4
    begin = heading + 2 * 8 * len(pairs)
    body, originals, translations = b"", b"", b""
    for index, table in ((0, "originals"), (1, "translations")):
        for pair in pairs:
            entry = struct.pack("<II", len(pair[index]), begin + len(body))
            if table == "originals":
                originals += entry
            else:
                translations += entry
            body += pair[index] + b"\0"
    second = heading + 8 * len(pairs)
    head = struct.pack("<7I", _MAGIC, 0, len(pairs), heading, second, 0, begin)
    return head + originals + translations + body


def catalogue_path(code: str, suffix: str) -> Path:
    """Return the .po or .mo file of a language."""
    return LOCALE_FOLDER / code / "LC_MESSAGES" / f"{DOMAIN}.{suffix}"


def main() -> None:
    """Bring every catalogue up to date and compile it."""
    where = messages_in_use()
    for code in LANGUAGES:
        if code == "en":
            continue
        po = catalogue_path(code, "po")
        messages = read_po(po.read_text("utf-8"))
        write_text(po, write_po(messages, where))
        write_bytes(catalogue_path(code, "mo"), mo_bytes(read_po(po.read_text("utf-8"))))


if __name__ == "__main__":
    main()
