"""The record of one installation: what was read, connected, checked and acknowledged."""

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from drainsim.errors import RecordError, ScenarioError
from drainsim.files.circuits import Circuit, circuit_from_row
from drainsim.files.formats import KEY, NEWEST, newest_of
from drainsim.files.reading import nearest, read_text
from drainsim.vehicle.parameter import Parameter, Table
from drainsim.vehicle.scenario import Scenario, scenario_from_dict

MAX_RECORD_BYTES: Final = 500_000
YES, NO = "yes", "no"
_LARGEST: Final = 1e15  # no figure of a prediction; whole numbers can have thousands of digits
_ANSWERS: Final = (YES, NO, "not checked")


def _number(key: str, unit: str, low: float, high: float, meaning: str) -> Parameter:
    return Parameter(key, kind="number", unit=unit, low=low, high=high, meaning=meaning)


def _text(key: str, meaning: str) -> Parameter:
    return Parameter(key, kind="text", meaning=meaning)


def _question(key: str, meaning: str) -> Parameter:
    return Parameter(key, kind="choice", choices=_ANSWERS, meaning=meaning)


_READING: Final = (
    _number("settled_a", "A", -1, 50, "current of the sleeping vehicle"),
    _number("uncertainty_a", "A", 0, 50, "its uncertainty; from the meter otherwise"),
    _number("mean_a", "A", -1, 50, "mean over whole wake-up periods, from a log"),
    _number("minutes_after_key_off", "min", 0, 100_000, "when it was read"),
    _text("log", "CSV log beside the record, instead of the values above"),
)
MOUNTING: Final = {
    "view_of_sky": "the unit or its antenna sees the sky, no metal above it",
    "fixed_firmly": "fixed so that it cannot swing, rattle or fall into pedals",
    "dry_and_cool": "away from heat, water and moving parts",
    "clear_of_restraints": "unit and wires clear of restraint modules and their paths",
    "wires_protected": "wires in sleeve or grommet where they pass metal, tied, not pinched",
    "fuse_fitted_last": "own fuse close to the source, fitted last",
    "vehicle_normal": "no warning lamps; doors, lights and locks work as before",
}
CAUTIONS: Final = {
    "restraint_circuits": "no restraint, braking, steering or emergency wiring was touched",
    "battery_gas_and_acid": "batteries give off explosive gas and hold acid",
    "fuse_before_wire": "every added wire has its fuse close to the source",
    "series_meter": "a meter in series is never opened while the engine runs",
    "high_voltage": "orange cables are high voltage and were left alone",
}
_TABLES: Final = (
    Table(
        name="job",
        meaning="Which job; no customer data is needed",
        fields=(
            _text("label", "vehicle or job, in the installer's own words"),
            _text("date", "day of the job"),
            _number("system_v", "V", 12, 24, "12 or 24"),
            _number("days_needed", "days", 0, 730, "how long it must be able to stand"),
        ),
    ),
    Table(
        name="unit",
        meaning="What the unit may draw, from its maker",
        fields=(
            _number("sleep_a", "A", 0, 5, "budget of its sleep current, listening included"),
            _number("mean_a", "A", 0, 5, "budget of its mean current, reports included"),
            _number("peak_a", "A", 0.001, 20, "highest current"),
            _number("minimum_v", "V", 3, 36, "lowest voltage it works at"),
            _number("tolerance_share", "", 0, 2, "how far above budget still passes, as a share"),
            _number("report_interval_min", "min", 0.1, 100_000, "time between reports"),
        ),
    ),
    Table(
        name="meter",
        meaning="What the readings were taken with",
        fields=(
            _number("resolution_a", "A", 0, 1, "its smallest step on the range used"),
            _number("accuracy_percent", "%", 0, 50, "accuracy as a share of the reading"),
            _number("counts", "", 0, 1000, "further steps of its accuracy"),
            _text("kind", "meter in series, clamp, fuse drop"),
        ),
    ),
    Table(name="before", meaning="Vehicle without the unit", fields=_READING),
    Table(name="after", meaning="Vehicle with the unit", fields=_READING),
    Table(
        name="connection",
        meaning="What was fitted",
        fields=(
            _number("fuse_a", "A", 0.1, 100, "own fuse"),
            _number("wire_mm2", "mm²", 0.05, 120, "section of the supply wire"),
            _number("length_m", "m", 0, 50, "its length, one way"),
        ),
    ),
    Table(
        name="sense_check",
        meaning="Sense wire at the unit",
        fields=(
            _number("key_off_v", "V", -1, 60, "key off"),
            _number("key_on_v", "V", -1, 60, "key on"),
            _number("cranking_v", "V", -1, 60, "lowest while cranking"),
        ),
    ),
    Table(
        name="constant_check",
        meaning="Constant power at the unit, vehicle locked",
        fields=(
            _number("voltage_v", "V", -1, 60, "voltage"),
            _number("minutes_after_key_off", "min", 0, 100_000, "when it was read"),
        ),
    ),
    Table(
        name="first_start",
        meaning="First start-up of the unit",
        fields=(
            _question("outdoors", "done in the open"),
            _number("connection_min", "min", 0, 10_000, "time to the first connection"),
            _number("position_min", "min", 0, 10_000, "time to the first position"),
        ),
    ),
    Table(
        name="mounting",
        meaning="Mounting and routing",
        fields=tuple(_question(key, meaning) for key, meaning in MOUNTING.items()),
    ),
    Table(
        name="cautions",
        meaning="Cautions acknowledged",
        fields=tuple(_question(key, meaning) for key, meaning in CAUTIONS.items()),
    ),
)
_PLAIN: Final = {table.name: table for table in _TABLES}
_KEYS: Final = (*_PLAIN, "power", "sense", "scenario", "predicted")


