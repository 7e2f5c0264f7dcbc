"""What the columns of a fleet list mean: canonical names, usual headings, units in headings."""

import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from drainsim.errors import FleetError

# unit as written (letters lower-cased, dots and blanks out) -> factor and offset to ours
_CURRENT: Final = {"a": (1.0, 0.0), "ma": (1e-3, 0.0), "ua": (1e-6, 0.0), "µa": (1e-6, 0.0)}
_CHARGE: Final = {"ah": (1.0, 0.0), "mah": (1e-3, 0.0)}
_PULSE: Final = {"as": (1.0, 0.0), "mas": (1e-3, 0.0), "c": (1.0, 0.0), "mah": (3.6, 0.0)}
_TEMPERATURE: Final = {
    "c": (1.0, 0.0),
    "°c": (1.0, 0.0),
    "degc": (1.0, 0.0),
    "f": (1 / 1.8, -32 / 1.8),
    "°f": (1 / 1.8, -32 / 1.8),
    "degf": (1 / 1.8, -32 / 1.8),
    "k": (1.0, -273.15),
}
_HOURS: Final = {
    "h": (1.0, 0.0),
    "hours": (1.0, 0.0),
    "hrs": (1.0, 0.0),
    "min": (1 / 60, 0.0),
    "minutes": (1 / 60, 0.0),
    "s": (1 / 3600, 0.0),
    "d": (24.0, 0.0),
    "days": (24.0, 0.0),
}
_MINUTES: Final = {"min": (1.0, 0.0), "minutes": (1.0, 0.0), "mins": (1.0, 0.0), "h": (60.0, 0.0)}
_YEARS: Final = {
    "years": (1.0, 0.0),
    "yrs": (1.0, 0.0),
    "y": (1.0, 0.0),
    "a": (1.0, 0.0),
    "months": (1 / 12, 0.0),
}
_VOLTS: Final = {"v": (1.0, 0.0), "volt": (1.0, 0.0), "volts": (1.0, 0.0), "mv": (1e-3, 0.0)}
_SHARE: Final = {"%": (0.01, 0.0), "percent": (0.01, 0.0), "pct": (0.01, 0.0)}
_LITRES: Final = {
    "l": (1.0, 0.0),
    "litres": (1.0, 0.0),
    "liters": (1.0, 0.0),
    "cc": (1e-3, 0.0),
    "ccm": (1e-3, 0.0),
    "cm3": (1e-3, 0.0),
    "cm³": (1e-3, 0.0),
}


@dataclass(frozen=True, slots=True)
class Column:
    """A canonical column: kind of value, scenario key it feeds, headings people write, units."""

    name: str
    kind: str  # text, number, date
    key: str = ""
    words: tuple[str, ...] = ()
    units: Mapping[str, tuple[float, float]] = field(default_factory=dict)


