"""`drainsim catalogue`: days at a risk for vehicle classes, climates and seasons."""

import argparse
from dataclasses import replace
from pathlib import Path

from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.answers.storage.catalogue import (
    DRAWS,
    SEASONS,
    USUAL_CLIMATES,
    USUAL_SEASONS,
    Catalogue,
    CatalogueQuestion,
    assumption_lines,
    catalogue,
    catalogue_title,
    days_shown,
)
from drainsim.answers.storage.catalogue_rows import battery_rows, own_vehicle
from drainsim.answers.storage.changes import Changes, with_changes
from drainsim.cli.options import (
    Commands,
    add_answer_options,
    add_command,
    add_page_options,
    add_profiles_option,
    chosen_page,
    show,
    write_bytes,
)
from drainsim.errors import DrainsimError
from drainsim.files.presets import preset, presets
from drainsim.language import say
from drainsim.sheets.spreadsheet import for_spreadsheets
from drainsim.sheets.storage.catalogue_pdf import catalogue_pdf
from drainsim.sheets.storage.catalogue_sheet import catalogue_csv, catalogue_html, catalogue_xlsx
from drainsim.sheets.storage.storage_words import SheetOptions
from drainsim.vehicle.keys.scenario import Scenario, read_scenario, scenario_from_dict
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.run import RUN