@dataclass(frozen=True, slots=True, kw_only=True)
class JobRecord:
    """A checked record; `folder` is where its logs are looked for, None forbids files."""

    tables: dict[str, Any]
    power: Circuit | None
    sense: Circuit | None
    scenario: Scenario | None
    predicted: dict[str, Any]
    where: str
    folder: Path | None

    def get(self, table: str, key: str) -> Any:
        """Return a value, or None where none was given."""
        return self.tables.get(table, {}).get(key)

    def number(self, table: str, key: str) -> float | None:
        """Return a number, or None where none was given."""
        value = self.get(table, key)
        return None if value is None else float(value)

    @property
    def system_v(self) -> int:
        """Return the system voltage, 12 unless said otherwise. [V]."""
        return int(self.get("job", "system_v") or 12)

    def as_dict(self) -> dict[str, Any]:
        """Return the record as it is written to a file."""
        document: dict[str, Any] = {KEY: NEWEST["job record"], **self.tables}
        if self.power:
            document["power"] = self.power.as_dict()
        if self.sense:
            document["sense"] = self.sense.as_dict()
        if self.scenario:
            document["scenario"] = _plain(self.scenario.tables)
        if self.predicted:
            document["predicted"] = self.predicted
        return document

    def to_json(self) -> str:
        """Return the record as JSON text."""
        return json.dumps(self.as_dict(), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def read_job_record(path: Path) -> JobRecord:
    """Return the record in a JSON file.

    Raises
    ------
    RecordError
        Naming the file, the key, what is wrong and what would be right.
    """
    text = read_text(path, error=RecordError, max_bytes=MAX_RECORD_BYTES)
    document = parse_json(text, where=str(path))
    return job_record_from_dict(document, where=str(path), folder=path.resolve().parent)


def parse_json(text: str, *, where: str) -> dict[str, Any]:
    """Return a JSON object, or refuse in a sentence."""

    def refuse(word: str) -> float:
        raise RecordError(f"{where}: {word} is not a number; leave the key out instead")

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key, value in pairs:
            if key in found:
                raise RecordError(f"{where}: {key[:60]!r} stands twice; keep one of them")
            found[key] = value
        return found

    try:
        text.encode()
        document = json.loads(text, parse_constant=refuse, object_pairs_hook=once)
        json.dumps(document, ensure_ascii=False).encode()
    except UnicodeEncodeError:  # half of a pair, which no file can hold
        raise RecordError(f"{where}: not valid JSON: a text holds half of a character") from None
    except RecursionError:
        raise RecordError(f"{where}: not valid JSON: brackets are nested too deeply") from None
    except ValueError as error:
        if isinstance(error, RecordError):
            raise
        raise RecordError(f"{where}: not valid JSON: {error}") from None
    if not isinstance(document, dict):
        raise RecordError(f"{where}: a JSON object in braces is needed")
    return document


def job_record_from_dict(
    document: Mapping[str, Any], *, where: str, folder: Path | None = None
) -> JobRecord:
    """Return a checked record."""
    document = newest_of(document, "job record", where=where, error=RecordError)
    for key in document:
        if key not in _KEYS:
            raise RecordError(f"{where}: {key[:60]!r}: unknown key; {nearest(key[:60], _KEYS)}")
    try:
        tables = {
            name: table.check(document[name], where=name)
            for name, table in _PLAIN.items()
            if name in document
        }
    except ScenarioError as error:
        raise RecordError(f"{where}: {error}") from None
    if tables.get("job", {}).get("system_v") not in (None, 12.0, 24.0):
        raise RecordError(f"{where}: job.system_v: use 12 or 24 V")
    for name in ("before", "after"):
        entry = tables.get(name, {})
        if "log" in entry and ("settled_a" in entry or "mean_a" in entry):
            raise RecordError(f"{where}: {name} has both log and values; keep one of them")
    scenario = None
    if "scenario" in document:
        entry = document["scenario"]
        if not isinstance(entry, Mapping):
            raise RecordError(f"{where}: scenario: a table is needed")
        scenario = scenario_from_dict(_dated(entry), where=f"{where}: scenario", folder=folder)
    predicted = document.get("predicted", {})
    if not isinstance(predicted, dict):
        raise RecordError(f"{where}: predicted: a table is needed")
    return JobRecord(
        tables=tables,
        power=_circuit(document, "power", where),
        sense=_circuit(document, "sense", where),
        scenario=scenario,
        predicted=_numbers_only(predicted, where),
        where=where,
        folder=folder,
    )


def _circuit(document: Mapping[str, Any], key: str, where: str) -> Circuit | None:
    if key not in document:
        return None
    if not isinstance(document[key], Mapping):
        raise RecordError(f"{where}: {key}: a table of one circuit is needed")
    return circuit_from_row(document[key], where=f"{where}: {key}")


def _numbers_only(predicted: Mapping[str, Any], where: str) -> dict[str, Any]:
    """Keep the prediction of an earlier run: numbers and short texts, nothing nested."""
    for key, value in predicted.items():
        good = value is None or (isinstance(value, str) and len(value) <= 200)
        good |= isinstance(value, int | float) and abs(value) < _LARGEST
        if not good or len(key) > 60:
            raise RecordError(f"{where}: predicted.{key[:60]}: a number or a short text is needed")
    return dict(predicted)


def _dated(tables: Mapping[str, Any]) -> dict[str, Any]:
    """Return scenario tables with JSON's date texts as dates."""
    changed = dict(tables)
    site = changed.get("site")
    if isinstance(site, Mapping) and isinstance(site.get("parked_from"), str):
        try:
            day = dt.date.fromisoformat(site["parked_from"])
        except ValueError:
            return changed
        changed["site"] = {**site, "parked_from": day}
    return changed


def _plain(value: Any) -> Any:
    """Return scenario tables as JSON holds them."""
    if isinstance(value, dict):
        return {key: _plain(entry) for key, entry in value.items()}
    if isinstance(value, list):
        return [_plain(entry) for entry in value]
    return value if isinstance(value, str | int | float) else str(value)
