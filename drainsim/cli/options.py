"""Options and output that several commands share."""

import argparse
import json
import os
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Final, TypeAlias

from drainsim import __version__
from drainsim.cli.text import brief, folded
from drainsim.errors import DrainsimError
from drainsim.files import writing
from drainsim.files.examples import example_text
from drainsim.files.reading import STANDARD, key_and_value
from drainsim.language import (
    LANGUAGES,
    TEMPERATURE_UNITS,
    Language,
    language,
    screen_languages,
    speak,
)
from drainsim.sheets.storage.storage_words import PAPERS, SheetOptions
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.keys.scenario import Scenario, read_scenario, settings_from_words

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"
# Exit codes. 2 is also argparse's own for a command it cannot read.
ANSWERED: Final = 0
SAYS_NO: Final = 1
BAD_INPUT: Final = 2
SET_ASIDE: Final = 3


def add_command(
    commands: Commands, name: str, words: str, *, example: str
) -> argparse.ArgumentParser:
    """Add a command with what it answers and an example of how to ask."""
    return commands.add_parser(
        name,
        description=f"{words[:1].upper()}{words[1:]}",
        epilog=f"example:\n  drainsim {example}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )


def add_answer_options(
    parser: argparse.ArgumentParser,
    *,
    verbose: str | None = None,
    pages: bool = False,
) -> None:
    """Add --json, --brief, --lang and --temperature, and --verbose where there is more to say.

    `pages` says that a command also writes customers' pages, which speak more languages.
    """
    how = parser.add_mutually_exclusive_group()
    how.add_argument("--json", action="store_true", help="print the whole answer as JSON")
    how.add_argument("--brief", action="store_true", help="print its first five lines only")
    if verbose is not None:
        how.add_argument("--verbose", action="store_true", help=f"print {verbose} too")
    spoken = LANGUAGES if pages else screen_languages()
    parser.add_argument(
        "--lang",
        choices=list(spoken),
        default=os.environ.get("DRAINSIM_LANG") or "en",
        help="language of text and pages; --json stays English (DRAINSIM_LANG, else en)",
    )
    parser.add_argument(
        "--temperature",
        choices=TEMPERATURE_UNITS,
        default=os.environ.get("DRAINSIM_TEMPERATURE") or "C",
        help="°C or °F in text and pages (DRAINSIM_TEMPERATURE, else C)",
    )


def in_its_language(options: argparse.Namespace) -> int | None:
    """Run the command chosen, its text in the language asked for, where windows speak it."""
    asked = language(options.lang, temperature_unit=options.temperature)
    speak(
        asked.code if asked.code in screen_languages() else "en",
        temperature_unit=asked.temperature_unit,
    )
    found: int | None = options.run(options)
    return found


def add_check_option(parser: argparse.ArgumentParser, words: str) -> None:
    """Add the option that makes a no of the answer the command's exit code."""
    parser.add_argument("--check", action="store_true", help=f"exit code {SAYS_NO} if {words}")


def add_scenario_options(parser: argparse.ArgumentParser) -> None:
    """Add SCENARIO, --set and --profiles."""
    parser.add_argument(
        "scenario", type=Path, metavar="SCENARIO.toml", help="the parked vehicle; - reads it"
    )
    add_set_option(parser)
    add_profiles_option(parser)


def add_set_option(
    parser: argparse.ArgumentParser,
    words: str = "change one value, for example battery.age_years=4 (may be repeated)",
) -> None:
    """Add the option that sets one key of the scenario."""
    parser.add_argument(
        "--set", action="append", default=[], metavar="KEY=VALUE", dest="settings", help=words
    )


def add_page_options(page: argparse._ActionsContainer) -> None:
    """Add how a customer's page looks and who hands it out."""
    page.add_argument("--paper", choices=PAPERS, default="A4", help="its size (A4)")
    page.add_argument("--company", default="", help="name at its head")
    page.add_argument("--contact", default="", help="address or telephone below the name")


def chosen_language(options: argparse.Namespace) -> Language:
    """Return the language of the page."""
    return language(options.lang, temperature_unit=options.temperature)


def chosen_page(options: argparse.Namespace) -> SheetOptions:
    """Return how the customer's page looks."""
    return SheetOptions(
        language=options.lang,
        temperature_unit=options.temperature,
        paper=options.paper,
        company=options.company,
        contact=options.contact,
    )


def pair(option: str, form: str) -> Callable[[str], tuple[str, str]]:
    """Return the type of an option that is NAME=VALUE.

    It raises our own error, so that the sentence is the same as for a wrong file.
    """

    def parsed(word: str) -> tuple[str, str]:
        return key_and_value(word, where=option, form=form, error=DrainsimError)

    return parsed


def number_pair(option: str, form: str) -> Callable[[str], tuple[str, float]]:
    """Return the type of an option that is NAME=NUMBER."""

    def parsed(word: str) -> tuple[str, float]:
        name, value = key_and_value(word, where=option, form=form, error=DrainsimError)
        try:
            return name, float(value)
        except ValueError:
            raise DrainsimError(f"{option} {word[:60]}: write it as {form}") from None

    return parsed


def add_profiles_option(parser: argparse.ArgumentParser) -> None:
    """Add the option that names a folder of the user's own battery profiles."""
    parser.add_argument(
        "--profiles",
        type=Path,
        action="append",
        default=[],
        metavar="FOLDER",
        help="folder of your own battery profiles, searched first (may be repeated)",
    )


def chosen_scenario(options: argparse.Namespace) -> Scenario:
    """Return the scenario of the command line with its --set changes."""
    scenario = read_scenario(options.scenario)
    settings = settings_from_words(options.settings)
    return scenario.with_values(settings) if settings else scenario


def chosen_case(options: argparse.Namespace) -> Case:
    """Return the resolved case of the command line."""
    return resolve(chosen_scenario(options), profile_folders=options.profiles)


def show(
    options: argparse.Namespace, document: Callable[[], Mapping[str, Any]], words: Callable[[], str]
) -> None:
    """Print an answer as it was asked for: in words, five lines of them, or as JSON.

    Where a file went to standard output, the words go to standard error.
    """
    if options.json:
        print_json(document())
        return
    text = folded(brief(words()) if getattr(options, "brief", False) else words())
    print(text, file=sys.stderr if _holds_a_file() else sys.stdout)


def print_json(document: Mapping[str, Any]) -> None:
    """Print an answer's plain data as JSON; a number it cannot hold is a fault of ours."""
    if _holds_a_file():
        raise DrainsimError("--json and a file cannot both go to standard output; name the file")
    whole = {"drainsim_version": __version__, **document}
    print(json.dumps(whole, indent=2, allow_nan=False, ensure_ascii=False))


def write_text(path: Path, text: str) -> None:
    """Write a text file as UTF-8, or to standard output for "-", and say so."""
    write_bytes(path, text.encode())


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, or to standard output for "-", and say so."""
    if path != STANDARD:
        writing.write_bytes(path, content)
        print(f"written to {path}", file=sys.stderr)
        return
    if _holds_a_file():
        raise DrainsimError("only one file can go to standard output; name the other")
    sys.stdout.flush()
    sys.stdout.buffer.write(content)
    sys.stdout.buffer.flush()
    vars(sys.stdout)["holds_a_file"] = True


def _holds_a_file() -> bool:
    return bool(getattr(sys.stdout, "holds_a_file", False))


def printed_example(options: argparse.Namespace, example: str, *, command: str, file: str) -> bool:
    """Print the invented example and return True where --example asks for it.

    Raises
    ------
    DrainsimError
        If neither it nor a file was given.
    """
    if options.example:
        print(example_text(example), end="")
        return True
    if options.file is None:
        raise DrainsimError(f"{command}: give {file}, or --example to see one")
    return False