_SUFFIXES = (".csv", ".xlsx", ".html", ".pdf")


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "catalogue",
        "days at a risk: vehicle classes against climates and seasons",
        example="catalogue hourly daily --out table.xlsx",
    )
    parser.add_argument(
        "unit",
        nargs="*",
        metavar="UNIT",
        help="unit preset, or a scenario file with the unit, up to four (hourly)",
    )
    parser.add_argument(
        "--vehicles",
        default=",".join(presets("vehicles")),
        metavar="A,B,...",
        help="vehicle classes, or scenario files (.toml), all but their unit, place and date (all)",
    )
    parser.add_argument(
        "--climates",
        default=",".join(USUAL_CLIMATES),
        metavar="A,B,...",
        help="climates, or files of a place: .toml with a [site], .epw, hourly .csv "
        f"({','.join(USUAL_CLIMATES)})",
    )
    parser.add_argument(
        "--battery",
        action="append",
        default=[],
        metavar="LABEL",
        help="a row for each vehicle with this battery, like 60Ah/540A-EN, 95Ah/850A-EN/agm or "
        "NAME=70Ah (may be repeated)",
    )
    parser.add_argument(
        "--seasons",
        default=",".join(USUAL_SEASONS),
        metavar="A,B,...",
        help=f"of {', '.join(SEASONS)} ({','.join(USUAL_SEASONS)})",
    )
    parser.add_argument(
        "--risk", type=float, default=DEFAULT_RISK, help=f"accepted risk ({DEFAULT_RISK})"
    )
    ahead = RUN.horizon_days.default
    parser.add_argument("--horizon", type=int, default=ahead, help=f"days looked ahead ({ahead})")
    parser.add_argument("--draws", type=int, default=DRAWS, help=f"cases calculated ({DRAWS})")
    add_answer_options(parser, pages=True)
    parser.add_argument(
        "--out",
        type=Path,
        action="append",
        default=[],
        metavar="FILE",
        help="write the table as .csv, .xlsx, .html or .pdf (may be repeated)",
    )
    head = parser.add_argument_group("the page or table that is written")
    add_page_options(head)
    add_profiles_option(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> None:
    """Tabulate, write, print."""
    for path in options.out:
        if path.suffix.lower() not in _SUFFIXES:
            raise DrainsimError(f"--out {path}: name it {', '.join(_SUFFIXES)}")
    sheet = chosen_page(options)
    vehicles, own_vehicles = _vehicles(_listed(options.vehicles), options.battery)
    climates, own_climates = _places(_listed(options.climates))
    table = catalogue(
        CatalogueQuestion(
            units=_units(options.unit or ["hourly"], options.draws),
            vehicles=vehicles,
            climates=climates,
            own_vehicles=own_vehicles,
            own_climates=own_climates,
            seasons=_listed(options.seasons),
            risk=options.risk,
            horizon_days=options.horizon,
            profile_folders=tuple(options.profiles),
        )
    )
    for path in options.out:
        write_bytes(path, _contents(path.suffix.lower(), table, sheet))
    show(options, table.as_dict, lambda: in_words(table))


def _contents(suffix: str, table: Catalogue, sheet: SheetOptions) -> bytes:
    """Return the table as a file of a kind."""
    if suffix == ".pdf":
        return catalogue_pdf(table, sheet)
    if suffix == ".xlsx":
        return catalogue_xlsx(table, sheet)
    if suffix == ".html":
        return catalogue_html(table, sheet).encode()
    return for_spreadsheets(catalogue_csv(table, sheet)).encode()


def _listed(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(",") if part.strip())


def _units(words: list[str], draws: int) -> dict[str, Scenario]:
    """Return the units by name: presets, or files that hold a scenario."""
    found: dict[str, Scenario] = {}
    for word in words:
        if word.lower().endswith(".toml"):
            name, scenario = Path(word).stem, read_scenario(Path(word))
        else:
            preset("units", word, where="UNIT")
            name, scenario = word, scenario_from_dict({"battery": {}, "unit": {"preset": word}})
        if name in found:
            raise DrainsimError(f"UNIT {word}: {name} is there already; name each once")
        found[name] = with_changes(scenario, {RUN.draws: draws})
    return found


def _vehicles(
    words: tuple[str, ...], batteries: list[str]
) -> tuple[tuple[str, ...], dict[str, Changes]]:
    """Return the rows and those of them that are no preset: own vehicles, named batteries."""
    keys: list[str] = []
    own: dict[str, Changes] = {}
    for word in words:
        if word.lower().endswith(".toml"):
            keys.append(Path(word).stem)
            own[keys[-1]] = own_vehicle(read_scenario(Path(word)))
        else:
            preset("vehicles", word, where="--vehicles")
            keys.append(word)
    _refuse_twins(keys, "--vehicles")
    if batteries:
        own = battery_rows(keys, own, batteries)
        keys = list(own)
    return tuple(keys), own


def _places(words: tuple[str, ...]) -> tuple[tuple[str, ...], dict[str, Scenario]]:
    """Return the climates and those of them that are the user's own files."""
    keys: list[str] = []
    own: dict[str, Scenario] = {}
    for word in words:
        path = Path(word)
        source = {".epw": SITE.epw, ".csv": SITE.hourly_csv}.get(path.suffix.lower())
        if path.suffix.lower() == ".toml":
            own[path.stem] = read_scenario(path)
        elif source is not None:
            site = scenario_from_dict({"battery": {}, "site": {source.key: path.name}})
            own[path.stem] = replace(site, folder=path.parent)
        keys.append(path.stem if path.stem in own else word)
    _refuse_twins(keys, "--climates")
    return tuple(keys), own


def _refuse_twins(keys: list[str], option: str) -> None:
    for key in keys:
        if keys.count(key) > 1:
            raise DrainsimError(f"{option}: {key} is there twice; name each once")


def in_words(table: Catalogue) -> str:
    """Return the table as text for a terminal: one block per unit."""
    question = table.question
    names = {key: say(question.vehicle_name(key)) for key in question.vehicles}
    wide = max(map(len, names.values())) + 2
    lines = [say(catalogue_title(table))]
    for unit in question.units:
        lines += ["", say("Unit: {unit}", unit=unit)]
        for climate in question.climates:
            lines.append(f"  {say(question.climate_name(climate))}")
            lines.append("    " + " " * wide + "".join(f"{say(s):>9}" for s in question.seasons))
            for vehicle, name in names.items():
                days = [table.days(unit, vehicle, climate, season) for season in question.seasons]
                shown = [days_shown(d, question.horizon_days) for d in days]
                lines.append(f"    {name:<{wide}}" + "".join(f"{text:>9}" for text in shown))
    return "\n".join([*lines, "", *map(say, assumption_lines(question))])