COLUMNS: Final = (
    Column(
        "id",
        "text",
        "",
        (
            "vehicle",
            "vehicle id",
            "vehicle number",
            "vehicle no",
            "fleet number",
            "fleet no",
            "registration",
            "registration number",
            "reg",
            "reg no",
            "number plate",
            "plate",
            "licence plate",
            "license plate",
            "vin",
            "unit number",
            "asset",
            "asset id",
            "name",
        ),
    ),
    Column("depot", "text", "", ("site", "location", "yard", "branch", "base", "station")),
    Column(
        "battery_profile",
        "text",
        "battery.profile",
        ("battery type", "battery technology", "battery chemistry", "battery", "type of battery"),
    ),
    Column(
        "capacity_ah",
        "number",
        "battery.capacity_ah",
        (
            "capacity",
            "battery capacity",
            "c20",
            "ah",
            "battery ah",
            "rated capacity",
            "battery size",
        ),
        _CHARGE,
    ),
    Column(
        "reserve_capacity_min",
        "number",
        "battery.reserve_capacity_min",
        ("reserve capacity", "rc", "reserve", "battery rc"),
        _MINUTES,
    ),
    Column(
        "cold_cranking_a",
        "number",
        "battery.cold_cranking_a",
        (
            "cold cranking current",
            "cold cranking amps",
            "cold cranking",
            "cca",
            "cranking amps",
            "battery cca",
            "cold start current",
        ),
        _CURRENT,
    ),
    Column(
        "battery_age_years",
        "number",
        "battery.age_years",
        ("battery age", "age of battery", "age", "battery years"),
        _YEARS,
    ),
    Column(
        "state_of_charge",
        "number",
        "battery.state_of_charge",
        ("soc", "charge", "charge state", "battery charge", "charge level", "battery level"),
        _SHARE,
    ),
    Column(
        "resting_voltage_v",
        "number",
        "battery.resting_voltage_v",
        (
            "resting voltage",
            "rest voltage",
            "battery voltage",
            "voltage",
            "last voltage",
            "open circuit voltage",
            "ocv",
            "last resting voltage",
        ),
        _VOLTS,
    ),
    Column(
        "resting_voltage_at",
        "date",
        "",
        (
            "voltage date",
            "date of voltage",
            "voltage read at",
            "voltage read on",
            "resting voltage date",
            "last voltage date",
            "measured on",
            "measured at",
        ),
    ),
    Column(
        "quiescent_a",
        "number",
        "vehicle.quiescent_a",
        (
            "quiescent current",
            "quiescent",
            "key off current",
            "key-off current",
            "key off draw",
            "parasitic draw",
            "parasitic drain",
            "parasitic current",
            "standing drain",
            "standby current",
            "sleep draw of vehicle",
        ),
        _CURRENT,
    ),
    Column(
        "unit",
        "text",
        "unit.preset",
        ("unit type", "device", "device type", "tracker", "tracking unit", "unit preset"),
    ),
    Column(
        "sleep_a",
        "number",
        "unit.sleep_a",
        ("sleep current", "unit sleep current", "unit sleep", "sleep"),
        _CURRENT,
    ),
    Column(
        "report_interval_h",
        "number",
        "unit.report_interval_h",
        ("report interval", "reporting interval", "reports every", "report every", "interval"),
        _HOURS,
    ),
    Column(
        "report_charge_as",
        "number",
        "unit.report_charge_as",
        ("report charge", "charge per report", "charge of a report"),
        _PULSE,
    ),
    Column(
        "engine_litres",
        "number",
        "vehicle.engine_litres",
        ("engine", "engine size", "displacement", "engine capacity", "swept volume", "litres"),
        _LITRES,
    ),
    Column("fuel", "text", "vehicle.fuel", ("fuel type", "engine type", "fuel")),
    Column("climate", "text", "site.climate", ("climate zone", "climate", "weather")),
    Column(
        "temperature_c",
        "number",
        "site.temperature_c",
        ("temperature", "temp", "ambient temperature", "air temperature", "parking temperature"),
        _TEMPERATURE,
    ),
    Column(
        "parked_from",
        "date",
        "site.parked_from",
        (
            "parked since",
            "parked on",
            "parked",
            "last driven",
            "last trip",
            "last used",
            "standing since",
            "last moved",
            "date parked",
        ),
    ),
    Column(
        "planned_return",
        "date",
        "",
        (
            "return",
            "planned return",
            "return date",
            "needed on",
            "next use",
            "next trip",
            "due back",
            "parked until",
            "back in service",
        ),
    ),
)
BY_NAME: Final = {column.name: column for column in COLUMNS}
_UNIT_IN_BRACKETS: Final = re.compile(r"[\(\[]\s*([^\)\]]{1,12})\s*[\)\]]\s*$")


@dataclass(frozen=True, slots=True)
class Match:
    """A file's heading understood as a canonical column, with its unit and how sure we are."""

    heading: str
    column: str | None
    unit: str | None
    factor: float
    offset: float
    certain: bool


def unit_factor(column: Column, unit: str) -> tuple[float, float] | None:
    """Return (factor, offset) of a unit as written, or None if it is not one of this column."""
    plain = unit.strip().lower().replace("·", "").replace(".", "").replace(" ", "")
    return column.units.get(plain)


