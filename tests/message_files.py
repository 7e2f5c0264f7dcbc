"""Message catalogues kept up to date: `python -m tests.message_files`.

Two catalogues: what customers' sheets can print, in every language, and what only pages and command
line print, in the languages they speak. Adds messages in use to every .po file, untranslated, drops
the others, and compiles; a test fails until they are translated. The files are GNU gettext's, read
and written by Babel.
"""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Final

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

import drainsim
from drainsim.answers.advice import ADVICE, Advice
from drainsim.answers.installer.acceptance_checks import CANNOT_TELL, FAIL, PASS
from drainsim.answers.installer.circuit.circuit_verdict import ACCEPTED, REFUSED
from drainsim.answers.standing.first_words import short_battery, within
from drainsim.answers.storage.catalogue import SEASONS
from drainsim.answers.storage.helps import TRIED, in_short
from drainsim.answers.storage.searching.limits import SENTENCES
from drainsim.dashboard.what_if.controls import CONTROLS
from drainsim.evidence.registry import subjects
from drainsim.evidence.stored import sensitivity
from drainsim.files.circuits import CLASSES
from drainsim.files.fleet.columns import COLUMNS
from drainsim.files.presets import presets
from drainsim.files.profile import list_profiles, read_profile
from drainsim.files.readings.reader import DATE_ORDERS
from drainsim.language import DOMAIN, LANGUAGES, LOCALE_FOLDER, SCREENS, message
from drainsim.physics.supply_point import STARTING_PROFILES
from drainsim.sheets.fleet.fleet_understood import HEADING
from drainsim.vehicle.documents.job_tables import CAUTIONS, MOUNTING
from drainsim.vehicle.keys.schema import PARAMETERS

Messages = dict[str | tuple[str, str], str]
_PACKAGE: Final = Path(drainsim.__path__[0])
# What sheets print: their own words, and the answers that lie on them.
_ON_SHEETS: Final = (
    "language.py",
    "sheets/**/*.py",
    "answers/words.py",
    "answers/storage/catalogue*.py",
    "answers/fleet/action.py",
    "answers/fleet/answer.py",
    "answers/fleet/fleet_actions.py",
    "answers/fleet/fleet_vehicle.py",
    *(
        f"answers/installer/{name}.py"
        for name in (
            "acceptance*",
            "circuit/circuit*",
            "circuit/s*",
            "circuit/wire_rules",
            "current_log_words",
            "draw_check",
        )
    ),
)
# Lists for a fleet's own people.
_ON_SCREENS: Final = ("sheets/fleet/morning_list.py", "sheets/fleet/fleet_understood.py")
# The text first, or marked to be said later.
_CALLS: Final = {"say", "message", "marked", "row", "warn", "_level"}
_SECOND: Final = {"judge", "missing"}  # the text second
_COUNTED: Final = {"many", "say_many", "counted_message"}  # a form for one, a form for several
_OWN_CALLS: Final = {"self"}  # how a Language calls itself
CATALOGUES: Final = {
    DOMAIN: [code for code in LANGUAGES if code != "en"],  # English is in the code
    SCREENS: [path.parts[-3] for path in sorted(LOCALE_FOLDER.glob(f"*/*/{SCREENS}.po"))],
}
PAIRS: Final = [(domain, code) for domain, codes in CATALOGUES.items() for code in codes]


@cache  # reading every module takes half a second, and several test modules ask
def messages_in_use(domain: str) -> Messages:
    """Return every message of a catalogue, with where it comes from.

    One with a form for a single thing and one for several is a pair. What a sheet can print stands
    in the sheets' catalogue alone.
    """
    on_sheets = {path for pattern in _ON_SHEETS for path in _PACKAGE.glob(pattern)}
    on_sheets -= {_PACKAGE / path for path in _ON_SCREENS}
    sheets = domain == DOMAIN
    found: Messages = {}
    for path in sorted(on_sheets if sheets else set(_PACKAGE.rglob("*.py")) - on_sheets):
        _collect(path, found)
    for where, texts in _data_texts() if sheets else _screen_data_texts():
        for text in filter(None, texts):
            found.setdefault(text, where)
    printed = {} if sheets else messages_in_use(DOMAIN)
    return {text: where for text, where in found.items() if text not in printed}


def _collect(path: Path, found: Messages) -> None:
    """Add the messages of a module to those found."""
    where = path.relative_to(_PACKAGE).as_posix()
    calls = _CALLS | (_OWN_CALLS if path.stem == "language" else set())
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if not isinstance(node, ast.Call) or not node.args:
            continue
        name = getattr(node.func, "id", getattr(node.func, "attr", ""))
        texts = [_texts_of(arg) for arg in node.args[:2]]
        if name in _COUNTED and len(texts) == 2 and all(texts):
            found.setdefault((texts[0][0], texts[1][0]), where)
        elif name in calls:
            for text in texts[0]:
                found.setdefault(text, where)
        elif name in _SECOND and len(texts) == 2:
            for text in texts[1]:
                found.setdefault(text, where)
        elif name == "counted" and len(texts) == 2:
            for noun in texts[1]:
                found.setdefault((f"{{number}} {noun}", f"{{number}} {noun}s"), where)


