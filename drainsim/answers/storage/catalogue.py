"""How long may each kind of vehicle stand, where and in which season: a table for a tender."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import product
from pathlib import Path
from typing import Any, Final

from drainsim import __version__, dates
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.answers.storage.catalogue_rows import LABEL, label_words, unusual_batteries
from drainsim.answers.storage.changes import Changes, with_changes
from drainsim.answers.storage.risk import StandQuestion
from drainsim.answers.storage.searching.inverse import longest_stand
from drainsim.errors import OutOfRangeError
from drainsim.files.presets import preset, presets
from drainsim.language import Message, joined, message
from drainsim.vehicle.keys.scenario import Scenario
from drainsim.vehicle.places.site_keys import SITE, instead_of, is_southern
from drainsim.vehicle.places.solar import SOLAR
from drainsim.vehicle.run import RUN

DRAWS: Final = 400  # cases per cell: a table of hundreds of runs, known to a day or two
MOST_UNITS: Final = 4  # what fits side by side on a page
# Asked about where nothing else is said.
USUAL_CLIMATES: Final = ("continental", "temperate", "marine", "humid_subtropical", "hot_desert")
USUAL_SEASONS: Final = ("winter", "summer")
# Day of parking per season in the north, where all preset climates are.
SEASONS: Final = {"winter": (12, 1), "spring": (3, 1), "summer": (6, 1), "autumn": (9, 1)}
# Sunshine belongs to a place: each climate brings its own.
_SUNSHINE: Final = (SOLAR.latitude_deg, SOLAR.clear_share)


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogueQuestion:
    """What to tabulate: units (name → scenario), vehicle classes, climates and seasons.

    The scenario of a unit gives everything but vehicle, battery label, climate and date; vehicles
    are parked on the coming first day of each season. `own_vehicles` holds rows that are no preset
    (name → changes, `catalogue_rows`): what they say comes first. `own_climates` holds places (name
    → scenario of its [site]).
    """

    units: dict[str, Scenario]
    vehicles: tuple[str, ...]
    climates: tuple[str, ...]
    seasons: tuple[str, ...] = USUAL_SEASONS
    risk: float = DEFAULT_RISK
    horizon_days: int = RUN.horizon_days.default
    profile_folders: tuple[Path, ...] = ()
    own_vehicles: Mapping[str, Changes] = field(default_factory=dict)
    own_climates: Mapping[str, Scenario] = field(default_factory=dict)
    today: dt.date = field(default_factory=dates.today)

    def __post_init__(self) -> None:
        """Refuse what cannot be tabulated."""
        if not 1 <= len(self.units) <= MOST_UNITS:
            raise OutOfRangeError(
                f"units: {len(self.units)} given; 1 to {MOST_UNITS} are shown side by side"
            )
        if not (self.vehicles and self.climates and self.seasons):
            raise OutOfRangeError("at least one vehicle class, climate and season is needed")
        for kind, keys, own in (
            ("vehicles", self.vehicles, self.own_vehicles),
            ("climates", self.climates, self.own_climates),
        ):
            for key in keys:
                if key not in own:
                    preset(kind, key, where=f"--{kind}")
        for season in self.seasons:
            if season not in SEASONS:
                raise OutOfRangeError(f"season {season!r}: use one of {', '.join(SEASONS)}")

    def vehicle_name(self, key: str) -> str:
        """Return what a row is called: its own name, or the preset's."""
        return key if key in self.own_vehicles else message(presets("vehicles")[key].name)

    def climate_name(self, key: str) -> str:
        """Return what a place is called: its own name, or the preset's."""
        return key if key in self.own_climates else message(presets("climates")[key].name)

    def unit_name(self, key: str) -> str:
        """Return what a unit is called: its own name, or a preset's key in words."""
        return message(key) if key in presets("units") else key

    def parked_from(self, season: str, climate: str = "") -> dt.date:
        """Return the day of parking that stands for a season, half a year later in the south."""
        month, day = SEASONS[season]
        if climate in self.southern:
            month = (month + 5) % 12 + 1
        return dates.coming(month, day, since=self.today)

    @property
    def southern(self) -> tuple[str, ...]:
        """Places of the question that are said to lie south of the equator."""
        own = self.own_climates
        return tuple(key for key in self.climates if key in own and is_southern(own[key]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One entry: days within the risk; None is more than the horizon."""

    unit: str
    vehicle: str
    climate: str
    season: str
    days: int | None
    capacity_ah: float
    scenario: Scenario


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """The whole table, unit by unit, vehicle by vehicle, climate by climate, season by season."""

    question: CatalogueQuestion
    cells: tuple[Cell, ...]

    def days(self, unit: str, vehicle: str, climate: str, season: str) -> int | None:
        """Return one entry."""
        asked = (unit, vehicle, climate, season)
        return next(c.days for c in self.cells if (c.unit, c.vehicle, c.climate, c.season) == asked)

    def columns(self) -> list[tuple[str, str]]:
        """Return climate and season of each column."""
        question = self.question
        return [(c, s) for c in question.climates for s in question.seasons]

    def as_dict(self) -> dict[str, Any]:
        """Return JSON-ready data."""
        return {
            "drainsim_version": __version__,
            "risk": self.question.risk,
            "horizon_days": self.question.horizon_days,
            "meaning": "most days parked with P(no-start at the start hour) at most risk all along",
            "assumptions": list(assumption_lines(self.question)),
            "rows": [
                {
                    "unit": cell.unit,
                    "vehicle": cell.vehicle,
                    "climate": cell.climate,
                    "season": cell.season,
                    "parked_from": self.question.parked_from(cell.season, cell.climate).isoformat(),
                    "battery_ah": cell.capacity_ah,
                    "days": cell.days,
                }
                for cell in self.cells
            ],
        }


def _cell_scenario(
    question: CatalogueQuestion, unit: str, vehicle: str, climate: str, season: str
) -> Scenario:
    """Return the scenario behind one entry, the same a user could write."""
    base = question.units[unit]
    own_climate = question.own_climates.get(climate)
    changes: dict[str, Any] = dict.fromkeys((*LABEL, *instead_of(SITE.climate)))
    changes |= question.own_vehicles.get(vehicle, {"vehicle": {"preset": vehicle}})
    changes |= {SITE.climate: climate, **dict.fromkeys(_SUNSHINE)}
    if own_climate is not None:
        base = replace(base, folder=own_climate.folder)
        there = own_climate.tables.get("site", {})
        changes |= {SITE.climate: None, **{f"site.{key}": there[key] for key in there}}
        changes |= {key: own_climate.get(key) for key in _SUNSHINE}
        changes[SITE.start_hour] = base.get(SITE.start_hour)
    changes[SITE.parked_from] = question.parked_from(season, climate)
    return with_changes(base, changes)


def catalogue(question: CatalogueQuestion) -> Catalogue:
    """Return the days of every entry; each is one run of the same simulation as `park`.

    Raises
    ------
    DrainsimError
        If a scenario cannot be resolved.
    """
    columns = question.vehicles, question.climates, question.seasons
    cells = tuple(_cell(question, *each) for each in product(question.units, *columns))
    return Catalogue(question=question, cells=cells)


def _cell(question: CatalogueQuestion, unit: str, vehicle: str, climate: str, season: str) -> Cell:
    scenario = _cell_scenario(question, unit, vehicle, climate, season)
    asked = StandQuestion(
        scenario=with_changes(scenario, {RUN.horizon_days: question.horizon_days}),
        days=question.horizon_days,
        risk=question.risk,
        profile_folders=question.profile_folders,
    )
    days = longest_stand(asked).days
    return Cell(
        unit=unit,
        vehicle=vehicle,
        climate=climate,
        season=season,
        days=None if days is None else max(days, 0),
        capacity_ah=asked.case().battery.capacity_ah,
        scenario=asked.scenario,
    )


def assumption_lines(question: CatalogueQuestion) -> Iterator[Message]:
    """Yield what the table assumes, in plain sentences."""
    yield message(
        "Days parked for which the risk of a no-start at the start hour stays within "
        "{percent:g} % on every day; at most {days} days are looked at. 0: the risk is higher "
        "already on the first day.",
        percent=100 * question.risk,
        days=question.horizon_days,
    )
    yield message(
        "Battery: as the row names it, else of the usual size for the engine; average "
        "condition unless the scenario says otherwise."
    )
    yield message(
        "Parked on: {days}; northern seasons, as all climates here are of the northern half of "
        "the earth.",
        days=joined(
            ", ",
            [
                joined(" ", [message(season), question.parked_from(season)])
                for season in question.seasons
            ],
        ),
    )
    unusual = unusual_batteries(question.own_vehicles)
    if unusual:
        yield message(
            "Far larger or smaller than what such a vehicle is fitted with, so hardly to be "
            "fitted: {rows}.",
            rows=joined(" · ", unusual),
        )
    if question.southern:
        yield message(
            "In the south, so half a year later: {places}.",
            places=joined(", ", question.southern),
        )
    if any(base.get(SOLAR.panel_w) for base in question.units.values()):
        yield message(
            "Solar panel: the sunshine of each climate, by its own latitude and clear share."
        )
    for name, base in question.units.items():
        battery = base.tables.get("battery", {})
        kept = {key: value for key, value in battery.items() if f"battery.{key}" not in LABEL}
        stated = ", ".join(f"{key} = {value}" for key, value in kept.items())
        yield message(
            "Unit {name}: battery values kept from its scenario: {stated}.",
            name=_quoted(question.unit_name(name)),
            stated=stated or message("nothing stated"),
        )
        if label_words(base):
            yield message(
                "Unit {name}: the battery label of its scenario ({label}) is not used: it "
                "belongs to one vehicle; --battery makes a row of it.",
                name=_quoted(question.unit_name(name)),
                label=label_words(base),
            )


def _quoted(name: str) -> str:
    return message("'{name}'", name=name) if isinstance(name, Message) else repr(name)


def days_shown(days: int | None, horizon_days: int) -> str:
    """Return what stands in a cell.

    Parameters
    ----------
    days : int, optional
        None past the horizon. [d]
    horizon_days : int
        How far was looked. [d]

    Examples
    --------
    >>> days_shown(34, 180), days_shown(None, 180)
    ('34', '> 180')
    """
    return f"> {horizon_days}" if days is None else f"{days}"


def catalogue_title(table: Catalogue) -> Message:
    """Return the heading of the table, with the risk it holds for."""
    return message(
        "Days parked within {percent:g} % risk of a no-start", percent=100 * table.question.risk
    )