def split_heading(heading: str) -> tuple[str, str]:
    """Return (words, unit) of a heading; the unit is what stands in brackets at the end.

    Examples
    --------
    >>> split_heading("Quiescent current (mA)"), split_heading("engine_litres")
    (('quiescent current', 'mA'), ('engine litres', ''))
    """
    found = _UNIT_IN_BRACKETS.search(heading)
    unit = found.group(1) if found else ""
    rest = heading[: found.start()] if found else heading
    words = re.sub(r"[^0-9a-z°µ%³]+", " ", rest.lower().replace("-", " ")).strip()
    return words, unit


def match_headings(
    headings: Sequence[str], *, chosen: Mapping[str, str] | None = None
) -> list[Match]:
    """Return what each heading of a file means.

    Parameters
    ----------
    headings : sequence of str
    chosen : mapping, optional
        Heading → canonical column, decided by the user; "" leaves a column out. Wins over the
        suggestions.

    Raises
    ------
    FleetError
        If a chosen column does not exist, or two headings claim one column for certain.
    """
    chosen = dict(chosen or {})
    for heading, name in chosen.items():
        if name and name not in BY_NAME:
            raise FleetError(f"column {heading!r}: {name!r} is not one of {', '.join(BY_NAME)}")
        if heading not in headings:
            raise FleetError(f"no column {heading!r} in the file; it has: {', '.join(headings)}")
    matches = [_match(heading, chosen.get(heading)) for heading in headings]
    best: dict[str, int] = {}
    for number, match in enumerate(matches):
        if match.column is None:
            continue
        before = best.get(match.column)
        if before is None:
            best[match.column] = number
            continue
        other = matches[before]
        if match.certain and other.certain:
            raise FleetError(
                f"columns {other.heading!r} and {match.heading!r} both mean {match.column}; "
                "keep one, or say which"
            )
        loser = before if match.certain else number
        best[match.column] = before + number - loser
        matches[loser] = Match(matches[loser].heading, None, None, 1.0, 0.0, certain=False)
    return matches


def _match(heading: str, chosen: str | None) -> Match:
    words, unit = split_heading(heading)
    if chosen is not None:
        return _with_unit(heading, BY_NAME.get(chosen), words, unit, certain=True)
    raw = heading.strip().lower()
    if raw in BY_NAME:
        return Match(heading, raw, None, 1.0, 0.0, certain=True)
    for column in COLUMNS:
        names = {split_heading(column.name)[0], *(split_heading(w)[0] for w in column.words)}
        if words in names:
            return _with_unit(heading, column, words, unit, certain=True)
        stem, _, last = words.rpartition(" ")
        if stem in names and unit_factor(column, last) is not None:
            return _with_unit(heading, column, words, last, certain=True)
    known = {split_heading(w)[0]: c for c in COLUMNS for w in (c.name, *c.words)}
    near = difflib.get_close_matches(words, known, n=1, cutoff=0.82)
    return _with_unit(heading, known[near[0]] if near else None, words, unit, certain=False)


def _with_unit(
    heading: str, column: Column | None, words: str, unit: str, *, certain: bool
) -> Match:
    """Return a match with the unit's conversion; an unknown unit makes the match uncertain."""
    if column is None:
        return Match(heading, None, None, 1.0, 0.0, certain=False)
    if not unit:
        last = words.rpartition(" ")[2]
        canonical = split_heading(column.name)[0]
        unit = last if words != canonical and unit_factor(column, last) else ""
    if not unit:
        return Match(heading, column.name, None, 1.0, 0.0, certain=certain)
    found = unit_factor(column, unit)
    if found is None:
        if column.units:
            raise FleetError(
                f"column {heading!r}: {unit!r} is not a unit of {column.name}; use one of "
                f"{', '.join(column.units)}"
            )
        return Match(heading, column.name, None, 1.0, 0.0, certain=certain)
    return Match(heading, column.name, unit, *found, certain=certain)