def _texts_of(node: ast.expr) -> list[str]:
    """Return the texts an argument can be: one, or either of two."""
    if isinstance(node, ast.IfExp):
        return _texts_of(node.body) + _texts_of(node.orelse)
    return [node.value] if isinstance(node, ast.Constant) and isinstance(node.value, str) else []


def _data_texts() -> Iterator[tuple[str, list[str]]]:
    """Yield the texts that are data, not calls."""
    yield "answers/advice.py", [text for advice in ADVICE.values() for text in _texts(advice)]
    yield "answers/advice.py", [advice.tools for advice in ADVICE.values() if advice.tools]
    yield "answers/storage/searching/limits.py", list(SENTENCES.values())
    yield "battery_profiles", [read_profile(path).name for path in list_profiles().values()]
    yield "answers/storage/catalogue.py", [*SEASONS, *presets("units")]
    yield "files/circuits.py", [*CLASSES, *(kind.replace("_", " ") for kind in CLASSES)]
    questions = (*MOUNTING.TABLE.fields, *CAUTIONS.TABLE.fields)
    yield "vehicle/documents/job_tables.py", [question.meaning for question in questions]
    for kind in ("climates", "units", "vehicles"):
        yield f"data/{kind}.toml", [entry.name for entry in presets(kind).values()]


def _screen_data_texts() -> Iterator[tuple[str, list[str]]]:
    """Yield the texts of pages and command line that are data, not calls."""
    labels = [message(ADVICE[key].label) for key in TRIED]
    yield "answers/storage/helps.py", [in_short(label) for label in labels]
    yield "answers/advice.py", [advice.tools for advice in ADVICE.values()]
    names = [read_profile(path).name for path in list_profiles().values()]
    yield "battery_profiles", [short_battery(name) for name in names]
    yield "data/climates.toml", [within(entry.name) for entry in presets("climates").values()]
    yield "answers/installer", [PASS, FAIL, CANNOT_TELL, ACCEPTED, REFUSED]
    for key in PARAMETERS.values():
        words = [text for text in key.choices.values() if text != text.upper()]  # no codes
        yield f"{key.table} in drainsim/vehicle", [key.label, key.note, key.unit, *words]
    yield "dashboard/what_if", [control.empty for control in CONTROLS.values()]
    yield "sheets/fleet/fleet_understood.py", ["cell", "derived"]
    levels = [level.name for profile in STARTING_PROFILES.values() for level in profile]
    yield "physics/supply_point.py", levels
    columns = [column.public.replace("_", " ") for column in COLUMNS]
    yield "answers/advice.py", [key.replace("_", " ") for key in ADVICE]
    yield "sheets/fleet/fleet_understood.py", [name.replace("_", " ") for name in HEADING]
    yield "files/readings/reader.py", list(DATE_ORDERS)
    yield "evidence", [*subjects(), *(row["label"] for row in sensitivity()["inputs"])]
    yield "files/fleet/columns.py", [*columns, *(key.replace("_", " ") for key in list_profiles())]


def _texts(advice: Advice) -> list[str]:
    """Return every text of one way."""
    said = (
        advice.label,
        advice.label_one,
        advice.label_placed,
        advice.label_pair,
        advice.standing,
        advice.lost,
    )
    return [text for text in said if text]


def catalogue_path(domain: str, code: str, suffix: str) -> Path:
    """Return the .po or .mo file of a language."""
    return LOCALE_FOLDER / code / "LC_MESSAGES" / f"{domain}.{suffix}"


def catalogue(domain: str, code: str) -> Catalog:
    """Return a catalogue of a language as its .po file has it."""
    with catalogue_path(domain, code, "po").open("rb") as file:
        return read_po(file, locale=code, abort_invalid=True)


def main() -> None:
    """Bring every catalogue up to date and compile it."""
    for domain, codes in CATALOGUES.items():
        template = Catalog(charset="utf-8")
        for text, where in messages_in_use(domain).items():
            template.add(text, locations=[(where, 0)])
        for code in codes:
            found = catalogue(domain, code)
            found.update(template, no_fuzzy_matching=True, update_header_comment=False)
            found.obsolete.clear()
            found.msgid_bugs_address = ""
            with catalogue_path(domain, code, "po").open("wb") as file:
                write_po(file, found, width=0, include_lineno=False, omit_header=False)
            with catalogue_path(domain, code, "mo").open("wb") as file:
                write_mo(file, catalogue(domain, code))


if __name__ == "__main__":
    main()
