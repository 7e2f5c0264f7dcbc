"""Message catalogues kept up to date: `python -m tests.message_files`.

Adds messages the sheets use to every .po file, untranslated, drops the others, and compiles; a
test fails until they are translated. The files are GNU gettext's, read and written by Babel.
"""

import ast
from pathlib import Path
from typing import Final

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from drainsim import sheets
from drainsim.answers.advice import ADVICE, Advice
from drainsim.answers.storage.limits import SENTENCES
from drainsim.files.presets import presets
from drainsim.files.profile import list_profiles, read_profile
from drainsim.sheets.translation import DOMAIN, LANGUAGES, LOCALE_FOLDER

_CALLS: Final = {"say", "marked"}  # how the sheets call a Language, and mark for later
OTHERS: Final = [code for code in LANGUAGES if code != "en"]  # English is in the code


def messages_in_use() -> dict[str | tuple[str, str], str]:
    """Return every message the sheets can print, with where it comes from.

    One with a form for a single thing and one for several is a pair.
    """
    found: dict[str | tuple[str, str], str] = {}
    for path in sorted(Path(sheets.__path__[0]).glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(node, ast.Call) or not node.args:
                continue
            name = getattr(node.func, "id", getattr(node.func, "attr", ""))
            first = node.args[0]
            if name == "many":
                found.setdefault(tuple(ast.literal_eval(text) for text in node.args[:2]), path.name)
                continue
            named = name in _CALLS or (name == "self" and path.stem == "translation")
            if named and isinstance(first, ast.Constant) and isinstance(first.value, str):
                found.setdefault(first.value, f"sheets/{path.name}")
    for where, texts in (
        (
            "answers/advice.py",
            [text for advice in ADVICE.values() for text in _texts(advice)],
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


def _texts(advice: Advice) -> list[str]:
    """Return every text of one way."""
    said = (
        advice.label,
        advice.label_one,
        advice.label_placed,
        advice.standing,
        advice.lost,
    )
    return [text for text in said if text]


def catalogue_path(code: str, suffix: str) -> Path:
    """Return the .po or .mo file of a language."""
    return LOCALE_FOLDER / code / "LC_MESSAGES" / f"{DOMAIN}.{suffix}"


def catalogue(code: str) -> Catalog:
    """Return the catalogue of a language as its .po file has it."""
    with catalogue_path(code, "po").open("rb") as file:
        return read_po(file, locale=code, abort_invalid=True)


def main() -> None:
    """Bring every catalogue up to date and compile it."""
    template = Catalog(charset="utf-8")
    for message, where in messages_in_use().items():
        template.add(message, locations=[(where, 0)])
    for code in OTHERS:
        found = catalogue(code)
        found.update(template, no_fuzzy_matching=True, update_header_comment=False)
        found.obsolete.clear()
        found.msgid_bugs_address = ""
        with catalogue_path(code, "po").open("wb") as file:
            write_po(file, found, width=0, include_lineno=False, omit_header=False)
        with catalogue_path(code, "mo").open("wb") as file:
            write_mo(file, catalogue(code))


if __name__ == "__main__":
    main()
